"""Long runs: ``python -m tests.faults.soak fast 7200`` (simulated seconds through the whole chain, recorded, as fast as it goes) and
``python -m tests.faults.soak window 1800`` (real seconds, a board on a pseudo-terminal, the window offscreen), the same with ``keys``: every two
seconds a key is pressed, trials are recorded and analysed, and what the window was ever still for is measured. Beside it a bare process beats
as the window does: what that is still for, and what the host takes from the processors meanwhile, is the machine's. A round of the keys
takes 84 s: under half an hour of them memory's highs and lows say nothing. Prints memory, threads, open files and delay as it goes; fails
where one of them grows, or a frame is missing."""

from __future__ import annotations

import os
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median

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
    if len(samples) < 6:
        sys.exit("Too short to judge what grows: six samples at least.")
    settled = samples[len(samples) // 6 :]
    third = max(1, len(settled) // 3)
    early, late, last = settled[:third], settled[-third:], settled[-1]
    # memory goes up and down as recordings and pages come and go: what is kept raises its highs, its middle and its lows; they lie two
    # thirds of the time apart, so 2 MB of them are 3 MB over all of it
    high, middle, low = (kind(one.mb for one in late) - kind(one.mb for one in early) for kind in (max, median, min))  # fmt: skip
    print(
        f"memory's highs {high:+.1f} MB, middle {middle:+.1f} MB, lows {low:+.1f} MB, threads {last.threads}, files {last.files}",
        flush=True,
    )
    assert max(high, middle, low) < 2, "memory grew"
    assert last.threads <= max(one.threads for one in early)  # a recording has one, and two files, of its own
    assert last.files <= max(one.files for one in early)


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


PRESSED = (
    "h", "F", "L", "R", "Return", "Escape", "1", "space", "m", "I", "Right", "Escape", "A", "L", "G", "E", "Escape", "space", "s", "7", "D", "plus", "F1", "F1",
    "minus", "D", "2", "space", "m", "v", "v", "space", "j", "5", "u", "R", "Up", "Return", "Escape", "z", "w", "h",
)  # fmt: skip
KEY_S, BEAT_S, STALL_S = 2.0, 0.01, 0.05
BARE = f"""
import sys, threading, time
asked = threading.Event()
threading.Thread(target=lambda: (sys.stdin.read(), asked.set()), daemon=True).start()
last, gaps = time.monotonic(), []
while not asked.is_set():
    time.sleep({BEAT_S})
    now = time.monotonic()
    gaps.append(now - last)
    last = now
print(f"a bare process beside it: {{sum(gap > {STALL_S + BEAT_S} for gap in gaps)}} of {{len(gaps)}} times, longest {{1000 * max(gaps):.0f}} ms")
"""  # the baseline: sleeps and wakes as often as the window's own beat


def keys(seconds: float) -> None:
    """As ``window``, with somebody at the keys; the board in a process of its own, so that only the window's own work is measured."""
    import subprocess

    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtCore import QEvent, Qt, QTimer
    from PySide6.QtGui import QKeyEvent

    from balance.command_line.showing import findings_told
    from balance.window.app import Controller, application, keep_smooth
    from balance.window.look import Look
    from drivers.serial_board import SerialBoard

    app, served = (
        application(),
        "import sys; from tests.drivers.test_sources import a_board; from drivers.simulated_board.lines import serve_pty\n",
    )
    served += "with serve_pty(a_board(), None) as server:\n    print(server.address, flush=True)\n    sys.stdin.read()\n"
    board = subprocess.Popen([sys.executable, "-c", served], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)  # fmt: skip
    bare = subprocess.Popen([sys.executable, "-c", BARE], stdin=subprocess.PIPE, text=True)
    assert board.stdout is not None
    assert board.stdin is not None
    address = board.stdout.readline().strip()
    with tempfile.TemporaryDirectory() as scratch:
        controller = Controller(
            lambda on_news: Session(SerialBoard(address), FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(), out=Path(scratch), on_news=on_news),
            findings_told, [], Look(), tones=False,
        )  # fmt: skip
        controller.view.resize(1920, 1080)
        controller.view.show()
        controller.start()
        start, samples, gaps, pressed = (
            time.monotonic(),
            list[Sample](),
            [0] * 2000,
            0,
        )  # gaps: how many of each ms
        app.processEvents()
        keep_smooth()
        beat, hand = QTimer(), QTimer()
        last = at_key = time.monotonic()
        taken_ms, worked_ms, most_ms, own = _taken_ms(), time.thread_time() * 1000, 0.0, 0

        def beats() -> None:
            nonlocal last, taken_ms, worked_ms, most_ms, own
            now, taken_before, worked_before = time.monotonic(), taken_ms, worked_ms
            taken_ms, worked_ms = _taken_ms(), time.thread_time() * 1000
            most_ms = max(most_ms, worked_ms - worked_before)
            still_ms = round((now - last) * 1000)
            gaps[min(still_ms, len(gaps) - 1)] += 1
            if still_ms > (STALL_S + BEAT_S) * 1000:
                host_ms = [after - before for after, before in zip(taken_ms, taken_before, strict=True)]
                own += still_ms - max(host_ms) > (STALL_S + BEAT_S) * 1000
                print(
                    f"{now - start:7.1f} s  still for {still_ms} ms, {now - at_key:.1f} s after {PRESSED[(pressed - 1) % len(PRESSED)]}:"
                    f" the window worked {worked_ms - worked_before:.0f} ms, the host took {' + '.join(f'{ms:.0f}' for ms in host_ms)} ms of the processors",
                    flush=True,
                )
            last = now
            if now - start >= seconds:
                app.quit()

        def press() -> None:
            nonlocal pressed, at_key
            at_key = time.monotonic()
            name = PRESSED[pressed % len(PRESSED)]
            pressed += 1
            key = getattr(Qt.Key, f"Key_{name.capitalize() if len(name) > 1 else name.upper()}", None) or getattr(Qt.Key, f"Key_{name}")  # fmt: skip
            text = " " if name == "space" else name if len(name) == 1 else "+" if name == "plus" else "-" if name == "minus" else ""  # fmt: skip
            target = app.focusWidget() or controller.view
            app.postEvent(target, QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text))
            if pressed % 15 == 0:
                samples.append(sample(controller.session, time.monotonic() - start))
                print(samples[-1], f"longest {_longest(gaps)} ms", flush=True)

        beat.timeout.connect(beats)
        hand.timeout.connect(press)
        beat.start(round(BEAT_S * 1000))
        hand.start(round(KEY_S * 1000))
        app.exec()
        beat.stop()
        hand.stop()
        recorded = len(controller.view.listed)
        controller.stop()
    board.stdin.close()
    board.wait()
    bare.communicate("")
    long = sum(gaps[round((STALL_S + BEAT_S) * 1000) + 1 :])
    print(f"{pressed} keys, {recorded} trials listed; still for more than 50 ms: {long} of {sum(gaps)} times, longest {_longest(gaps)} ms; {own} without what the host took; the window worked {most_ms:.0f} ms at most from beat to beat")  # fmt: skip
    judge(samples)


def _taken_ms() -> list[float]:
    """What the host has taken from each of this machine's processors until now; 0 where the system does not tell (only Linux does)."""
    return [1000 * float(getattr(one, "steal", 0.0)) for one in psutil.cpu_times(percpu=True)]


def _longest(gaps: list[int]) -> int:
    """Milliseconds."""
    return max((ms for ms, count in enumerate(gaps) if count), default=0)


def window(seconds: float) -> None:
    """In real time with the window; every frame that the board sent was read."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from balance.command_line.showing import findings_told
    from balance.window.app import Controller
    from balance.window.look import Look
    from drivers.serial_board import SerialBoard
    from drivers.simulated_board.lines import serve_pty

    app = QApplication([])
    board = a_board()
    with serve_pty(board, None) as server, tempfile.TemporaryDirectory() as scratch:
        controller = Controller(
            lambda on_news: Session(SerialBoard(server.address), FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(), out=Path(scratch), on_news=on_news),
            findings_told, [], Look(), tones=False,
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
    {"fast": fast, "window": window, "keys": keys}[sys.argv[1]](float(sys.argv[2]))
