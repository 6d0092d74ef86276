"""The front picture: a mark on the line between the two shoes, and each side's load."""

from __future__ import annotations

import pyqtgraph as pg

from balance.findings_words import kg
from balance.reading import Snapshot
from balance.rig import SIDES
from balance.window import palette as p
from balance.window.marks import line, mark, pen, text
from balance.window.steady import Steady
from balance.words import say

ENDS = {"left": -50.0, "right": 50.0}  # points of share from the middle


class FrontView(pg.PlotWidget):  # type: ignore[misc]  # pyqtgraph ships no types
    """The share of both feet's load as a place between left and right, seen as the person faces the screen."""

    def __init__(self, scale: float = 1.0) -> None:
        super().__init__(background=p.PAPER)
        self.setAccessibleName(say("window.front"))
        self._steady = Steady()
        self.setMouseEnabled(False, False)
        self.setMenuEnabled(False)
        self.hideButtons()
        for axis in ("left", "bottom"):
            self.hideAxis(axis)
        self.setXRange(-64, 64, padding=0)
        self.setYRange(-40, 60, padding=0)
        self.addItem(line((-50, 0), (50, 0), pen(p.INK, 3)), ignoreBounds=True)
        for at in (-50, -25, 0, 25, 50):
            self.addItem(line((at, -3), (at, 3), pen(p.INK, 2)), ignoreBounds=True)
        self._texts: dict[str, pg.TextItem] = {}
        for side in SIDES:
            name = text(say(f"window.front-{side}"), p.QUIET, round(p.MIDDLE_PX * scale), (0.5, 0))
            name.setPos(ENDS[side], -6)
            outward = 0 if side == "left" else 1  # grows toward the middle, never out of the picture
            self._texts[side] = text("", p.INK, round(p.LARGE_PX * scale), (outward, 1), bold=True)
            self._texts[side].setPos(ENDS[side] * 1.2, 14)
            self.addItem(name)
            self.addItem(self._texts[side])
        self._mark = mark("diamond", 50, p.LINE, pen(p.INK, 2))
        self.addItem(self._mark, ignoreBounds=True)

    def show_snapshot(self, snapshot: Snapshot | None) -> None:
        """Moves the mark and the numbers."""
        share = snapshot.right_pct if snapshot else None
        self._mark.setVisible(share is not None)
        if snapshot is not None and share is not None:
            self._mark.setPos(share - 50, 0)
        for side in SIDES:
            load = snapshot.load_n.get(side) if snapshot else None
            words = "" if load is None else say("window.kg", kg=self._steady(side, kg(load)))
            if snapshot is not None and load is not None and snapshot.body_weight_n:
                share_text = say(
                    "window.pct", pct=self._steady(f"{side} %", 100 * load / snapshot.body_weight_n)
                )
                words = f"{words} · {share_text}"
            self._texts[side].setText(words)
