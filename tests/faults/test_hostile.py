"""A share of the long run (`python -m tests.faults.hostile`), each time the same: no reader answers with anything but what it read or its
sentence; and what was found once."""

from __future__ import annotations

import pytest

from tests.faults.hostile import READERS, attempts


@pytest.mark.parametrize("name", READERS)
def test_readers_take_anything(name: str) -> None:
    times = 100 if name == "recording" else 300
    assert list(attempts(name, times)) == []
