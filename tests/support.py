"""What tests of several rooms share."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from balance.analysis import analyse_recording


def findings_of(folder: Path, *, cutoff: float | None = 10.0, spectrum: str = "multitaper") -> dict[str, Any]:
    """The program's findings of a recording."""
    return analyse_recording(folder, cutoff_hz=cutoff, spectrum=spectrum)  # a literal
