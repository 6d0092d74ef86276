"""Unplugged and plugged in again, in real time; twenty times and its 95th percentile in the benchmarks."""

from __future__ import annotations

import pytest

from tests.faults.ports import replugged


@pytest.mark.real_time
def test_unplugged_and_plugged_in_again() -> None:
    took, events = replugged(3)
    assert len(took) == 3
    kinds = [event.kind for event in events if event.kind in ("lost", "reconnected")]
    assert kinds == ["lost", "reconnected"] * 3
