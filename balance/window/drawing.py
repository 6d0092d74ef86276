"""What pictures are made of, as plain data: words in boxes, strokes, fills, discs; and the one place that paints them.

A picture is a tuple of shapes made anew for each state. Equal shapes are not painted again, and tests, PNG and SVG take the same data.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF, QRegion

Align = Literal["left", "centre", "right"]
Points = tuple[tuple[float, float], ...]
SHRINK = 0.96
ALIGN = {"left": Qt.AlignmentFlag.AlignLeft, "centre": Qt.AlignmentFlag.AlignHCenter, "right": Qt.AlignmentFlag.AlignRight}  # fmt: skip
AT = {"top": Qt.AlignmentFlag.AlignTop, "middle": Qt.AlignmentFlag.AlignVCenter, "bottom": Qt.AlignmentFlag.AlignBottom}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, pixels."""

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        return self.x + self.w

    @property
    def bottom(self) -> float:
        return self.y + self.h


@dataclass(frozen=True, slots=True)
class Words:
    """A text in its box; it gets smaller, down to ``least_px``, until it fits. name: what a test or a screen reader knows it by."""

    text: str
    box: Box
    px: int
    colour: str
    bold: bool = False
    align: Align = "left"
    at: Literal["top", "middle", "bottom"] = "middle"
    wraps: bool = False
    least_px: int = 10
    name: str = ""
    tag: str | None = None  # a colour behind the words


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points."""

    points: Points
    colour: str
    width: float
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Fill:
    """A closed area; hatched where it may not be relied on."""

    points: Points
    colour: str | None
    edge: str | None = None
    width: float = 0.0
    opacity: float = 1.0
    hatched: bool = False


@dataclass(frozen=True, slots=True)
class Disc:
    x: float
    y: float
    r: float
    colour: str | None
    edge: str | None = None
    width: float = 0.0


Shape = Words | Stroke | Fill | Disc
Picture = tuple[Shape, ...]


def rectangle(box: Box) -> Points:
    return ((box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom))


def family() -> str:
    """The font's own name: asked once, it costs."""
    return _family()


@lru_cache(maxsize=1)
def _family() -> str:
    from PySide6.QtGui import QFontDatabase

    known = set(QFontDatabase.families())
    return next((name for name in ("DejaVu Sans", "Segoe UI", "Helvetica Neue") if name in known), QFont().family())  # fmt: skip


@lru_cache(maxsize=256)
def font(px: int, bold: bool) -> QFont:
    made = QFont(_family())
    made.setPixelSize(max(1, px))
    made.setBold(bold)
    return made


@lru_cache(maxsize=2048)
def fitted_px(text: str, w: float, h: float, px: int, bold: bool, wraps: bool, least_px: int) -> int:
    """The largest size from ``px`` down at which the text fits; ``least_px`` where none does."""
    size = px
    while size > least_px and not fits(text, w, h, size, bold, wraps):
        size = max(least_px, min(size - 1, int(size * SHRINK)))
    return size


def fits(text: str, w: float, h: float, px: int, bold: bool, wraps: bool) -> bool:
    """Does the text stand in a box of w × h."""
    metrics = QFontMetricsF(font(px, bold))
    if not wraps:
        lines = text.split("\n")
        return max(metrics.horizontalAdvance(line) for line in lines) <= w and metrics.height() * len(lines) <= h + 1  # fmt: skip
    around = metrics.boundingRect(QRectF(0, 0, w, 1e5), int(Qt.TextFlag.TextWordWrap), text)
    return around.width() <= w + 1 and around.height() <= h + 1


def size_of(words: Words) -> int:
    """The font size at which these words are painted."""
    box = words.box
    return fitted_px(words.text, box.w, box.h, words.px, words.bold, words.wraps, words.least_px)


def cut(words: Words) -> bool:
    """True where not even the least size fits: then the end is left out, and a test fails."""
    return not fits(words.text, words.box.w, words.box.h, size_of(words), words.bold, words.wraps)


def inked(words: Words) -> Box:
    """Where the words' ink is, inside their box."""
    flags = int(
        ALIGN[words.align] | AT[words.at] | (Qt.TextFlag.TextWordWrap if words.wraps else Qt.TextFlag(0))
    )
    box = words.box
    around = QFontMetricsF(font(size_of(words), words.bold)).boundingRect(QRectF(box.x, box.y, box.w, box.h), flags, words.text)  # fmt: skip
    return Box(around.x(), around.y(), around.width(), around.height())


def wide_of(text: str, px: int, bold: bool) -> float:
    """How wide a line of text is at a size."""
    return QFontMetricsF(font(px, bold)).horizontalAdvance(text)


def bounds(shape: Shape) -> QRect:
    """The pixels that a shape may touch."""
    if isinstance(shape, Words):
        box = shape.box
        return QRectF(box.x, box.y, box.w, box.h).toAlignedRect().adjusted(-2, -2, 2, 2)
    if isinstance(shape, Disc):
        r = shape.r + shape.width
        return QRectF(shape.x - r, shape.y - r, 2 * r, 2 * r).toAlignedRect().adjusted(-2, -2, 2, 2)
    xs, ys = [x for x, _ in shape.points], [y for _, y in shape.points]
    wide = shape.width / 2 + 2
    return QRectF(min(xs) - wide, min(ys) - wide, max(xs) - min(xs) + 2 * wide, max(ys) - min(ys) + 2 * wide).toAlignedRect()  # fmt: skip


class Ready:
    """A shape with what Qt needs to paint it, made once; ``rect`` is where it touches."""

    __slots__ = ("_block", "_brush", "_flags", "_font", "_pen", "_polygon", "_text", "rect", "shape")

    def __init__(self, shape: Shape) -> None:
        self.shape, self.rect = shape, bounds(shape)
        self._font: QFont | None = None
        self._polygon: QPolygonF | None = None
        self._block: QRectF | None = None  # an upright rectangle without an edge: quicker
        self._pen, self._brush, self._text, self._flags = QPen(Qt.PenStyle.NoPen), QBrush(Qt.BrushStyle.NoBrush), "", 0  # fmt: skip
        if isinstance(shape, Words):
            self._words(shape)
        elif isinstance(shape, Stroke):
            self._pen = _pen(shape.colour, shape.width, shape.dashed)
            self._polygon = _polygon(shape.points)
        else:
            self._pen = _pen(shape.edge, shape.width)
            if isinstance(shape, Fill):
                self._polygon = _polygon(shape.points)
                if shape.edge is None and not shape.hatched:
                    self._block = _upright(shape.points)
            if shape.colour is not None:
                colour = QColor(shape.colour)
                if isinstance(shape, Fill):
                    colour.setAlphaF(shape.opacity)
                hatched = isinstance(shape, Fill) and shape.hatched
                self._brush = QBrush(colour, Qt.BrushStyle.BDiagPattern if hatched else Qt.BrushStyle.SolidPattern)  # fmt: skip

    def _words(self, words: Words) -> None:
        size = size_of(words)
        self._font, self._pen, self._text = font(size, words.bold), QPen(QColor(words.colour)), words.text
        self._flags = int(ALIGN[words.align] | AT[words.at])
        if words.wraps:
            self._flags |= int(Qt.TextFlag.TextWordWrap)
        elif size <= words.least_px and cut(words):
            metrics = QFontMetricsF(self._font)
            self._text = metrics.elidedText(words.text, Qt.TextElideMode.ElideRight, words.box.w)

    def paint(self, painter: QPainter) -> None:
        shape = self.shape
        painter.setPen(self._pen)
        if isinstance(shape, Words):
            if self._text and self._font is not None:
                if shape.tag is not None:
                    painter.fillRect(
                        QRectF(shape.box.x, shape.box.y, shape.box.w, shape.box.h), QColor(shape.tag)
                    )
                painter.setFont(self._font)
                box = shape.box
                painter.drawText(QRectF(box.x, box.y, box.w, box.h), self._flags, self._text)
            return
        painter.setBrush(self._brush)
        if isinstance(shape, Disc):
            painter.drawEllipse(QPointF(shape.x, shape.y), shape.r, shape.r)
        elif isinstance(shape, Stroke) and self._polygon is not None:
            painter.drawPolyline(self._polygon)
        elif self._block is not None:
            painter.fillRect(self._block, self._brush)
        elif self._polygon is not None:
            painter.drawPolygon(self._polygon)


def paint(painter: QPainter, shapes: Iterable[Ready], within: QRegion | None = None) -> None:
    """Paints shapes in their order; ``within``: those that touch it."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for shape in shapes:
        if within is None or within.intersects(shape.rect):
            shape.paint(painter)


def _pen(colour: str | None, width: float, dashed: bool = False) -> QPen:
    if colour is None or width <= 0:
        return QPen(Qt.PenStyle.NoPen)
    made = QPen(QColor(colour), width)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashed:
        made.setDashPattern([3.0, 2.0])
    return made


def _upright(points: Points) -> QRectF | None:
    """The rectangle where the points are one, as ``rectangle`` makes it."""
    if len(points) != 4:
        return None
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = points
    return QRectF(x0, y0, x2 - x0, y2 - y0) if y0 == y1 and x1 == x2 and y2 == y3 and x3 == x0 else None


def _polygon(points: Sequence[tuple[float, float]]) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in points])
