"""The demo's invented scenario: rig, stance, calibration and what the person does, as package data."""

from __future__ import annotations

from pathlib import Path


def path(name: str) -> Path:
    """Where a demo file lies."""
    return Path(__file__).with_name(name)
