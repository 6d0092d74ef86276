"""A widget that shows a picture and repaints only what changed in it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QRegion, QResizeEvent
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

    @property
    def picture(self) -> Picture:
        """The shapes shown now."""
        return tuple(one.shape for one in self.ready)

    def set_look(self, look: Look) -> None:
        """Another size of text, other colours."""
        self.look, self.ready = look, []
        self.update()

    def show_picture(self, picture: Picture) -> None:
        """Repaints where a shape differs from what is shown."""
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
        painter = QPainter(self)
        painter.fillRect(event.rect(), QColor(self.look.palette.paper))
        painter.setClipRegion(event.region())
        paint(painter, self.ready, event.region())
        painter.end()
