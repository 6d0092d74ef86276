"""A share of the long run (`python -m tests.faults.hostile`), each time the same: no reader answers with anything but what it read or its
sentence; and what was found once."""

from __future__ import annotations

from pathlib import Path

import pytest

from balance.importing.mapping import read_mapping
from balance.importing.table import read_table
from balance.recording import read_recording
from tests.faults.hostile import DATA, FILES, READERS, TABLE, attempts, whole_recording


@pytest.mark.parametrize("name", FILES)
def test_what_is_damaged_was_good(name: str, tmp_path: Path) -> None:
    """Found by coverage: a table of points with a column that nobody knows ended every attempt at its first line."""
    file, valid, read = FILES[name]
    (tmp_path / file).write_bytes(valid)
    assert read(tmp_path / file)


def test_tables_and_recordings_are_good_too(tmp_path: Path) -> None:
    (tmp_path / "table.txt").write_bytes(TABLE)
    assert read_table(tmp_path / "table.txt", read_mapping(DATA / "one_plate.toml"))
    for name, data in whole_recording().items():
        (tmp_path / name).write_bytes(data)
    assert len(read_recording(tmp_path).samples) == 399


@pytest.mark.parametrize("name", READERS)
def test_readers_take_anything(name: str) -> None:
    times = 100 if name == "recording" else 300
    assert list(attempts(name, times)) == []


@pytest.mark.parametrize("seed", [880, 1010])
def test_an_import_table_with_more_fields_than_names(seed: int) -> None:
    """Found by the long run: the fields beyond the header's were dropped with no more than a warning."""
    assert list(attempts("import table", 1, seed)) == []


@pytest.mark.parametrize("seed", [1009944, 1032813])
def test_an_import_table_with_a_figure_too_large_for_a_number(seed: int) -> None:
    """Found by the long run: a warning of the arithmetic came before the sentence that names the place."""
    assert list(attempts("import table", 1, seed)) == []
