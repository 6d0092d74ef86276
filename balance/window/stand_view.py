"""The window: who, link and what to do above; the two lanes, always at the same place; facts or another page beside them; keys below."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from balance.findings_words import Told
from balance.live_state import LiveState
from balance.protocols.asked import asked_by
from balance.reading import Snapshot
from balance.set_up import Item
from balance.stance import Stance
from balance.what_if import WhatIf
from balance.window.drawing import Words, size_of
from balance.window.keys import asked_by_key
from balance.window.lane import Overlay
from balance.window.look import TEXT_STEPS, Look
from balance.window.palette import PALETTES
from balance.window.parts import PAGES, PICTURES, SLOW, Charts, Parts
from balance.window.what_if_page import WhatIfPage
from balance.words import say

CHARTS_PER_S = 20  # the chart moves 3 pixels in that time
MAKE_NEXT_MS = 40


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
        self._charted_s = math.inf
        self.picture, self.page = "lanes", "facts"
        self._draw_again = self._later(self._again)
        self._ask_soon = self._later(self._ask_what_if)
        self._make_next = self._later(self.prepare)
        self._charts = Charts()
        self._frame = QVBoxLayout(self)
        self._frame.setContentsMargins(0, 0, 0, 0)
        self._before: Parts | None = None  # what is shown until its successor is ready
        self._is_swapping = False
        self._remaking: Iterator[None] = iter(())
        self._next_step = self._later(self._take_step)
        self.parts = self._made()
        self._frame.addWidget(self.parts)

    def _later(self, what: Callable[[], None]) -> QTimer:
        """Does it once, so many milliseconds after each ``start``."""
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.timeout.connect(what)
        return timer

    # --- made anew when size, colours or text change ---

    def _made(self) -> Parts:
        """All parts for the present look."""
        self.parts = Parts(
            self, self.look, self._stance, self._braced, self._charts, is_replay=self._is_replay
        )
        self.parts.resized.connect(self._again)
        self.parts.asked.connect(self.do)
        self.parts.trials.overlaid.connect(self._lay)
        for name in (self.picture, self.page):
            if self._charts.made(name) is not None:
                self.parts.leave_blank(name)
            else:
                self.turn_to(name)
        return self.parts

    def _remake(self, look: Look, *, always: bool = False) -> None:
        """Step by step, so that what comes between does not wait for all of it."""
        if look == self.look and not always:
            return
        self.look = look
        self._remaking = self._remade()
        if self.isVisible():
            self._next_step.start(0)
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
        """The parts are made, told what was told before, drawn, and come to the place of those before, which show the readings until then; then the charts get their look."""
        on_card = self.parts.on_card
        if self._before is not None:
            self._before.take_charts()
            self.parts.deleteLater()  # they were never shown
        before = self._before = self._before or self.parts
        self._made()
        self.parts.show_card(on_card)
        yield
        self._list_told()
        self.parts.findings.show_lines(self._findings)
        yield
        self.parts.lay_out_hidden(self.size())
        self._draw(self.parts)
        yield
        self.parts.paint_still()
        yield
        self.parts.measure()
        yield
        self._swap(before)
        for name in SLOW:
            yield
            self.parts.dress(name)
            yield
            if name in (self.picture, self.page):
                self.parts.turn_to(name)

    def _swap(self, before: Parts) -> None:
        focused = self.focusWidget() in (None, self) or before.isAncestorOf(self.focusWidget())
        self._before, self._is_swapping = None, True  # each part is told its size now: drawn once, after the last  # fmt: skip
        self.parts.trials.be_as(before.trials)
        if not self._overlays:
            self._lay_none()  # they were taken away in the meantime
        self.parts.take_charts()
        before.hide()
        self._frame.removeWidget(before)
        before.deleteLater()
        self._frame.addWidget(self.parts)
        if self.isVisible():
            self.parts.show()
        if focused:
            self._focus()
        self._charted_s, self._is_swapping = math.inf, False
        self._again()

    def _again(self) -> None:
        """The newest state once more: after another size, page or colour."""
        if self._state is not None:
            self.show_state(*self._state)
        if self._before is None and not self._is_swapping and self.parts.on_card:
            self.parts.card.show_card()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Everything follows the window's size."""
        super().resizeEvent(event)
        self._remake(replace(self.look, width=self.width(), height=self.height()))
        self._again()

    # --- what is asked by keys and buttons ---

    def prepare(self) -> None:
        """Makes what takes a while, one thing after the other so that nothing waits for both; its key then finds it there."""
        if any(self.parts.prepare(name) for name in SLOW):
            self._make_next.start(MAKE_NEXT_MS)

    def turn_to(self, name: str) -> None:
        """A picture or a page by its name."""
        if name == "what-if" and self.parts.what_if is None:
            page = WhatIfPage(self.look, self._what)
            page.moved.connect(lambda _: self._ask_what_if())
            self.parts.put_what_if(page)
        self.parts.turn_to(name)
        if name in PICTURES:
            self.picture = name
            return
        self.page = name
        if name != "what-if":
            self._if, self._what = None, WhatIf()
        self._focus()

    def _focus(self) -> None:
        """Keys go to a list or sliders while they are shown, else to the window."""
        if self.page == "trials":
            self.parts.trials.list.setFocus()
        elif self.page == "what-if" and self.parts.what_if is not None:
            self.parts.what_if.first.setFocus()
        else:
            self.setFocus()

    def do(self, what: str) -> None:
        """One thing that a key or button asks for."""
        if what == "help":
            self.parts.show_card(not self.parts.on_card)
        elif what == "stand":
            self.parts.show_card(False)
            self._lay_none()
            self.turn_to("lanes")
            self.turn_to("facts")
        elif what in PICTURES or what in PAGES:
            self.parts.show_card(False)
            now = self.picture if what in PICTURES else self.page
            usual = "lanes" if what in PICTURES else "facts"
            self.turn_to(usual if now == what else what)
            if self.page == "what-if":
                self._ask_soon.start(0)  # after the key has returned: what came with it waits less
                return
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
        what = asked_by_key(key, is_replay=replay)
        if what is None and self.page == "findings" and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.parts.findings.turn(1 if key == Qt.Key.Key_Down else -1)
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
        if self._is_swapping:
            return
        if self._before is not None:
            self._draw(self._before)
            return
        if (state.playback is not None) != self._is_replay:
            self._is_replay = state.playback is not None
            self._remake(self.look, always=True)
            return
        if state.protocol is not None and state.protocol != self._protocol:
            self.parts.show_card(False)
            self.turn_to("front" if state.protocol == "weight shift" else "lanes")
            self.turn_to("facts")
            self._lay_none()
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
        self._draw(self.parts)

    def _draw(self, parts: Parts) -> None:
        """The newest state on these parts; the card of keys, which no state changes, only before they are first shown."""
        if self._state is not None:
            state, may_record = self._state
            self._show_picture(parts, state)
            if self.page == "facts":
                parts.facts.draw(state.shown, state.why_absent)
            elif self.page == "chart":
                self._show_chart(state)
            elif self.page == "set-up":
                parts.set_up.draw(self.items_of(state))
            parts.header.smallest_px = self._smallest_px(parts)
            parts.header.draw(state, may_record, self._at_once)
        if parts.on_card and not parts.isVisible():
            parts.card.show_card()

    def _smallest_px(self, parts: Parts) -> int:
        """Of the facts that are to be read from afar: some had to be made smaller to fit."""
        glance = parts.look.glance
        if parts.on_card:
            return glance  # it covers them
        shown = [parts.lanes] if self.picture == "lanes" else [parts.front] if self.picture == "front" else []
        facts = [parts.facts] if self.page == "facts" else []
        sizes = [size_of(one) for part in (*shown, *facts) for one in part.picture if isinstance(one, Words) and one.px >= glance]  # fmt: skip
        return min(sizes, default=glance)

    def _show_picture(self, parts: Parts, state: LiveState) -> None:
        snapshot = state.shown
        if self.picture == "front":
            parts.front.draw(snapshot, asked_by(state.asked))
        elif self.picture == "area":
            if self._charts.area is not None:
                self._charts.area.set_stance(self._stance)
                self._charts.area.show_snapshot(snapshot)
        elif self._if is not None:
            parts.lanes.set_stance(self._if[0])
            doubtful = snapshot is None or state.why_absent is not None
            parts.lanes.draw(
                snapshot if doubtful else self._if[1],
                None,
                state.troubled,
                (),
                state.why_absent,
                imagined=True,
            )
        else:
            parts.lanes.set_stance(self._stance)
            newest = None if state.why_absent else state.point_mm
            parts.lanes.draw(snapshot, newest, state.troubled, self._overlays, state.why_absent)

    def _show_chart(self, state: LiveState) -> None:
        newest = state.tail_s[-1] if len(state.tail_s) else 0.0
        if self._charts.chart is not None and not abs(newest - self._charted_s) < 1 / CHARTS_PER_S:
            self._charts.chart.chart.show_tail(state.tail_s - newest, state.tail_n)
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
        self.parts.findings.show_lines(self._findings)
        if self.page != "trials":
            self.turn_to("findings")
            self._again()

    def list_trial(self, told: Told) -> None:
        """One more trial in the list of the day."""
        self._told.append(told)
        self._list_told()

    def _list_told(self) -> None:
        """Those that the list does not show yet."""
        self.parts.trials.add(*self._told[len(self.parts.trials.told) :])

    @property
    def listed(self) -> list[str]:
        """The lines of the list of the day."""
        return [told.line for told in self._told]

    def _lay(self, overlays: list[Overlay]) -> None:
        self._overlays = overlays
        self._again()

    def _lay_none(self) -> None:
        self._overlays = []
        self.parts.trials.clear_laid()

    def _ask_what_if(self) -> None:
        """What the sliders say, of the newest readings."""
        if self.page == "what-if" and self.parts.what_if is not None:
            self._what = self.parts.what_if.what
            self.what_if.emit(self._what)

    def show_if(self, stance: Stance, snapshot: Snapshot | None) -> None:
        """The lanes of another stance, and where the body line would be told to fall in it."""
        if self.page == "what-if":
            self._if = (stance, snapshot)
            self._draw_again.start(0)

    def set_stance(self, stance: Stance) -> None:
        """The places were confirmed anew."""
        self._stance = stance
