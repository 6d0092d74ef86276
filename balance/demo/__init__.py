"""The demo's invented scenario: rig, stance, calibration and what the person does, as package data."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def path(name: str) -> Path:
    """Where a demo file lies."""
    return Path(str(files("balance.demo").joinpath(name)))
