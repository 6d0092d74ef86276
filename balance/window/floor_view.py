"""The floor from above: the feet's support, the support with the crutch tips, and where the body line falls."""

from __future__ import annotations

from collections import deque

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QGraphicsSimpleTextItem

from balance.reading import Snapshot
from balance.rig import SIDES
from balance.stance import Stance
from balance.support import hull_mm, usable_support_mm
from balance.window.look import Look
from balance.window.marks import cross, pen, recolour, write_at, written
from balance.window.plot import Plot
from balance.words import say

TIPS = ("left_crutch", "right_crutch")
TRAIL = 50  # of ten a second: where the body line went in the last 5 s


class FloorView(Plot):
    """AP upward, ML to the right, as seen by someone behind the person."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(say("window.area"))
        self._title = pg.LabelItem()
        self.grid.addItem(self._title, 0, 1)
        self.plane.setAspectLocked(True)
        self.plane.setRange(xRange=(-450, 450), yRange=(-140, 480), padding=0)
        self._soles = {side: pg.PlotCurveItem() for side in SIDES}
        self._names: dict[str, QGraphicsSimpleTextItem] = {
            side: written(say("window.shoe", side=side)) for side in SIDES
        }
        self._names |= {tip: written(say(f"part.{tip}")) for tip in TIPS}
        self._names["body"] = written(say("window.body-line"))
        for sole in self._soles.values():
            self.plane.addItem(sole)
        for name in self._names.values():
            self.plane.addItem(name, ignoreBounds=True)
        self._stance: Stance | None = None
        self.look: Look | None = None  # told before it is shown
        self._feet, self._all, self._trail = (
            pg.PlotCurveItem(),
            pg.PlotCurveItem(),
            pg.PlotCurveItem(antialias=False),
        )
        self._tips = pg.ScatterPlotItem(symbol="o", size=18, pen=None)
        self._body = cross(30, "black")
        for item in (self._all, self._feet, self._trail, self._tips):
            self.plane.addItem(item)
        self.plane.addItem(self._body, ignoreBounds=True)
        self._went: deque[tuple[float, float]] = deque(maxlen=TRAIL)

    def set_look(self, look: Look) -> None:
        """Other colours, another size of text."""
        self.look = look
        p, font = look.palette, QFont()
        font.setPixelSize(look.small)
        self.set_axes_look(look, look.small)
        self._title.setText(say("window.area-title"), color=p.quiet, size=f"{look.font(24)}px")
        for axis, label in ((self.bottom, "window.area-right"), (self.left, "window.area-forward")):
            axis.setLabel(say(label), **{"color": p.quiet, "font-size": f"{look.small}px"})
        for sole in self._soles.values():
            sole.setPen(pen(p.ink, 2))
        self._feet.setPen(pen(p.band_edge, 3))
        self._all.setPen(pen(p.hands, 2, Qt.PenStyle.DashLine))
        self._trail.setPen(pen(p.line, 1))
        self._tips.setBrush(p.hands)
        recolour(self._body, p.line)
        for name, words in self._names.items():
            colour = p.line if name == "body" else p.hands if name in TIPS else p.ink
            write_at(words, font, colour, look.small * (-1.2 if name in TIPS else 1.4))

    def set_stance(self, stance: Stance) -> None:
        """Where the soles stand."""
        if stance is self._stance:
            return
        self._stance = stance
        for side, sole in self._soles.items():
            corners = usable_support_mm(stance, side)
            closed = np.vstack([corners, corners[:1]])
            sole.setData(closed[:, 1], closed[:, 0])
            self._names[side].setPos(float(corners[:, 1].mean()), float(corners[:, 0].min()))

    def show_snapshot(self, snapshot: Snapshot | None) -> None:
        """Draws hulls, tips and the body line's place."""
        hull = snapshot.support_mm if snapshot is not None else np.zeros((0, 2))
        tips = (
            np.array(list(snapshot.tips_mm.values())) if snapshot and snapshot.tips_mm else np.zeros((0, 2))
        )
        whole = hull_mm(np.vstack([hull, tips])) if len(hull) and len(tips) else hull
        for item, corners in ((self._feet, hull), (self._all, whole)):
            closed = np.vstack([corners, corners[:1]]) if len(corners) else np.zeros((0, 2))
            item.setData(closed[:, 1], closed[:, 0])
        self._tips.setData(tips[:, 1], tips[:, 0])
        for tip in TIPS:
            at = snapshot.tips_mm.get(tip) if snapshot else None
            self._names[tip].setVisible(at is not None)
            if at is not None:
                self._names[tip].setPos(at[1], at[0])
        body = snapshot.point_mm.get("body") if snapshot else None
        self._names["body"].setVisible(body is not None)
        self._body.setVisible(body is not None)
        if body is None:
            self._went.clear()
        else:
            self._went.append((body[1], body[0]))
            self.move_to({"body": body})
        trail = np.array(self._went).reshape(-1, 2)
        self._trail.setData(trail[:, 0], trail[:, 1])

    def move_to(self, point_mm: dict[str, tuple[float, float]]) -> None:
        """The newest sample's points; only the body line's stands here."""
        if "body" in point_mm:
            for item in (self._body, self._names["body"]):
                item.setPos(point_mm["body"][1], point_mm["body"][0])
