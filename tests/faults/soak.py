"""Long runs: ``python -m tests.faults.soak fast 7200`` (simulated seconds through the whole chain, recorded, as fast as it goes) and
``python -m tests.faults.soak window 1800`` (real seconds, a board on a pseudo-terminal, the window offscreen). Prints memory, threads, open files
and delay as it goes; fails where one of them grows, or a frame is missing."""

from __future__ import annotations

import os
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import psutil

from balance.live_state import Described
from balance.protocols import ALL
from balance.recording.reading import read_samples
from balance.session import Session
from balance.trial import Trial
from tests.balance.test_session import FLOOR
from tests.drivers.test_sources import a_board


@dataclass(frozen=True)
class Sample:
    """The process at one moment."""

    at_s: float
    mb: float
    threads: int
    files: int
    readings: int
    delay_ms: float

    def __str__(self) -> str:
        return f"{self.at_s:7.0f} s  {self.mb:6.1f} MB  {self.threads} threads  {self.files} files  {self.readings} readings  delay {self.delay_ms:.1f} ms"


def sample(session: Session, at_s: float) -> Sample:
    me, state = psutil.Process(), session.latest()
    delay = state.snapshot.delay_ms if state.snapshot else 0.0
    return Sample(
        at_s, me.memory_info().rss / 2**20, threading.active_count(), me.num_fds(), state.readings, delay
    )


def judge(samples: list[Sample]) -> None:
    """Nothing grows after the first sixth of the time."""
    settled = samples[len(samples) // 6 :]
    first, last = settled[0], settled[-1]
    assert last.mb - first.mb < 3, f"memory grew by {last.mb - first.mb:.1f} MB"
    assert last.threads == first.threads
    assert last.files == first.files
    print(f"memory {last.mb - first.mb:+.1f} MB, threads {last.threads}, files {last.files}", flush=True)


def fast(seconds: float) -> None:
    """Bytes → driver → session → recorder and monitor; the file holds every frame."""
    from drivers.simulated_board.source import SimulatedSource

    with tempfile.TemporaryDirectory() as scratch:
        session = Session(
            SimulatedSource(a_board(), seconds),
            FLOOR.rig,
            FLOOR.stance,
            FLOOR.calibration,
            described=Described(),
            out=Path(scratch),
        )
        session.open()
        folder = session.begin_trial(ALL["free"])
        start, samples = time.monotonic(), []
        session.start()
        while not session.finished.wait(2.0):
            samples.append(sample(session, time.monotonic() - start))
            print(samples[-1], flush=True)
        took = time.monotonic() - start
        session.stop()
        rows = (folder / "samples.csv").read_bytes().count(b"\n") - 1
        expected = round(seconds * 80)
        print(
            f"{seconds:.0f} s in {took:.0f} s ({seconds / took:.0f} × real time); {rows} rows of {expected - 4} sent after settling"
        )
        assert rows == expected - 4
        trial = Trial.model_validate_json((folder / "trial.json").read_text(), strict=False)
        block = read_samples(folder / "samples.csv", trial, torn=False)
        assert (block.sequence[1:] - block.sequence[:-1] == 1).all()
        judge(samples)


def window(seconds: float) -> None:
    """In real time with the window; every frame that the board sent was read."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from balance.command_line.showing import findings_told
    from balance.window.app import Controller
    from drivers.serial_board import SerialBoard
    from drivers.simulated_board.lines import serve_pty

    app = QApplication([])
    board = a_board()
    with serve_pty(board, None) as server, tempfile.TemporaryDirectory() as scratch:
        controller = Controller(
            lambda on_news: Session(SerialBoard(server.address), FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(), out=Path(scratch), on_news=on_news),
            findings_told, [], 1.0, tones=False,
        )  # fmt: skip
        controller.view.resize(1920, 1080)
        controller.view.show()
        controller.start()
        start, samples = time.monotonic(), []
        timer = QTimer()

        def look() -> None:
            now = time.monotonic() - start
            samples.append(sample(controller.session, now))
            print(samples[-1], flush=True)
            if now >= seconds:
                app.quit()

        timer.timeout.connect(look)
        timer.start(round(1000 * max(seconds / 60, 1)))
        app.exec()
        timer.stop()
        sent = board._sequence
        controller.stop()
        readings = controller.session.latest().readings
        print(f"{readings} readings of {sent} frames; the board dropped {board.dropped}")
        assert sent - readings <= 80 * 0.5 + board.dropped  # what was on its way when it was stopped
    judge(samples)


if __name__ == "__main__":
    {"fast": fast, "window": window}[sys.argv[1]](float(sys.argv[2]))
