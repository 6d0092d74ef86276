"""Plain Qt items for the pictures that a chart library draws: pens, and a cross that keeps its size in pixels."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem


def pen(colour: str, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """A pen of so many pixels, whatever the picture's scale."""
    made = QPen(QColor(colour))
    made.setWidthF(width)
    made.setStyle(style)
    made.setCosmetic(True)
    return made


def cross(size: float, colour: str) -> QGraphicsPathItem:
    """A cross of so many pixels; ``setPos`` moves it."""
    path, half = QPainterPath(), size / 2
    for x, y in ((half, 0.0), (0.0, half)):
        path.moveTo(-x, -y)
        path.lineTo(x, y)
    item = QGraphicsPathItem(path)
    item.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
    recolour(item, colour)
    return item


def recolour(cross: QGraphicsPathItem, colour: str) -> None:
    cross.setPen(pen(colour, 4))
