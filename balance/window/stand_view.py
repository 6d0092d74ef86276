"""The window: who, link and what to do above; the two lanes, always at the same place; facts or another page beside them; keys below."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from balance.findings_words import Told
from balance.live_state import LiveState
from balance.protocols.asked import asked_by
from balance.reading import Snapshot
from balance.set_up import Item
from balance.stance import Stance
from balance.what_if import WhatIf
from balance.window.drawing import Words, size_of
from balance.window.facts import Facts
from balance.window.front import Front
from balance.window.header import Header
from balance.window.key_card import KeyCard
from balance.window.lane import Overlay
from balance.window.lanes import Lanes
from balance.window.look import TEXT_STEPS, Look
from balance.window.pages import FindingsPage, TrialsPage, label
from balance.window.palette import PALETTES
from balance.window.set_up_page import SetUpPage
from balance.window.what_if_page import WhatIfPage
from balance.words import say

if TYPE_CHECKING:
    from balance.window.floor_view import FloorView
    from balance.window.strip_chart import ChartPage

CHARTS_PER_S = 20  # the chart moves 3 pixels in that time
LEFT_OF_WIDTH = 0.685
PICTURES = ("lanes", "front", "area")
PAGES = ("facts", "findings", "trials", "what-if", "chart", "set-up")
SLOW = ("area", "chart")  # drawn by a library that takes a while
MAKE_NEXT_MS = 40
REPLAY_BUTTONS = {
    "hold": "start",
    "one": "step",
    "on": "forward",
    "front": "front",
    "what-if": "what-if",
    "help": "help",
}
BUTTONS = ("start", "hands-free", "mark", "zero", "front", "trials", "what-if", "help")
QT_KEYS = {
    Qt.Key.Key_F: "front", Qt.Key.Key_A: "area", Qt.Key.Key_L: "lanes", Qt.Key.Key_G: "chart", Qt.Key.Key_I: "what-if", Qt.Key.Key_R: "trials",
    Qt.Key.Key_E: "findings", Qt.Key.Key_N: "set-up", Qt.Key.Key_F1: "help", Qt.Key.Key_Question: "help", Qt.Key.Key_F2: "picture", Qt.Key.Key_V: "person", Qt.Key.Key_B: "mirror",
    Qt.Key.Key_D: "dark", Qt.Key.Key_Plus: "larger", Qt.Key.Key_Equal: "larger", Qt.Key.Key_Minus: "smaller", Qt.Key.Key_Escape: "stand", Qt.Key.Key_Q: "end",
    Qt.Key.Key_PageDown: "start", Qt.Key.Key_F5: "start", Qt.Key.Key_PageUp: "mark",
}  # fmt: skip
REPLAY_QT_KEYS = {
    Qt.Key.Key_Left: "back", Qt.Key.Key_Right: "forward", Qt.Key.Key_Up: "last mark", Qt.Key.Key_Down: "next mark", Qt.Key.Key_B: "back", Qt.Key.Key_N: "forward",
}  # fmt: skip


class StandView(QWidget):
    """Shows states; says what the user asks for by ``asked``, other keys by ``typed``."""

    asked = Signal(str)
    typed = Signal(str)
    what_if = Signal(object)  # a WhatIf

    def __init__(self, stance: Stance, braced: set[str], look: Look | None = None) -> None:
        super().__init__()
        self.setWindowTitle(say("window.title"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._stance, self._braced = stance, braced
        self._theme = "light"
        self.look = look or Look()
        self._told: list[Told] = []
        self._findings: list[str] = []
        self._overlays: list[Overlay] = []
        self._state: tuple[LiveState, bool] | None = None
        self._at_once: str | None = None
        self._if: tuple[Stance, Snapshot | None] | None = None
        self._what = WhatIf()
        self._is_replay = False
        self.items_of: Callable[[LiveState], Sequence[Item]] = lambda _: ()  # the session's set-up
        self._if_of: Snapshot | None = None
        self._protocol: str | None = None
        self._course: str | None = None
        self._link: str | None = None
        self._charted_s = math.inf
        self.picture, self.page = "lanes", "facts"
        self._draw_again = QTimer(self)
        self._draw_again.setSingleShot(True)
        self._draw_again.timeout.connect(self._again)
        self._make_next = QTimer(self)
        self._make_next.setSingleShot(True)
        self._make_next.timeout.connect(self.prepare)
        self._kept: dict[
            str, FloorView | ChartPage
        ] = {}  # of SLOW what was made: it gets another look, and is not made anew
        self._frame = QVBoxLayout(self)
        self._frame.setContentsMargins(0, 0, 0, 0)
        self._before: QWidget | None = None  # what is shown until its successor is ready
        self._draws_later = False
        self._remaking: Iterator[None] = iter(())
        self._next_step = QTimer(self)
        self._next_step.setSingleShot(True)
        self._next_step.timeout.connect(self._take_step)
        self._make()
        self._frame.addWidget(self._content)

    # --- made anew when size, colours or text change ---

    def _make(self) -> None:
        """All parts for the present look; what was told before is told to them again."""
        look = self.look
        self._content = QWidget(self)
        self._content.setObjectName("content")
        self._content.setStyleSheet(
            _style(look)
        )  # while it is empty: every widget below is styled anew by it
        margin, box = round(look.px(26)), QVBoxLayout(self._content)
        box.setContentsMargins(margin, round(look.px(16)), margin, round(look.px(12)))
        box.setSpacing(round(look.px(10)))
        self.header, self.lanes = Header(look), Lanes(self._stance, self._braced, look)
        self.front, self.facts, self.card = (
            Front(self._braced, look),
            Facts(self._stance, look),
            KeyCard(look),
        )
        self.set_up = SetUpPage(look)
        for part in (self.header, self.lanes, self.front, self.facts, self.card, self.set_up):
            part.resized.connect(self._again)
        self.findings, self.trials = FindingsPage(look), TrialsPage(look)
        self.trials.overlaid.connect(self._lay)
        makers = {"area": self._make_area, "what-if": self._make_what_if, "chart": self._make_chart}
        self._unmade = {name: make for name, make in makers.items() if name not in self._kept}
        self.pictures, self.pages, self._whole = QStackedWidget(), QStackedWidget(), QStackedWidget()
        area, chart = self._kept.get("area"), self._kept.get("chart")
        for picture in (self.lanes, self.front, area or QWidget()):
            self.pictures.addWidget(picture)
        for page in (self.facts, self.findings, self.trials, QWidget(), chart or QWidget(), self.set_up):
            self.pages.addWidget(page)
        both = QWidget()
        beside = QHBoxLayout(both)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(0)
        share = round(100 * LEFT_OF_WIDTH)
        beside.addWidget(self.pictures, share)
        beside.addWidget(self.pages, 100 - share)
        self._whole.addWidget(both)
        self._whole.addWidget(self.card)
        self.header.setFixedHeight(self.header.wanted_height())
        box.addWidget(self.header)
        box.addWidget(self._whole, 1)
        box.addWidget(self._below())
        for told in self._told:
            self.trials.add(told)
        self.findings.show_lines(self._findings)
        for name in (self.picture, self.page):
            if name not in self._kept:
                self.turn_to(name)
                continue
            blank = QWidget()  # until it has its look
            stack, _ = self._stack_of(name)
            stack.addWidget(blank)
            stack.setCurrentWidget(blank)

    def _below(self) -> QWidget:
        """Buttons that name their keys, and what is always to be kept in mind."""
        below = QWidget()
        box, row = QVBoxLayout(below), QHBoxLayout()
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(round(self.look.px(4)))
        row.setSpacing(round(self.look.px(10)))
        buttons = REPLAY_BUTTONS if self._is_replay else {what: what for what in BUTTONS}
        for what, asked in buttons.items():
            button = QPushButton(say(f"button.{what}"))
            button.setAccessibleName(say(f"button.{what}"))
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(self._pressed(asked))
            row.addWidget(button)
        row.addStretch(1)
        box.addLayout(row)
        self.cautions: list[QLabel] = []
        for key in ("caution.short", "caution.not-examined"):
            words = label(self.look, 18, quiet=True)
            words.setStyleSheet(f"color: {self.look.palette.quiet}; font-size: {self.look.below - 1}px;")
            words.setText(say(key))
            box.addWidget(words)
            self.cautions.append(words)
        return below

    def _remake(self, look: Look, *, always: bool = False) -> None:
        """Step by step, so that what comes between does not wait for all of it."""
        if look == self.look and not always:
            return
        self.look = look
        self._remaking = self._remade()
        if self.isVisible():
            self._take_step()
        else:
            self._finish_remaking()

    def _take_step(self) -> None:
        for _ in self._remaking:
            self._next_step.start(0)
            break

    def _finish_remaking(self) -> None:
        for _ in self._remaking:
            pass

    def _remade(self) -> Iterator[None]:
        """The parts are made, then they come to the place of those before, then what is kept gets its look and is shown."""
        on_card = self._whole.currentIndex()
        if self._before is not None:
            self._content.deleteLater()  # it was never shown
        before = self._before = self._before or self._content
        self._charted_s = math.inf
        self._make()
        self._whole.setCurrentIndex(on_card)
        yield
        self._swap(before)
        for name in tuple(self._kept):
            yield
            stack, at = self._place_of(name)
            yield
            if name in (self.picture, self.page):
                stack.setCurrentIndex(at)

    def _swap(self, before: QWidget) -> None:
        focused = self.focusWidget() in (None, self) or before.isAncestorOf(self.focusWidget())
        self._before, self._draws_later = (
            None,
            True,
        )  # each part is about to get its size: drawn once, after the last
        before.hide()
        self._frame.removeWidget(before)
        before.deleteLater()
        self._frame.addWidget(self._content)
        if self.isVisible():
            self._content.show()
        if focused:
            self.turn_to(self.page)
        self._draws_later = False
        self._again()

    def _again(self) -> None:
        """The newest state once more: after another size, page or colour."""
        if self._state is not None:
            self.show_state(*self._state)
        if self._whole.currentIndex() and self._has_sizes:
            self.card.show_card()

    @property
    def _has_sizes(self) -> bool:
        """The parts stand where they are shown; not so while others are made for another look."""
        return self._before is None and not self._draws_later

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Everything follows the window's size."""
        super().resizeEvent(event)
        self._remake(replace(self.look, width=self.width(), height=self.height()))
        self._again()

    # --- what is asked by keys and buttons ---

    def _pressed(self, what: str) -> Callable[[], None]:
        return lambda: self.do(what)

    def _stack_of(self, name: str) -> tuple[QStackedWidget, int]:
        names, stack = (PICTURES, self.pictures) if name in PICTURES else (PAGES, self.pages)
        return stack, names.index(name)

    def _place_of(self, name: str) -> tuple[QStackedWidget, int]:
        """Where a picture or a page stands; it is made where it was not asked for before."""
        stack, at = self._stack_of(name)
        if name in self._unmade:
            self._put(name)
        kept = self._kept.get(name)
        if kept is not None and kept.look is not self.look:
            kept.set_look(self.look)
        return stack, at

    def _put(self, name: str) -> None:
        """Makes it, in the place that is kept for it."""
        stack, at = self._stack_of(name)
        now, empty = stack.currentIndex(), stack.widget(at)
        stack.insertWidget(at, self._unmade.pop(name)())
        if empty is not None:
            stack.removeWidget(empty)
            empty.deleteLater()
        stack.setCurrentIndex(now)

    def prepare(self) -> None:
        """Makes what takes a while, one thing after the other so that nothing waits for both; its key then finds it there."""
        wanted = [name for name in SLOW if name in self._unmade]
        if wanted:
            self._put(wanted[0])
            self._make_next.start(MAKE_NEXT_MS)

    def turn_to(self, name: str) -> None:
        """A picture or a page by its name."""
        stack, at = self._place_of(name)
        stack.setCurrentIndex(at)
        if name in PICTURES:
            self.picture = name
        else:
            self.page = name
            if name != "what-if":
                self._if, self._what = None, WhatIf()
            shown = self.pages.currentWidget()
            if name == "trials":
                self.trials.list.setFocus()
            elif isinstance(shown, WhatIfPage):
                shown.first.setFocus()
            else:
                self.setFocus()

    def do(self, what: str) -> None:
        """One thing that a key or button asks for."""
        if what == "help":
            self._whole.setCurrentIndex(0 if self._whole.currentIndex() else 1)
        elif what == "stand":
            self._whole.setCurrentIndex(0)
            self._overlays = []
            self.trials.clear_laid()
            self.turn_to("lanes")
            self.turn_to("facts")
        elif what in PICTURES or what in PAGES:
            self._whole.setCurrentIndex(0)
            now = self.picture if what in PICTURES else self.page
            usual = "lanes" if what in PICTURES else "facts"
            self.turn_to(usual if now == what else what)
            self._ask_what_if()
        elif what == "dark":
            self._theme = "dark" if self._theme == "light" else "light"
            self._remake(replace(self.look, palette=PALETTES[self._theme]))
        elif what in ("larger", "smaller"):
            at = TEXT_STEPS.index(self.look.text) + (1 if what == "larger" else -1)
            self._remake(replace(self.look, text=TEXT_STEPS[min(max(at, 0), len(TEXT_STEPS) - 1)]))
        else:
            self.asked.emit(what)
        self._again()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """The keys of the card."""
        replay = self._state is not None and self._state[0].playback is not None
        key = Qt.Key(event.key())
        what = (REPLAY_QT_KEYS.get(key) if replay else None) or QT_KEYS.get(key)
        if what is None and self.page == "findings" and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.findings.turn(1 if key == Qt.Key.Key_Down else -1)
        elif what is not None:
            self.do(what)
        elif event.text():
            self.typed.emit(event.text().lower())
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  # Qt's own name
        """Keys are the window's again when it is come back to."""
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow() and self.focusWidget() is None:  # fmt: skip
            self.setFocus()
        super().changeEvent(event)

    # --- what is shown ---

    def show_state(self, state: LiveState, may_record: bool = True) -> None:
        """Draws a state; cheap where nothing changed. A trial that begins brings its own picture and the facts back."""
        self._state = (state, may_record)
        if not self._has_sizes:
            return
        if (state.playback is not None) != self._is_replay:
            self._is_replay = state.playback is not None
            self._remake(self.look, always=True)
            return
        if state.protocol is not None and state.protocol != self._protocol:
            self._whole.setCurrentIndex(0)
            self.turn_to("front" if state.protocol == "weight shift" else "lanes")
            self.turn_to("facts")
            self._overlays = []
        elif state.protocol is None and self._protocol == "weight shift" and self.picture == "front":
            self.turn_to("lanes")
        if (
            state.course == "standing up"
            and self._course != "standing up"
            and self.page in ("findings", "what-if")
        ):
            self.turn_to("facts")  # what the crutches carry must be seen now
        self._protocol, self._course = state.protocol, state.course
        if self.page == "what-if" and state.snapshot is not self._if_of:
            self._if_of = state.snapshot
            self._ask_what_if()
        self._show_picture(state)
        if self.page == "facts":
            self.facts.draw(state.shown, state.why_absent)
        elif self.page == "chart":
            self._show_chart(state)
        elif self.page == "set-up":
            self.set_up.draw(self.items_of(state))
        self.header.smallest_px = self._smallest_px()
        self.header.draw(state, may_record, self._at_once)

    def _smallest_px(self) -> int:
        """Of the facts that are to be read from afar: some had to be made smaller to fit."""
        if self._whole.currentIndex():
            return self.look.glance  # the card of keys covers them
        shown = [self.lanes] if self.picture == "lanes" else [self.front] if self.picture == "front" else []
        parts = [*shown, *([self.facts] if self.page == "facts" else [])]
        sizes = [size_of(one) for part in parts for one in part.picture if isinstance(one, Words) and one.px >= self.look.glance]  # fmt: skip
        return min(sizes, default=self.look.glance)

    def _show_picture(self, state: LiveState) -> None:
        snapshot = state.shown
        if self.picture == "front":
            self.front.draw(snapshot, asked_by(state.asked))
        elif self.picture == "area":
            area = cast("FloorView", self._kept["area"])
            area.set_stance(self._stance)
            area.show_snapshot(snapshot)
        elif self._if is not None:
            self.lanes.set_stance(self._if[0])
            doubtful = snapshot is None or state.why_absent is not None
            self.lanes.draw(
                snapshot if doubtful else self._if[1],
                None,
                state.troubled,
                (),
                state.why_absent,
                imagined=True,
            )
        else:
            self.lanes.set_stance(self._stance)
            newest = None if state.why_absent else state.point_mm
            self.lanes.draw(snapshot, newest, state.troubled, self._overlays, state.why_absent)

    def _show_chart(self, state: LiveState) -> None:
        newest = state.tail_s[-1] if len(state.tail_s) else 0.0
        if not abs(newest - self._charted_s) < 1 / CHARTS_PER_S:
            page = cast("ChartPage", self._kept["chart"])
            page.chart.show_tail(state.tail_s - newest, state.tail_n)
            self._charted_s = newest

    def say_at_once(self, sentence: str | None) -> None:
        """A sentence of the window's own in the place for what to do; None takes it away."""
        self._at_once = sentence
        self._again()

    def show_findings(self, told: Told) -> None:
        """Of a closed recording, beside the lanes until another page is asked for or a trial begins; an open list stays."""
        head, *rest = [told.line.split(" · ")[0], *told.lines[1:]] if told.lines else [told.line]
        lines = sorted(rest, key=lambda one: not one.strip().startswith(say("summary.body-begins")))
        self._findings = [head, *lines]
        self.findings.show_lines(self._findings)
        if self.page != "trials":
            self.turn_to("findings")
            self._again()

    def list_trial(self, told: Told) -> None:
        """One more trial in the list of the day."""
        self._told.append(told)
        self.trials.add(told)

    @property
    def listed(self) -> list[str]:
        """The lines of the list of the day."""
        return [told.line for told in self._told]

    def _lay(self, overlays: list[Overlay]) -> None:
        self._overlays = overlays
        self._again()

    # Made when first asked for, with the library that draws them: the first frame comes sooner.

    def _make_area(self) -> QWidget:
        from balance.window.floor_view import FloorView

        return self._kept.setdefault("area", FloorView())

    def _make_chart(self) -> QWidget:
        from balance.window.strip_chart import ChartPage

        return self._kept.setdefault("chart", ChartPage())

    def _ask_what_if(self) -> None:
        """What the sliders say, of the newest readings."""
        page = self.pages.currentWidget()
        if isinstance(page, WhatIfPage):
            self._what = page.what
            self.what_if.emit(page.what)

    def _make_what_if(self) -> QWidget:
        page = WhatIfPage(self.look, self._what)
        page.moved.connect(lambda _: self._ask_what_if())
        return page

    def show_if(self, stance: Stance, snapshot: Snapshot | None) -> None:
        """The lanes of another stance, and where the body line would be told to fall in it."""
        if self.page == "what-if":
            self._if = (stance, snapshot)
            self._draw_again.start(0)

    def set_stance(self, stance: Stance) -> None:
        """The places were confirmed anew."""
        self._stance = stance


def _style(look: Look) -> str:
    """Of the window's own controls."""
    c = look.palette
    return (
        f"QWidget#content {{ background: {c.paper}; }} QScrollArea, QScrollArea > QWidget > QWidget {{ background: {c.paper}; }}"
        f"QPushButton {{ color: {c.ink}; background: {c.paper}; border: 2px solid {c.rule}; border-radius: {round(look.px(6))}px; font-size: {look.below}px; padding: {round(look.px(4))}px {round(look.px(14))}px; }}"
        f"QSlider::groove:horizontal {{ height: {round(look.px(8))}px; background: {c.rule}; }} QSlider::handle:horizontal {{ background: {c.ink}; width: {round(look.px(22))}px; margin: -{round(look.px(11))}px 0; border-radius: {round(look.px(4))}px; }}"
        f"QPushButton:focus, QSlider:focus, QScrollArea:focus {{ border: {max(3, round(look.px(4)))}px solid {c.ink}; }}"
    )
