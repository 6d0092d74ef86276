"""Plain Qt items for the pictures: pens, lines, texts, and marks that keep their size in pixels. Cheap to move and to paint."""

from __future__ import annotations

from typing import Literal

import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QGraphicsLineItem, QGraphicsPathItem

Shape = Literal["triangle", "disc", "diamond", "cross"]
CORNERS: dict[str, list[tuple[float, float]]] = {  # of half the size, y downward as pixels go
    "triangle": [(0, -1), (1, 1), (-1, 1)],
    "diamond": [(0, -1), (0.8, 0), (0, 1), (-0.8, 0)],
}


def pen(colour: str, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """A pen of so many pixels, whatever the picture's scale."""
    made = QPen(QColor(colour))
    made.setWidthF(width)
    made.setStyle(style)
    made.setCosmetic(True)
    return made


def text(
    words: str, colour: str, pixels: int, anchor: tuple[float, float], bold: bool = False
) -> pg.TextItem:
    """A text that stands at a place of the picture; anchor: which of its corners, (0, 0) the upper left."""
    item = pg.TextItem(words, color=colour, anchor=anchor)
    font = QFont()
    font.setPixelSize(pixels)
    font.setBold(bold)
    item.setFont(font)
    return item


def line(start: tuple[float, float], end: tuple[float, float], with_pen: QPen) -> QGraphicsLineItem:
    """A line in the picture's own units."""
    item = QGraphicsLineItem(*start, *end)
    item.setPen(with_pen)
    return item


def mark(shape: Shape, size: float, colour: str, edge: QPen | None = None) -> QGraphicsPathItem:
    """A mark of so many pixels; ``setPos`` moves it."""
    path, half = QPainterPath(), size / 2
    if shape == "disc":
        path.addEllipse(QPointF(0, 0), half, half)
    elif shape == "cross":
        for x, y in ((half, 0.0), (0.0, half)):
            path.moveTo(-x, -y)
            path.lineTo(x, y)
    else:
        path.addPolygon(QPolygonF([QPointF(x * half, y * half) for x, y in CORNERS[shape]]))
        path.closeSubpath()
    item = QGraphicsPathItem(path)
    item.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
    item.setPen(edge or (pen(colour, 4) if shape == "cross" else QPen(Qt.PenStyle.NoPen)))
    if shape != "cross":
        item.setBrush(QBrush(QColor(colour)))
    return item
