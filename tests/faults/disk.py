"""Faults of disk and power: a recording that is cut, a disk that is full, a program that is killed; and what repair makes of it."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from balance.recording import Recorder, read_recording, repair
from balance.recording.writing import Recorder as Writing
from drivers.samples import SampleBlock
from tests.balance.test_recording import a_block, a_trial

ROWS = 800


def rows() -> SampleBlock:
    """Ten seconds."""
    return a_block(ROWS, dt=False)


class Full(io.FileIO):
    """A file on a disk with room for so many bytes."""

    room = 0

    def write(self, data: Any) -> int:
        part = bytes(data)[: self.room]
        if not part:
            raise OSError(28, "No space left on device")
        self.room -= len(part)
        return super().write(part) or 0


def on_a_full_disk(folder: Path, room: int, monkeypatch: pytest.MonkeyPatch) -> tuple[str, int]:
    """What was said, and how many rows can be read after repair."""

    def create(self: Writing, name: str) -> io.FileIO:
        file = Full(self.folder / name, "x")
        file.room = room if name == "samples.csv" else 10_000
        return file

    monkeypatch.setattr(Writing, "_create", create)
    recorder = Recorder(folder, a_trial())
    block = rows()
    for start in range(0, ROWS, 8):
        recorder.put(block[start : start + 8])
    recorder.close()
    monkeypatch.undo()
    return recorder.problem or "", len(repaired(folder).samples)


def repaired(folder: Path) -> Any:
    """Repaired twice: the second time changes nothing."""
    repair(folder)
    after = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert not repair(folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == after
    return read_recording(folder)


def cut_at(source: Path, folder: Path, size: int) -> int:
    """A copy whose samples end after ``size`` bytes, as power loss leaves it, repaired; the rows that are left."""
    shutil.copytree(source, folder)
    with (folder / "samples.csv").open("r+b") as file:
        file.truncate(size)
    recording = repaired(folder)
    whole = (source / "samples.csv").read_bytes()[:size].count(b"\n") - 1
    assert len(recording.samples) == whole
    assert np.array_equal(recording.samples.counts, rows().counts[:whole])
    shutil.rmtree(folder)
    return whole


def running_recording(folder: Path) -> tuple[Path, int]:
    """A recording that was never closed, all its rows on the disk; and where its last block of eight rows begins."""
    recorder = Recorder(folder, a_trial())
    recorder.put(rows()[: ROWS - 8])
    recorder.close()
    before = (folder / "samples.csv").stat().st_size
    header = (folder / "trial.json").read_text()
    shutil.rmtree(folder)
    recorder = Recorder(folder, a_trial())
    recorder.put(rows())
    recorder.close()
    text = header.replace('"complete"', '"recording"')
    data = json.loads(text)
    data["samples"] = {"file": "samples.csv", "rows": None, "sha256": None}
    (folder / "trial.json").write_text(json.dumps(data))
    return folder, before
