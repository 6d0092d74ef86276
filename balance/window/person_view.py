"""The view of the person who stands: blank while being measured at rest; in a shift or a lean one task, one mark, one target."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent

from balance.live_state import LiveState
from balance.protocols.asked import Asked, asked_by, target_share_pct
from balance.reading import Snapshot
from balance.window.drawing import Box, Fill, Shape, Stroke, Words
from balance.window.front import bracket, mark, shoe_from_front
from balance.window.lane import sole
from balance.window.look import Look
from balance.window.painted import Painted
from balance.window.steady import Steady
from balance.words import say

NEAR, FAR = 0.14, 0.86  # of the width: where the two shoes stand
LEAN_FROM_PCT = 200 / 3  # of the usable length: where 'forward' begins on the sole; tool default
EASY = ("weight shift", "lean")  # whoever is measured at rest sees no moving mark


class PersonView(Painted):
    """A window of its own. ``typed`` passes its keys on; mirrored: left and right exchanged."""

    typed = Signal(QKeyEvent)

    def __init__(self, look: Look) -> None:
        super().__init__(say("person.name"), look)
        self.setWindowTitle(say("person.name"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._steady, self.mirrored = Steady(), False
        self.covers = False  # the clinician's window is behind it
        self._state: LiveState | None = None

    def show_state(self, state: LiveState) -> None:
        """Draws what the person may see of it."""
        self._state = state
        self.show_picture(tuple(self._shapes(state)))

    def _shapes(self, state: LiveState) -> Iterator[Shape]:
        if self.covers:
            w, h, px = float(self.width()), float(self.height()), self.look.small
            back = Box(0.02 * w, h - 2.2 * px, 0.96 * w, 1.6 * px)
            yield Words(say("person.back"), back, px, self.look.palette.quiet, align="right", name="back")
        if state.protocol not in EASY or state.link != "ok":
            return
        asked = asked_by(state.asked)
        words = say("person.stand")
        if asked is not None and asked.kind == "shift":
            words = say("person.shift", side=asked.side)
        elif asked is not None and asked.kind == "lean":
            words = say("person.lean-back" if asked.words.endswith("back") else "person.lean")
        w, h, look = float(self.width()), float(self.height()), self.look
        task = Box(0.04 * w, 0.06 * h, 0.92 * w, 0.24 * h)
        yield Words(words, task, round(0.1 * h), look.palette.ink, bold=True, align="centre", wraps=True, name="task")  # fmt: skip
        picture = self._shift if state.protocol == "weight shift" else self._lean
        yield from picture(state.shown, asked)

    def _x(self, part: float) -> float:
        return self.width() * (1 - part if self.mirrored else part)

    def _shift(self, snapshot: Snapshot | None, asked: Asked | None) -> Iterator[Shape]:
        look, h, y = self.look, float(self.height()), 0.62 * self.height()
        colours, r = look.palette, 0.07 * h
        yield Stroke(((self._x(NEAR), y), (self._x(FAR), y)), colours.ink, max(3.0, 0.006 * h))
        share = target_share_pct(asked, snapshot)
        if asked is not None and share is not None:
            edge = self._place(self._steady("target", share))
            yield from bracket(look, edge, self._place(0.0 if asked.side == "left" else 100.0), y, 1.4 * r)
        for part in (NEAR, FAR):
            yield Fill(shoe_from_front(self._x(part), y + 0.24 * h, 0.1 * h), colours.sole, colours.ink, max(3.0, 0.006 * h))  # fmt: skip
        if snapshot is not None and snapshot.right_pct is not None:
            yield mark(look, self._place(snapshot.right_pct), y, r)

    def _place(self, right_pct: float) -> float:
        return self._x(NEAR + right_pct / 100 * (FAR - NEAR))

    def _lean(self, snapshot: Snapshot | None, asked: Asked | None) -> Iterator[Shape]:
        look, h, y = self.look, float(self.height()), 0.74 * self.height()
        colours, r = look.palette, 0.07 * h
        heel, end = self._x(0.22), self._x(0.72)
        yield Fill(sole(heel, end, y, 0.14 * h), colours.sole, colours.ink, max(3.0, 0.006 * h))
        line = y - 0.24 * h
        yield Stroke(((heel, line), (end, line)), colours.ink, max(3.0, 0.006 * h))
        if asked is not None and asked.kind == "lean" and not asked.words.endswith("back"):
            edge = heel + LEAN_FROM_PCT / 100 * (end - heel)
            yield from bracket(look, edge, end, line, 1.3 * r)
        at = None if snapshot is None else snapshot.lines.get("feet")
        if at is not None:
            part = min(max(at.position_pct, -20.0), 120.0) / 100
            yield mark(look, heel + part * (end - heel), line, r)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Everything follows the window's size."""
        self.set_look(replace(self.look, width=self.width(), height=self.height()))
        if self._state is not None:
            self.show_state(self._state)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """Keys are the clinician's, whichever window has them."""
        self.typed.emit(event)
