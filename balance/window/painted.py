"""A widget that shows a picture and repaints only what changed in it."""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPixmap, QRegion, QResizeEvent
from PySide6.QtWidgets import QWidget

from balance.window.drawing import Picture, Ready, Words, paint
from balance.window.look import Look


class Painted(QWidget):
    """``show_picture`` gives it shapes; words with a name are what a screen reader says of it."""

    resized = Signal()  # a picture is drawn for its size: it must be drawn anew

    def __init__(self, name: str, look: Look) -> None:
        super().__init__()
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(name)
        self.look = look
        self.ready: list[Ready] = []
        self._still = 0
        self._copied: list[Ready] = []
        self._copy: QPixmap | None = None

    @property
    def picture(self) -> Picture:
        """The shapes shown now."""
        return tuple(one.shape for one in self.ready)

    def set_look(self, look: Look) -> None:
        """Another size of text, other colours."""
        self.look, self.ready, self._copy = look, [], None
        self.update()

    def show_picture(self, picture: Picture, still: int = 0) -> None:
        """Repaints where a shape differs from what is shown. still: so many shapes at the beginning hardly ever change; they are painted
        once and then copied."""
        self._still = still
        before, changed, heard = self.ready, QRegion(), False
        now = []
        for number, shape in enumerate(picture):
            known = before[number] if number < len(before) else None
            if known is not None and (known.shape is shape or known.shape == shape):
                now.append(known)
                continue
            made = Ready(shape)
            now.append(made)
            changed += made.rect
            heard |= isinstance(shape, Words)
            if known is not None:
                changed += known.rect
        for gone in before[len(now) :]:
            changed += gone.rect
            heard = True
        if changed.isEmpty():
            return
        self.ready = now
        self.update(changed)
        if heard:
            self.setAccessibleDescription(self.said())

    def said(self) -> str:
        """The words that have a name, a line each."""
        words = (one.shape for one in self.ready)
        return "\n".join(one.text for one in words if isinstance(one, Words) and one.name and one.text)

    def text_of(self, name: str) -> str:
        """What stands there now."""
        return next((one.text for one in self.picture if isinstance(one, Words) and one.name == name), "")

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Whoever draws is told."""
        super().resizeEvent(event)
        self.resized.emit()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802  # Qt's own name
        """The background and what touches the part to be painted."""
        copy = self._still_copy()
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        rect = event.rect()
        painter.drawPixmap(QRectF(rect), copy, _scaled(rect, copy.devicePixelRatioF()))
        paint(painter, self.ready[self._still :], event.region())
        painter.end()

    def paint_still(self) -> None:
        """The copy that painting begins with, before the widget is shown."""
        if self.ready:
            self._still_copy()

    def _still_copy(self) -> QPixmap:
        """The background with the still shapes on it."""
        wanted, ratio = self.ready[: self._still], self.devicePixelRatioF()
        size = self.size() * ratio
        now = self._copy
        if now is None or now.size() != size or len(wanted) != len(self._copied) or any(a is not b for a, b in zip(wanted, self._copied, strict=False)):  # fmt: skip
            now = QPixmap(size)
            now.setDevicePixelRatio(ratio)
            now.fill(QColor(self.look.palette.paper))
            painter = QPainter(now)
            paint(painter, wanted)
            painter.end()
            self._copy, self._copied = now, wanted
        return now


def _scaled(rect: QRect, ratio: float) -> QRectF:
    """In the copy's own pixels."""
    return QRectF(rect.x() * ratio, rect.y() * ratio, rect.width() * ratio, rect.height() * ratio)
