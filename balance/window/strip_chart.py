"""Loads over the last 20 s: fixed time axis, thin pens without antialias, own min/max decimation."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyqtgraph as pg
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from balance.findings_words import GRAVITY
from balance.reading import PARTS
from balance.window.look import Look
from balance.window.marks import pen
from balance.window.pages import style
from balance.window.plot import Plot
from balance.words import say

Array = npt.NDArray[np.float64]

BUCKETS = 600  # twice as many points are drawn at the most
STYLES = {"right": pg.QtCore.Qt.PenStyle.DashLine, "right_crutch": pg.QtCore.Qt.PenStyle.DashLine}


def decimate(t: Array, x: Array, buckets: int = BUCKETS) -> tuple[Array, Array]:
    """Least and largest value of each bucket: no peak is lost, whatever the rate."""
    size = -(-len(x) // buckets)
    if size < 2:
        return t, x
    buckets = len(x) // size
    n = size * buckets  # the newest; less than one bucket of the oldest is left out
    parts = x[-n:].reshape(buckets, size)
    out = np.stack([parts.min(axis=1), parts.max(axis=1)], axis=1).ravel()
    return np.repeat(t[-n:].reshape(buckets, size)[:, -1], 2), out


class StripChart(Plot):
    """One curve a part; made once, fed with arrays."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(say("window.chart"))
        self.plane.setRange(xRange=(-20, 0), yRange=(0, 80), padding=0)
        self._top = 80.0
        self._curves = {part: pg.PlotCurveItem(antialias=False) for part in PARTS}
        for curve in self._curves.values():
            self.plane.addItem(curve)

    def set_look(self, look: Look) -> None:
        """Other colours, another size of text."""
        p, font_px = look.palette, look.font(18)
        self.set_axes_look(look, font_px)
        self.bottom.setLabel("s", **{"color": p.quiet, "font-size": f"{font_px}px"})
        self.left.setWidth(font_px * 3)
        above_px = font_px // 2 + 2  # half of the highest number stands above its tick
        self.grid.setContentsMargins(0, above_px, font_px, 0)
        for part, curve in self._curves.items():
            style = STYLES.get(part, pg.QtCore.Qt.PenStyle.SolidLine)
            curve.setPen(pen(p.hands if part.endswith("crutch") else p.line, 1, style))

    def show_tail(self, t_s: Array, loads_n: dict[str, Array]) -> None:
        """t_s (n,) with the newest at 0; loads in newtons by part."""
        largest = 0.0
        for part, curve in self._curves.items():
            if part in loads_n and len(t_s):
                t, x = decimate(t_s, loads_n[part] / GRAVITY)
                largest = max(largest, float(x.max()))
                curve.setData(t, x)
        if largest > self._top or largest < self._top / 3:
            self._top = max(20.0, np.ceil(largest * 1.25 / 20) * 20)
            self.plane.setYRange(0, self._top, padding=0)


class ChartPage(QWidget):
    """Loads over the last 20 s."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(say("window.chart"))
        self.look: Look | None = None  # told before it is shown
        self._title, self.chart = QLabel(say("window.chart")), StripChart()
        self._title.setWordWrap(True)
        self._box = QVBoxLayout(self)
        self._box.addWidget(self._title)
        self._box.addWidget(self.chart, 1)

    def set_look(self, look: Look) -> None:
        """Other colours, another size of text."""
        self.look = look
        self._title.setStyleSheet(style(look, 22, quiet=True))
        self._box.setContentsMargins(round(look.px(20)), 0, 0, 0)
        self.chart.set_look(look)
