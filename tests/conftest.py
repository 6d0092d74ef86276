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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Real-time tests come last, when nothing else of ours is busy."""
    items.sort(key=lambda item: item.get_closest_marker("real_time") is not None)
