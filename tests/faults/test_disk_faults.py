"""Disk and power: what reached the disk is a valid recording again, and a second repair changes nothing."""

from __future__ import annotations

import datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from balance import session as sessions
from balance.day.reading import read_day
from balance.protocols import ALL
from balance.recording import Recorder, read_recording
from tests.balance.test_recording import a_trial
from tests.balance.test_session import a_session
from tests.faults import disk

TIMES = 20


def test_power_loss_at_every_byte_of_the_last_block(tmp_path: Path) -> None:
    source, before = disk.running_recording(tmp_path / "source")
    size = (source / "samples.csv").stat().st_size
    assert size - before > 200
    left = [disk.cut_at(source, tmp_path / "cut", at) for at in [*range(before, size, 3), size]]
    assert left == sorted(left)
    assert (left[0], left[-1]) == (disk.ROWS - 8, disk.ROWS)


def test_a_disk_that_is_full_at_any_byte(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(2)
    for k in range(TIMES):
        room = int(rng.integers(200, 40_000))
        said, left = disk.on_a_full_disk(tmp_path / f"{k:02d}", room, monkeypatch)
        assert "No space left" in said
        assert 0 < left < disk.ROWS


def test_a_program_that_is_killed_at_any_moment(tmp_path: Path) -> None:
    """What lies on the disk then: a copy taken while the recorder writes."""
    rng, block = np.random.default_rng(3), disk.rows()
    for k in range(TIMES):
        recorder = Recorder(tmp_path / f"{k:02d}" / "r", a_trial())
        stop = int(rng.integers(10, 100))
        for start in range(0, 8 * stop, 8):
            recorder.put(block[start : start + 8])
        # the queue is empty when the next is asked for: the writer has it or it is on the disk
        while recorder._queue.qsize():
            pass
        copy = tmp_path / f"{k:02d}" / "copy"
        disk.shutil.copytree(recorder.folder, copy)
        recorder.close()
        recording = disk.repaired(copy)
        assert 8 * stop - len(recording.samples) <= 80  # a second at 80 a second
        assert np.array_equal(recording.samples.counts, block.counts[: len(recording.samples)])


def test_a_folder_that_may_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def barred(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    session = a_session(tmp_path)
    session.open()
    monkeypatch.setattr(Path, "mkdir", barred)
    session.try_trial(ALL["quiet standing"])
    assert "Permission denied" in session.latest().messages[-1]
    monkeypatch.undo()
    session.stop()


def test_the_computers_clock_is_set_back_an_hour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Recordings keep their numbers and nothing is overwritten; a sample's time is the board's and knows nothing of it."""

    class Clock(datetime.datetime):
        at = datetime.datetime(2026, 3, 2, 10, 30, tzinfo=datetime.UTC)

        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> datetime.datetime:
            return cls.at

    monkeypatch.setattr(sessions, "datetime", SimpleNamespace(datetime=Clock))
    folders = []
    for hour in (10, 9):
        Clock.at = datetime.datetime(2026, 3, 2, hour, 30, tzinfo=datetime.UTC)
        session = a_session(tmp_path)
        session.open()
        folders.append(session.begin_trial(ALL["quiet standing"]))
        session.start()
        assert session.finished.wait(30)
        session.stop()
    assert [folder.name[:2] for folder in folders] == ["01", "02"]
    assert all((np.diff(read_recording(folder).samples.board_us) > 0).all() for folder in folders)
    assert len(read_day(folders[0].parent).found) == 2
