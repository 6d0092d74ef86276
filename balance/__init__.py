"""What the samples mean: forces, load lines, uncertainty, findings. In a notebook: ``import balance`` and the names below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

__all__ = ["analyse", "findings", "frame", "read", "signals", "sway", "uncertainties"]

if TYPE_CHECKING:
    from balance.notebook import analyse, findings, frame, read, signals, sway, uncertainties


def __getattr__(name: str) -> Any:
    """Loads numbers and files only when one of the names is asked for: commands start at once."""
    if name in __all__:
        from balance import notebook

        return getattr(notebook, name)
    raise AttributeError(f"module 'balance' has no attribute {name!r}")
