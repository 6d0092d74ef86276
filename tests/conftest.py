"""Kept for all tests: no thread and no file is left behind."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True)
def no_thread_left() -> Iterator[None]:
    """Fails a test that leaves one of our threads running."""
    before = set(threading.enumerate())
    yield
    ours = {"reader", "recorder", "simulated board"}
    left = [t.name for t in threading.enumerate() if t not in before and t.name in ours]
    assert not left, f"left running: {left}"
