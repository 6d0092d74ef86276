"""The stand view: state above, picture and facts, loads over time, keys and cautions below."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from balance.findings_words import replay_words
from balance.live_state import LiveState
from balance.reading import Snapshot, without_places
from balance.stance import Stance
from balance.window import palette as p
from balance.window.facts import Facts, label
from balance.window.floor_view import FloorView
from balance.window.front_view import FrontView
from balance.window.lanes import LanesView
from balance.window.strip_chart import StripChart
from balance.window.what_if_view import WhatIfView
from balance.words import say

CHARTS_PER_S = 20  # the chart moves 3 pixels in that time
LANES, FRONT, AREA, CARD, FINDINGS, TRIALS, IF = range(7)


class StandView(QWidget):
    """Shows states; says what the user asks for by ``asked``: start, mark, zero, end."""

    asked = Signal(str)
    what_if = Signal(object)  # a WhatIf, or None where the page was just opened
    typed = Signal(str)  # a key that is none of the view's own

    def __init__(self, stance: Stance, braced: set[str], scale: float = 1.0) -> None:
        super().__init__()
        self.setWindowTitle(say("window.title"))
        self.setStyleSheet(
            f"StandView {{ background: {p.PAPER}; }} QPushButton {{ font-size: {round(16 * scale)}px; padding: 4px 10px; }}"
        )
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground, True)
        small, middle = max(11, round(p.SMALL_PX * scale)), round(p.MIDDLE_PX * scale)
        self._trial, self._link = label(middle, p.INK, bold=True), label(small, p.QUIET)
        self._link.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._message = label(round(middle * 0.85), p.INK)
        self._message.setAccessibleName("message")
        self._message.setMinimumHeight(
            round(2.6 * 0.85 * middle)
        )  # two lines: nothing jumps when a second one comes
        self.lanes = LanesView(stance, braced, scale)
        # Made when first asked for: the first frame comes sooner.
        self._unmade: dict[int, Callable[[], QWidget]] = {
            FRONT: lambda: FrontView(scale),
            AREA: lambda: FloorView(stance),
            IF: self._make_what_if,
        }
        self.facts, self.chart = Facts(stance, scale), StripChart()
        self._card = label(round(0.8 * middle), p.INK)
        self._card.setText("\n".join([say("window.key-card-pictures"), say("window.key-card")]))
        self._card.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.pictures = QStackedWidget()
        self._findings = label(small, p.INK)
        self._findings.setStyleSheet(
            f"color: {p.INK}; font-size: {small}px; font-family: monospace; padding: 12px;"
        )
        self._findings.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._findings.setAccessibleName(say("window.findings"))
        self._trials = label(round(0.8 * middle), p.INK)
        self._trials.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._trials.setAccessibleName(say("window.trials"))
        self._trials.setText(say("window.trials-none"))
        self.listed: list[str] = []
        self._stance, self._braced, self._scale = stance, braced, scale
        self.if_view: WhatIfView | None = None
        self._protocol: str | None = None
        self._drawn: tuple[QWidget, Snapshot | None] | None = None
        self._charted_s = math.inf
        for picture in (
            self.lanes,
            QWidget(),
            QWidget(),
            self._card,
            self._findings,
            self._trials,
            QWidget(),
        ):
            self.pictures.addWidget(picture)
        self.chart.setFixedHeight(round(170 * scale))
        self.facts.setFixedWidth(round(700 * scale))
        self._lay_out(small, scale)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def _lay_out(self, small: int, scale: float) -> None:
        top, centre, left = QHBoxLayout(), QHBoxLayout(), QVBoxLayout()
        top.addWidget(self._trial, 3)
        top.addWidget(self._link, 3)
        left.addWidget(self.pictures, 1)
        left.addWidget(self.chart)
        centre.addLayout(left, 1)
        centre.addWidget(self.facts)
        buttons = QHBoxLayout()
        for key, what in (("start", "start"), ("mark", "mark"), ("zero", "zero"), ("lanes", "lanes"), ("front", "front"), ("area", "area"), ("trials", "trials-button"), ("what-if", "what-if"), ("help", "help")):  # fmt: skip
            button = QPushButton(say(f"window.{what}"))
            button.setAccessibleName(say(f"window.{what}"))
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(self._pressed(key))
            buttons.addWidget(button)
        buttons.addStretch(1)
        keys = self._keys = label(small, p.QUIET)
        caution, closing = label(small, p.QUIET), label(small, p.QUIET)
        keys.setText(say("window.keys"))
        caution.setText(say("caution.short"))
        closing.setText(say("caution.not-examined"))
        box = QVBoxLayout(self)
        box.setContentsMargins(*(round(14 * scale),) * 4)
        for part in (top, centre, self._message, buttons, keys, caution, closing):
            if isinstance(part, QLabel):
                box.addWidget(part)
            else:
                box.addLayout(part, 1 if part is centre else 0)

    def _make_what_if(self) -> QWidget:
        self.if_view = WhatIfView(self._stance, self._braced, self._scale)
        self.if_view.asked.connect(self.what_if.emit)
        return self.if_view

    def _pressed(self, key: str) -> Callable[[], None]:
        return lambda: self.do(key)

    def _turn_to(self, page: int) -> None:
        if page in self._unmade:
            empty = self.pictures.widget(page)
            self.pictures.insertWidget(page, self._unmade.pop(page)())
            if empty is not None:
                self.pictures.removeWidget(empty)
                empty.deleteLater()
        self.pictures.setCurrentIndex(page)

    def do(self, what: str) -> None:
        """One thing that a key or button asks for."""
        pages = {"lanes": LANES, "front": FRONT, "area": AREA, "help": CARD, "what-if": IF, "trials": TRIALS}
        if what in pages:
            page = pages[what]
            self._turn_to(LANES if self.pictures.currentIndex() == page else page)
            if what == "what-if" and self.if_view is not None:
                self.what_if.emit(self.if_view.what)
        else:
            self.asked.emit(what)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """The keys of the card."""
        keys = {
            Qt.Key.Key_F: "front", Qt.Key.Key_A: "area", Qt.Key.Key_L: "lanes", Qt.Key.Key_F1: "help", Qt.Key.Key_I: "what-if", Qt.Key.Key_R: "trials", Qt.Key.Key_Q: "end",
            Qt.Key.Key_Escape: "end", Qt.Key.Key_Left: "back", Qt.Key.Key_Right: "forward",
        }  # fmt: skip
        what = keys.get(Qt.Key(event.key()))
        if what is None and event.text():
            self.typed.emit(event.text().lower())
        elif what is None:
            super().keyPressEvent(event)
        else:
            self.do(what)

    def show_state(self, state: LiveState, may_record: bool = True) -> None:
        """Draws a state; cheap where nothing changed. A trial that begins brings its own picture back."""
        if state.protocol is not None and state.protocol != self._protocol:
            self._turn_to(FRONT if state.protocol == "weight shift" else LANES)
        self._protocol = state.protocol
        _set(self._trial, f"{state.subject or ''}   {trial_words(state, may_record)}".strip())
        delay = state.snapshot.delay_ms if state.snapshot else 0.0
        _set(self._link, say(f"window.link-{state.link}", rate=state.rate_hz, delay=delay))
        _set(self._keys, say("window.keys" if state.playback is None else "window.keys-replay"))
        told = [state.next_step] if state.next_step else []
        _set(self._message, "\n".join([*told, *state.notices][:2]) or " ")
        snapshot = None if state.link == "lost" else state.snapshot
        if not state.places_confirmed:
            snapshot = without_places(snapshot)
        picture = self.pictures.currentWidget()
        if isinstance(picture, LanesView | FrontView | FloorView):
            if self._drawn is None or self._drawn[0] is not picture or self._drawn[1] is not snapshot:
                picture.show_snapshot(snapshot)
                self._drawn = (picture, snapshot)
            if snapshot is not None and not isinstance(picture, FrontView):
                picture.move_to(state.point_mm)
        self.facts.show_snapshot(snapshot)
        newest = state.tail_s[-1] if len(state.tail_s) else 0.0
        if not abs(newest - self._charted_s) < 1 / CHARTS_PER_S:
            self.chart.show_tail(state.tail_s - newest, state.tail_n)
            self._charted_s = newest

    def show_findings(self, lines: list[str]) -> None:
        """Findings of a closed recording, in the picture's place until another is asked for or a trial begins; an open list of trials stays."""
        self._findings.setText("\n".join(lines))
        if self.pictures.currentIndex() != TRIALS:
            self._turn_to(FINDINGS)

    def list_trial(self, line: str) -> None:
        """One more trial in the list of the day."""
        self.listed.append(line)
        self._trials.setText("\n".join([say("window.trials"), "", *self.listed]))


def trial_words(state: LiveState, may_record: bool) -> str:
    """What the trial does, in words."""
    if state.protocol is not None:
        if state.planned_s is None:
            return say("window.recording-open", protocol=state.protocol, seconds=state.seconds)
        return say(
            "window.recording",
            protocol=state.protocol,
            seconds=state.seconds,
            planned=f"{state.planned_s:.0f}",
        )
    if state.playback is not None:
        return replay_words(state.playback)
    if state.state == "waiting":
        return say("window.waiting")
    if not may_record:
        return say("window.watching")
    return say("window.ready", protocol=state.chosen, posture=state.posture)


def _set(item: QLabel, text: str) -> None:
    if item.text() != text:
        item.setText(text)
