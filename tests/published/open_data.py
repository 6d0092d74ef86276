"""Where real recordings with published results lie; they are not ours to carry along."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SKIPPED: list[str] = []


def open_data(name: str) -> Path:
    """The file, or the test is skipped with the reason. The folder: BANDSTAND_OPEN_DATA, else beside the checkout."""
    folder = Path(os.environ.get("BANDSTAND_OPEN_DATA", ROOT.parent / "shared" / "opendata"))
    path = folder / name
    if not path.exists():
        SKIPPED.append(name)
        pytest.skip(f"open data {name} is not in {folder} (BANDSTAND_OPEN_DATA names the folder)")
    return path
