"""Runs the window over a session: one coalesced wake-up from the reader thread, drawing on arrival."""

from __future__ import annotations

import ctypes
import gc
import sys
import threading
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QScreen
from PySide6.QtWidgets import QApplication

from balance.controls import Controls
from balance.findings_words import Told
from balance.protocols import Protocol
from balance.session import Session
from balance.set_up import items
from balance.trial_plan import TrialPlan
from balance.what_if import WhatIf, stance_if
from balance.window.analyses import Analyses
from balance.window.look import Look, px_per_mm
from balance.window.stand_view import StandView
from balance.window.steady import Steady
from balance.window.tone import Tones
from balance.words import say

if TYPE_CHECKING:
    from balance.window.person_view import PersonView

MOST_DRAWS_PER_S = 100
SWITCH_S = 0.0005  # so that the reader thread gets its turn while the window draws
LATER = (  # what draws the charts and the person's view, and what starts the process that analyses a trial
    "balance.window.floor_view",
    "balance.window.strip_chart",
    "balance.window.person_view",
    "concurrent.futures.process",
    "multiprocessing.synchronize",
    "multiprocessing.popen_spawn_win32" if sys.platform == "win32" else "multiprocessing.popen_spawn_posix",
)
LOADED_MS = 6000  # by then the charts are made
PREPARE_MS = 1200  # after the first picture: those with the first readings take longest, and a second thread at work would double it
# what the C library may keep of memory that is done with, and from what size a piece of memory is the system's own
KEPT_FREE_BYTES = 2**20
TRIM_THRESHOLD, MMAP_THRESHOLD = -1, -3  # glibc, malloc.h
AGAIN_S = 3.0  # within them a second q ends the program in the middle of a trial


class _Bell(QObject):
    """Wakes the GUI thread; queued, so that another thread never waits for drawing."""

    news = Signal()
    loaded = Signal()


class Controller(QObject):
    """Connects a session with its views."""

    def __init__(
        self,
        session_of: Callable[[Callable[[], None]], Session],
        findings: Callable[[Path], Told],
        trials: list[tuple[Protocol, float | None]],
        look: Look | None = None,
        tones: bool = True,
    ) -> None:
        super().__init__()
        self._tones = Tones() if tones else None
        self._recording = False
        self._bell = _Bell()
        self._bell.news.connect(self._draw_soon, Qt.ConnectionType.QueuedConnection)
        self.session = session_of(self._bell.news.emit)
        self._loader = threading.Thread(target=self._load, name="loader")
        self._load_soon = QTimer(self)
        self._load_soon.setSingleShot(True)
        self._load_soon.timeout.connect(self._loader.start)
        orthosis = self.session.described.orthosis
        side = orthosis.side if orthosis else None
        braced = {"left", "right"} if side == "both" else {side} if side in ("left", "right") else set()
        self.view = StandView(self.session.stance, {str(s) for s in braced}, look)
        steady = Steady()
        self.view.items_of = lambda state: items(self.session, state, steady)
        self.person: PersonView | None = None
        self._mirrored = False
        self._controls = Controls(self.session)
        self.view.asked.connect(self._asked)
        self._bell.loaded.connect(self.view.prepare, Qt.ConnectionType.QueuedConnection)
        self.view.typed.connect(self._controls.key)
        self.view.what_if.connect(self._what_if)
        self._plan = TrialPlan(self.session, trials)
        self._analyses = Analyses(findings)
        self._last_draw_s = 0.0
        self._ending_s: float | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._draw)
        self._slow = QTimer(self)
        self._slow.timeout.connect(self._collect)

    def start(self) -> None:
        """Opens the session. Raises BoardError before anything is shown."""
        self.session.open()
        self.session.start()
        self._slow.start(200)
        self._load_soon.start(PREPARE_MS)

    def _load(self) -> None:
        """What is needed later, in a thread of its own, as it takes a second; a look for garbage amid it or of it would hold the picture."""
        gc.disable()
        try:
            for module in LATER:
                import_module(module)
        finally:
            gc.freeze()
            gc.enable()
        self._bell.loaded.emit()

    def stop(self) -> None:
        """Stops session and workers for real."""
        self._slow.stop()
        self._timer.stop()
        self._load_soon.stop()
        if self._loader.is_alive():
            self._loader.join()
        self.session.stop()
        if self.person is not None:
            self.person.close()
        self._analyses.stop()
        if self._tones is not None:
            self._tones.close()

    def _draw_soon(self) -> None:
        wait_s = self._last_draw_s + 1 / MOST_DRAWS_PER_S - time.monotonic()
        if wait_s <= 0:
            self._draw()
        elif not self._timer.isActive():
            self._timer.start(max(1, round(wait_s * 1000)))

    def _draw(self) -> None:
        self._last_draw_s = time.monotonic()
        state = self.session.latest()
        self._plan.step(state)
        self.view.set_stance(self.session.stance)
        self.view.show_state(state, self.session.records)
        if self.person is not None:
            self.person.show_state(state)
        if (state.protocol is not None) != self._recording:
            self._recording = state.protocol is not None
            if self._tones is not None:
                self._tones.play("start" if self._recording else "end")
        while self._plan.finished:
            self._analyses.add(self._plan.finished.popleft())

    def _collect(self) -> None:
        running = self.session.latest().state == "running"  # nothing comes over the picture during a trial
        while not running and (found := self._analyses.finished()) is not None:
            told, newest = found
            self.view.list_trial(told)
            if newest:
                self.view.show_findings(told)
        if self._ending_s is not None and time.monotonic() - self._ending_s > AGAIN_S:
            self._ending_s = None
            self.view.say_at_once(None)
        if self.session.finished.is_set():
            self._draw()

    def _what_if(self, what: WhatIf) -> None:
        stance = stance_if(self.session.stance, what)
        self.view.show_if(stance, self.session.what_if(stance))

    def _asked(self, what: str) -> None:
        if what == "end":
            self._end()
        elif what == "person":
            self._person_view()
        elif what == "mirror":
            self._mirrored = not self._mirrored
            if self.person is not None:
                self.person.mirrored = self._mirrored
                self._draw()
        elif what == "picture":
            from balance.window.picture_file import save_picture

            self.session.say(save_picture(self.view, self.session.folder))
        else:
            self._controls.obey(what)

    def _end(self) -> None:
        """In the middle of a trial only when asked twice."""
        busy = self.session.latest().state == "running" or self.session.is_hands_free
        if busy and self._ending_s is None:
            self._ending_s = time.monotonic()
            self.view.say_at_once(say("window.end-again"))
        else:
            QApplication.quit()

    def _person_view(self) -> None:
        """On the second screen where there is one; else over the first, until v is pressed again."""
        from balance.window.person_view import PersonView

        if self.person is not None:
            self.person.close()
            self.person.deleteLater()
            self.person = None
            self.view.activateWindow()
            self.view.setFocus()
            return
        own = self.view.screen()
        screen = next((one for one in QApplication.screens() if one is not own), own)
        size = screen.geometry()
        look = Look(size.width(), size.height(), screen_px_per_mm(screen), self.view.look.palette)
        self.person = PersonView(look)
        self.person.mirrored = self._mirrored
        self.person.covers = screen is own
        self.person.typed.connect(self.view.keyPressEvent)
        self.person.setGeometry(size)
        self.person.showFullScreen()
        if screen is not own:
            self.view.activateWindow()
        self._draw()


def screen_px_per_mm(screen: QScreen, told_mm: float | None = None) -> float:
    """Logical pixels of a screen on a millimetre of its glass."""
    return px_per_mm(screen.geometry().height(), screen.physicalSize().height(), told_mm)


def look_of(screen: QScreen, told_mm: float | None) -> Look:
    """For a window that fills a screen."""
    size = screen.availableGeometry()
    return Look(size.width(), size.height(), screen_px_per_mm(screen, told_mm))


def give_back() -> None:
    """Memory of pictures that are done with goes back to the system at once; once a process, before its first picture.

    After its first large picture glibc keeps up to twice that size free for the next: 16 MB more than what is in use, going up and
    down, in which nobody could see 1 MB that grows. Other C libraries have no such setting, and nothing is done.
    """
    if sys.platform == "linux" and hasattr(libc := ctypes.CDLL(None), "mallopt"):
        for setting in (TRIM_THRESHOLD, MMAP_THRESHOLD):
            libc.mallopt(setting, KEPT_FREE_BYTES)


def application() -> QApplication:
    """The one application, with the font that sizes are reckoned for."""
    from balance.window.drawing import family

    give_back()
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    app.setApplicationName(say("window.title"))
    usual = app.font()
    usual.setFamily(family())
    app.setFont(usual)
    return app


def keep_smooth() -> None:
    """Once a process, after its first picture: what would now and then hold the picture for longer than an eye forgives.

    The reader thread gets its turn while the window draws. What was made until now stays, so it is not looked through for garbage
    again: that would take 80 ms; the same once more when what is loaded after the first picture is there.
    """
    sys.setswitchinterval(SWITCH_S)
    gc.freeze()
    QTimer.singleShot(LOADED_MS, gc.freeze)


def run(
    session_of: Callable[[Callable[[], None]], Session],
    findings: Callable[[Path], Told],
    trials: list[tuple[Protocol, float | None]],
    tones: bool = True,
    screen_mm: float | None = None,
) -> None:
    """Shows a session until the user ends it. tones: a short one at a trial's start and end · screen_mm: the glass's height as told."""
    app = application()
    screen = app.primaryScreen()
    controller = Controller(session_of, findings, trials, look_of(screen, screen_mm), tones)
    try:
        controller.start()
        controller.view.resize(screen.availableGeometry().size())
        controller.view.showMaximized()
        controller.view.setFocus()
        app.processEvents()
        keep_smooth()
        app.exec()
    except KeyboardInterrupt:
        pass
    finally:
        controller.stop()
