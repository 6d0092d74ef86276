"""A share of the long run (`python -m tests.faults.hostile`), each time the same: no reader answers with anything but what it read or its
sentence; and what was found once."""

from __future__ import annotations

import pytest

from tests.faults.hostile import READERS, attempts


@pytest.mark.parametrize("name", READERS)
def test_readers_take_anything(name: str) -> None:
    times = 100 if name == "recording" else 300
    assert list(attempts(name, times)) == []


@pytest.mark.parametrize("seed", [880, 1010])
def test_an_import_table_with_more_fields_than_names(seed: int) -> None:
    """Found by the long run: the fields beyond the header's were dropped with no more than a warning."""
    assert list(attempts("import table", 1, seed)) == []
