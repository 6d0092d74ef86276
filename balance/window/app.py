"""Runs the window over a session: one coalesced wake-up from the reader thread, drawing on arrival."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication

from balance.controls import Controls
from balance.findings_words import Told
from balance.protocols import Protocol
from balance.recording import find_recordings
from balance.session import Session
from balance.trial_plan import TrialPlan
from balance.what_if import WhatIf, stance_if
from balance.window.palette import DESIGN_HEIGHT_PX
from balance.window.stand_view import StandView

MOST_DRAWS_PER_S = 100
SWITCH_S = 0.0005  # so that the reader thread gets its turn while the window draws


class _Bell(QObject):
    """Wakes the GUI thread; queued, so that the reader thread never waits for drawing."""

    news = Signal()


class Controller(QObject):
    """Connects a session with its view."""

    def __init__(
        self,
        session_of: Callable[[Callable[[], None]], Session],
        findings: Callable[[Path], Told],
        trials: list[tuple[Protocol, float | None]],
        scale: float,
        tones: bool = True,
    ) -> None:
        super().__init__()
        self._tones, self._recording = tones, False
        self._bell = _Bell()
        self._bell.news.connect(self._draw_soon, Qt.ConnectionType.QueuedConnection)
        self.session = session_of(self._bell.news.emit)
        orthosis = self.session.described.orthosis
        side = orthosis.side if orthosis else None
        braced = {"left", "right"} if side == "both" else {side} if side in ("left", "right") else set()
        self.view = StandView(self.session.stance, {str(s) for s in braced}, scale)
        self._controls = Controls(self.session)
        self.view.asked.connect(self._asked)
        self.view.typed.connect(self._controls.key)
        self.view.what_if.connect(self._what_if)
        self._plan = TrialPlan(self.session, trials)
        self._findings = findings
        self._workers: ProcessPoolExecutor | None = None
        self._results: list[tuple[Future[Told], bool]] = []  # with: is it the trial just recorded
        self._last_draw_s = 0.0
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

    def stop(self) -> None:
        """Stops session and workers for real."""
        self._slow.stop()
        self._timer.stop()
        self.session.stop()
        if self._workers is not None:
            self._workers.shutdown(wait=True, cancel_futures=True)

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
        self.view.show_state(state, self.session.records)
        if (state.protocol is not None) != self._recording:
            self._recording = state.protocol is not None
            if self._tones:
                QApplication.beep()  # without a sound device it is silent, and no fault
        while self._plan.finished:
            self._analyse_with_earlier(self._plan.finished.popleft())

    def _analyse_with_earlier(self, folder: Path) -> None:
        """The first time, those of the day that were recorded before the program was started come into the list too."""
        if self._workers is None:
            for earlier in find_recordings(folder.parent):
                if earlier != folder and earlier.name < folder.name:
                    self._analyse(earlier, newest=False)
        self._analyse(folder, newest=True)

    def _analyse(self, folder: Path, *, newest: bool) -> None:
        """In another process: the picture goes on."""
        if self._workers is None:
            self._workers = ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn"))
        self._results.append((self._workers.submit(self._findings, folder), newest))

    def _collect(self) -> None:
        running = self.session.latest().state == "running"  # nothing comes over the picture during a trial
        while self._results and self._results[0][0].done() and not running:
            done, newest = self._results.pop(0)
            error = done.exception()
            told = Told(str(error), [str(error)]) if error else done.result()
            self.view.list_trial(told.line)
            if newest:
                self.view.show_findings(told.lines)
        if self.session.finished.is_set():
            self._draw()

    def _what_if(self, what: WhatIf) -> None:
        if self.view.if_view is not None:
            stance = stance_if(self.session.stance, what)
            self.view.if_view.show_if(stance, self.session.what_if(stance))

    def _asked(self, what: str) -> None:
        if what == "end":
            QApplication.quit()
        else:
            self._controls.obey(what)


def run(
    session_of: Callable[[Callable[[], None]], Session],
    findings: Callable[[Path], Told],
    trials: list[tuple[Protocol, float | None]],
    tones: bool = True,
) -> None:
    """Shows a session until the user ends it. tones: a short one at a trial's start and end."""
    sys.setswitchinterval(SWITCH_S)
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    height = app.primaryScreen().availableGeometry().height()
    controller = Controller(
        session_of, findings, trials, min(max(height / DESIGN_HEIGHT_PX, 0.6), 2.0), tones
    )
    try:
        controller.start()
        controller.view.resize(app.primaryScreen().availableGeometry().size())
        controller.view.showMaximized()
        controller.view.setFocus()
        app.exec()
    except KeyboardInterrupt:
        pass
    finally:
        controller.stop()
