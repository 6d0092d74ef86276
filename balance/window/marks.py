"""Plain Qt items for the pictures that a chart library draws: pens, and a cross that keeps its size in pixels."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPainterPath, QPen, QTransform
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem, QGraphicsSimpleTextItem


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


def written(text: str) -> QGraphicsSimpleTextItem:
    """Words that keep their size in pixels; ``setPos`` moves them."""
    item = QGraphicsSimpleTextItem(text)
    item.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
    return item


def write_at(item: QGraphicsSimpleTextItem, font: QFont, colour: str, down_px: float) -> None:
    """In that font and colour, their middle so many pixels below where they stand."""
    item.setFont(font)
    item.setBrush(QColor(colour))
    size = item.boundingRect()
    item.setTransform(QTransform.fromTranslate(-size.width() / 2, down_px - size.height() / 2))
