"""The window: a refresh with all layers against the naive drawing, bytes and keys to the screen, memory, the first frame."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from typing import Any

from tests.benchmarks.__main__ import FLOOR, a_board, seconds, show

KEYS = 200


def _states() -> list[Any]:
    """Of ten seconds; two trials are being compared and something is to be said: all layers are there."""
    from balance.session import Session
    from drivers.samples import SampleBlock
    from drivers.simulated_board.source import SimulatedSource

    session = Session(SimulatedSource(a_board(), 25.0), FLOOR.rig, FLOOR.stance, FLOOR.calibration)
    session.open()
    states = []
    for _ in range(100):
        for item in session._source.read():
            if isinstance(item, SampleBlock):
                session._take(item)
        latest = session.latest()
        states.append(replace(latest, protocol="quiet standing", planned_s=20.0, seconds=len(states) * 0.1))
    return states


def _window() -> Any:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from balance.window.app import application
    from balance.window.lane import Overlay
    from balance.window.look import Look
    from balance.window.stand_view import StandView

    application()
    view = StandView(FLOOR.stance, {"left", "right"}, Look())
    view._overlays = [
        Overlay("1", {"left": (120.0, 9.0), "right": (118.0, 9.0)}),
        Overlay("2", {"left": (140.0, 9.0), "right": (131.0, 9.0)}),
    ]
    view.resize(1920, 1080)
    view.show()
    return view


def refresh() -> None:
    from PySide6.QtWidgets import QApplication

    states, view = _states(), _window()
    app = QApplication.instance()
    assert app is not None

    def draw(number: int) -> float:
        start = time.perf_counter()
        view.show_state(states[number % len(states)])
        app.processEvents()
        return (time.perf_counter() - start) * 1000

    def naive(number: int) -> float:
        start = time.perf_counter()
        fresh = _window()
        fresh.show_state(states[number % len(states)])
        app.processEvents()
        fresh.close()
        return (time.perf_counter() - start) * 1000

    for number in range(100):
        draw(number)
    times, plain = sorted(draw(i) for i in range(1000)), sorted(naive(i) for i in range(10))
    value = f"p50 {times[500]:.1f} ms, p99 {times[990]:.1f} ms"
    show("a refresh with all layers at 1920×1080, offscreen", value, "p50 ≤ 8 ms, p99 ≤ 12 ms", f"p50 {plain[5]:.0f} ms with all items made anew")  # fmt: skip


def key_to_screen() -> None:
    """From a key's event to the end of the repaint that it asked for, while readings come in."""
    from PySide6.QtCore import QEvent, Qt
    from PySide6.QtGui import QKeyEvent
    from PySide6.QtWidgets import QApplication

    states, view = _states(), _window()
    app = QApplication.instance()
    assert app is not None
    keys = [
        Qt.Key.Key_F,
        Qt.Key.Key_R,
        Qt.Key.Key_Escape,
        Qt.Key.Key_F1,
        Qt.Key.Key_F1,
        Qt.Key.Key_I,
        Qt.Key.Key_Escape,
    ]
    times = []
    for number in range(KEYS):
        view.show_state(replace(states[number % len(states)], protocol=None))
        app.processEvents()
        start = time.perf_counter()
        app.sendEvent(
            view, QKeyEvent(QEvent.Type.KeyPress, keys[number % len(keys)], Qt.KeyboardModifier.NoModifier)
        )
        app.processEvents()
        times.append((time.perf_counter() - start) * 1000)
    times.sort()
    show("a key to the screen", f"p50 {times[KEYS // 2]:.1f} ms, p95 {times[int(KEYS * 0.95)]:.1f} ms", "p95 ≤ 50 ms", "0 ms: nothing drawn")  # fmt: skip


def to_repaint() -> None:
    """A sample's last byte is handed to the reader; until its picture is on the (offscreen) window, and what a core does."""
    code = """
import os, sys, time
os.environ["QT_QPA_PLATFORM"] = "offscreen"
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from balance.session import Session
from balance.window.app import Controller, SWITCH_S
from balance.window.look import Look
from drivers.samples import SampleBlock
from tests.benchmarks.__main__ import FLOOR, a_board
from drivers.simulated_board.source import SimulatedSource
from drivers.assembly import Assembly, board_info
from drivers.wire import Command, Decoder, Hello, START, encode

sys.setswitchinterval(SWITCH_S)
RATE, SECONDS = float(sys.argv[1]), float(sys.argv[2])

class Paced:
    \"\"\"Bytes of a board made beforehand, each message at its time; notes when it was handed over.\"\"\"
    def __init__(self):
        board = a_board()
        board.rate_hz = RATE
        first = Decoder().feed(board.advance(0.0))
        self.info = board_info(next(m for m in first if isinstance(m, Hello)))
        board.receive(encode(Command(START, 1)))
        self.pieces = [board.advance(i / RATE) for i in range(1, int(RATE * SECONDS))]
        self.assembly = Assembly(self.info)
        self.at, self.stopped, self.given = 0, False, {}
    def open(self):
        self.start = time.perf_counter() + 0.2
        return self.info
    def read(self):
        if self.stopped or self.at >= len(self.pieces):
            from drivers.samples import LinkEvent
            return [LinkEvent("ended", "event.ended", {}, 0)]
        due = self.start + self.at / RATE
        time.sleep(max(due - time.perf_counter(), 0))
        now = time.perf_counter()
        items = self.assembly.feed(self.pieces[self.at], now)
        self.at += 1
        for item in items:
            if isinstance(item, SampleBlock):
                self.given[int(item.board_us[-1])] = now
        return items
    def stop(self):
        self.stopped = True
    def close(self): ...

app = QApplication([])
source = Paced()
delays = []
controller = Controller(lambda news: Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, on_news=news), lambda f: [], [], Look(), False)
view, session = controller.view, controller.session
shown = view.show_state
def watched(state, *more):
    newest = session._last_us
    shown(state, *more)
    app.processEvents()
    handed = source.given.get(newest)
    if handed is not None:
        delays.append((time.perf_counter() - handed) * 1000)
view.show_state = watched
view.resize(1920, 1080)
view.show()
controller.start()
cpu, wall, before = time.process_time(), time.perf_counter(), 0
def settled():  # what is loaded after the first picture is over
    global cpu, wall, before
    cpu, wall, before = time.process_time(), time.perf_counter(), len(delays)
QTimer.singleShot(4000, settled)
watch = QTimer()
watch.timeout.connect(lambda: session.finished.is_set() and app.quit())
watch.start(200)
app.exec()
cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
controller.stop()
drawn = len(delays) - before
delays = sorted(delays[20:])
print(delays[len(delays) // 2], delays[int(len(delays) * 0.99)], 100 * cpu / wall, drawn / wall)
"""
    for rate in (80, 60):
        done = subprocess.run(
            [sys.executable, "-c", code, str(rate), "20"], capture_output=True, text=True, check=True
        )
        p50, p99, core, draws = map(float, done.stdout.split())
        where = f"{rate} readings/s, 1920×1080, offscreen"
        show(f"last byte to the repaint, {where}", f"p50 {p50:.1f} ms, p99 {p99:.1f} ms", "p50 ≤ 8 ms, p99 ≤ 25 ms", "0 ms: the sample itself")  # fmt: skip
        show("share of a core meanwhile", f"{core:.0f} % at {draws:.0f} draws/s", "≤ 50 % at 60/s", "")


def memory() -> None:
    code = """
import psutil
from tests.benchmarks.window import _states, _window
from PySide6.QtWidgets import QApplication
states, view = _states(), _window()
app, process = QApplication.instance(), psutil.Process()
for i in range(11000):
    view.show_state(states[i % 100])
    app.processEvents()
    if i == 1000:
        early = process.memory_info().rss
print(process.memory_info().rss / 1e6, (process.memory_info().rss - early) / 1e6)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    whole, grown = map(float, done.stdout.split())
    show("memory; growth in 10,000 refreshes", f"{whole:.0f} MB; {grown:.1f} MB", "≤ 200 MB; ≤ 3 MB", "with the benchmark's own modules")  # fmt: skip


def first_frame() -> None:
    head = 'import os; os.environ["QT_QPA_PLATFORM"] = "offscreen"\n'
    bare = (
        head + "import pyqtgraph as pg\nfrom PySide6.QtWidgets import QApplication\napp = QApplication([])\n"
    )
    bare += "w = pg.PlotWidget()\nw.show()\napp.processEvents()\nos._exit(0)\n"
    ours = (
        head
        + "from balance.command_line.setting_up import demo_floor\nfrom balance.window.app import application\n"
    )
    ours += "from balance.window.stand_view import StandView\napp = application()\n"
    ours += "v = StandView(demo_floor().stance, set())\nv.resize(1920, 1080)\nv.show()\napp.processEvents()\nos._exit(0)\n"
    with (
        tempfile.TemporaryDirectory() as compiled
    ):  # warm: Python's compiled files are there, as after any first start
        around = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        around["PYTHONPYCACHEPREFIX"] = compiled

        def start(code: str) -> None:
            subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=around)

        start(ours)
        start(bare)
        took, base = (seconds(lambda code=code: start(code), 8) for code in (ours, bare))
    show("first frame, warm", f"{took:.2f} s", "≤ 1.0 s", f"{base:.2f} s pyqtgraph and a bare window")
