"""What the samples mean: forces, load lines, uncertainty, findings."""

__version__ = "0.1.0"
