"""The two lanes: each shoe's sole in profile on the plates' scale, band, body line, foot point, crutch tip."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem, QGraphicsRectItem

from balance.findings_words import kg
from balance.load_line import FootFrame
from balance.reading import Snapshot
from balance.rig import SIDES, Side
from balance.stance import Stance
from balance.window import palette as p
from balance.window.marks import line, mark, pen, text
from balance.window.steady import Steady
from balance.words import say

LANE_Y = {"left": 150.0, "right": 0.0}  # where each sole stands, in the picture's own units
VIEW_AP_MM = (-130.0, 480.0)
SOLE_HEIGHT = 34.0
UPRIGHT = 66.0  # the body line's height in a lane: short, the lane's own
MARGIN_BELOW = 60.0


class LanesView(pg.PlotWidget):  # type: ignore[misc]  # pyqtgraph ships no types
    """Items are made once; ``show_snapshot`` and ``move_to`` only move them."""

    def __init__(self, stance: Stance, braced: set[str], scale: float = 1.0) -> None:
        super().__init__(background=p.PAPER)
        self._middle_px, self._small_px = round(p.MIDDLE_PX * scale), round(p.SMALL_PX * scale)
        self.setAccessibleName(say("window.lanes"))
        self._stance, self._steady = stance, Steady()
        self.setMouseEnabled(False, False)
        self.setMenuEnabled(False)
        self.hideButtons()
        self.hideAxis("left")
        axis = self.getAxis("bottom")
        axis.setPen(pen(p.QUIET, 1))
        axis.setTextPen(p.QUIET)
        axis.setLabel(say("window.area-forward"), color=p.QUIET)
        font = QFont()
        font.setPixelSize(self._small_px)
        axis.setTickFont(font)
        self.setXRange(*VIEW_AP_MM, padding=0)
        self.setYRange(-MARGIN_BELOW, LANE_Y["left"] + UPRIGHT + 44, padding=0)
        self._soles: dict[Side, QGraphicsPathItem] = {}
        self._bands: dict[Side, tuple[QGraphicsRectItem, QGraphicsRectItem]] = {}
        self._edges: dict[Side, tuple[QGraphicsItem, QGraphicsItem]] = {}
        self._lines: dict[Side, QGraphicsRectItem] = {}
        self._widths: dict[Side, QGraphicsRectItem] = {}
        self._foot: dict[Side, QGraphicsPathItem] = {}
        self._foot_text: dict[Side, pg.TextItem] = {}
        self._tip: dict[Side, QGraphicsPathItem] = {}
        self._tip_text: dict[Side, pg.TextItem] = {}
        for side in SIDES:
            self._lane(side, side in braced)
        self._scale_text = text("", p.LINE, self._middle_px, (0.5, 1), bold=True)
        self._scale_text.setPos(0, -MARGIN_BELOW + 2)
        self._scale_mark = mark("triangle", 18, p.LINE)
        for item in (self._scale_mark, self._scale_text):
            self._add(item)

    def _add(self, item: QGraphicsItem) -> None:
        self.addItem(item, ignoreBounds=True)

    def _lane(self, side: Side, braced: bool) -> None:
        y = LANE_Y[side]
        self._add(line((VIEW_AP_MM[0], y), (VIEW_AP_MM[1], y), pen(p.RULE, 2)))
        self._widths[side] = QGraphicsRectItem()
        self._widths[side].setPen(QPen(Qt.PenStyle.NoPen))
        tint = QColor(p.LINE)
        tint.setAlpha(48)
        self._widths[side].setBrush(QBrush(tint))
        self._soles[side] = QGraphicsPathItem()
        self._soles[side].setPen(pen(p.INK, 2.5))
        self._soles[side].setBrush(QBrush(QColor(p.SOLE)))
        self._add(self._soles[side])
        band, hatch = QGraphicsRectItem(), QGraphicsRectItem()
        band.setPen(pen(p.BAND_EDGE, 2))
        band.setBrush(QBrush(QColor(p.BAND_FILL)))
        hatch.setPen(QPen(Qt.PenStyle.NoPen))
        hatch.setBrush(QBrush(QColor(p.BAND_EDGE), Qt.BrushStyle.BDiagPattern))
        self._bands[side] = (band, hatch)
        for part in (band, hatch, self._widths[side]):
            self._add(part)
        self._edges[side] = (line((0, y - 6), (0, y + SOLE_HEIGHT + 8), pen(p.INK, 3)), line((0, y - 6), (0, y + SOLE_HEIGHT + 8), pen(p.INK, 3)))  # fmt: skip
        for edge in self._edges[side]:
            self._add(edge)
        self._shape(side)
        name = text(
            say("window.shoe-braced" if braced else "window.shoe", side=side),
            p.INK,
            self._middle_px,
            (0, 1),
            bold=True,
        )
        name.setPos(VIEW_AP_MM[0] + 4, y + SOLE_HEIGHT + 42)
        self._lines[side] = QGraphicsRectItem(-1.2, 0, 2.4, UPRIGHT)
        self._lines[side].setPen(QPen(Qt.PenStyle.NoPen))
        self._lines[side].setBrush(QBrush(QColor(p.LINE)))
        self._foot[side] = mark("triangle", 20, p.INK)
        self._foot_text[side] = text(say("window.foot-point"), p.QUIET, self._small_px, (0, 0.5))
        self._tip[side] = mark("disc", 22, p.HANDS)
        self._tip_text[side] = text("", p.HANDS, self._middle_px, (0.5, 1), bold=True)
        for item in (
            name,
            self._lines[side],
            self._foot[side],
            self._foot_text[side],
            self._tip[side],
            self._tip_text[side],
        ):
            self._add(item)

    def _shape(self, side: Side) -> None:
        """Sole, band and edges where the stance has them."""
        foot, frame, y = self._stance.foot(side), FootFrame.of(self._stance, side), LANE_Y[side]
        heel, cosine = frame.heel_mm[0], frame.along[0]
        end = heel + foot.usable_length_mm * cosine
        self._soles[side].setPath(_sole(heel, end, y))
        low, high = (heel + part * foot.usable_length_mm * cosine for part in self._stance.band)
        for part in self._bands[side]:
            part.setRect(low, y + 2, high - low, SOLE_HEIGHT - 8)
        for item, at in zip(self._edges[side], (heel, end), strict=True):
            item.setPos(at, 0)

    def set_stance(self, stance: Stance) -> None:
        """Another stance in the same picture."""
        self._stance = stance
        for side in SIDES:
            self._shape(side)

    def show_snapshot(self, snapshot: Snapshot | None) -> None:
        """Widths, tips and texts; hides what is absent. About ten times a second."""
        body = snapshot.point_mm.get("body") if snapshot else None
        for side in SIDES:
            self._show_side(side, snapshot, body)
        self._scale_mark.setVisible(body is not None)
        self._scale_text.setVisible(body is not None)
        if body is not None:
            self._scale_text.setText(f"{self._steady('scale', body[0])}")
            self._scale_text.setPos(body[0], -MARGIN_BELOW + 6)
        if snapshot is not None:
            self.move_to(snapshot.point_mm)

    def move_to(self, point_mm: dict[str, tuple[float, float]]) -> None:
        """The newest sample's points (AP, ML) of 'left', 'right', 'body': moves what stands there, as often as asked."""
        for side in SIDES:
            if side in point_mm:
                self._foot[side].setPos(point_mm[side][0], LANE_Y[side] - 13)
            if "body" in point_mm:
                self._lines[side].setPos(point_mm["body"][0], LANE_Y[side] - 4)
        if "body" in point_mm:
            self._scale_mark.setPos(point_mm["body"][0], -MARGIN_BELOW + 1)

    def _show_side(self, side: Side, snapshot: Snapshot | None, body: tuple[float, float] | None) -> None:
        y = LANE_Y[side]
        place = snapshot.lines.get(f"body_on_{side}") if snapshot else None
        seen = body is not None and place is not None
        self._lines[side].setVisible(seen)
        self._widths[side].setVisible(seen)
        if body is not None and place is not None:
            half = 2 * place.uncertainty_mm
            self._widths[side].setRect(body[0] - half, y - 4, 2 * half, UPRIGHT)
        foot = snapshot.point_mm.get(side) if snapshot else None
        self._foot[side].setVisible(foot is not None)
        self._foot_text[side].setVisible(foot is not None)
        if foot is not None:
            self._foot_text[side].setPos(foot[0] + 10, y - 14)
        tip = snapshot.tips_mm.get(f"{side}_crutch") if snapshot else None
        load = snapshot.load_n.get(f"{side}_crutch") if snapshot else None
        self._tip[side].setVisible(tip is not None)
        self._tip_text[side].setVisible(tip is not None and load is not None)
        if tip is not None:
            self._tip[side].setPos(tip[0], y + 5)
            if load is not None:
                self._tip_text[side].setText(say("window.kg", kg=self._steady(f"tip {side}", kg(load))))
                self._tip_text[side].setPos(tip[0], y + 16)


def _sole(heel: float, end: float, y: float) -> QPainterPath:
    """A shoe's sole from the side: flat from heel edge to rocker line, rising ahead of it."""
    path = QPainterPath()
    path.moveTo(heel, y)
    path.lineTo(end, y)
    path.quadTo(end + 44, y + 2, end + 52, y + 22)
    path.lineTo(end + 40, y + SOLE_HEIGHT)
    path.quadTo(end - 10, y + SOLE_HEIGHT - 8, heel + 4, y + SOLE_HEIGHT)
    path.quadTo(heel - 7, y + SOLE_HEIGHT / 2, heel, y)
    return path
