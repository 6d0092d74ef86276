"""The window as a picture: PNG as on the screen, SVG of what is drawn, to be scaled and printed."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QPoint, QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QRegion
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QWidget

from balance.window.drawing import paint
from balance.window.painted import Painted
from balance.window.stand_view import StandView
from balance.words import say


def save_picture(view: StandView, folder: Path) -> str:
    """Into ``folder`` under the next free name; the sentence that says where, or why not."""
    number = 1
    while any((folder / f"picture-{number:02d}.{kind}").exists() for kind in ("png", "svg")):
        number += 1
    png, svg = (folder / f"picture-{number:02d}.{kind}" for kind in ("png", "svg"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        svg.write_bytes(b"")  # Qt says nothing of a folder that cannot be written
        write_svg(view, svg)
        if not view.grab().save(str(png)):
            raise OSError(0, "PNG")
    except OSError as error:
        return say("window.picture-not-written", file=png, reason=error.strerror or str(error))
    return say("window.picture-written", png=png, svg=svg.name)


def write_svg(view: StandView, path: Path) -> None:
    """What is painted, at its place, from its shapes; lists, sliders and charts draw themselves."""
    made = QSvgGenerator()
    made.setFileName(str(path))
    made.setResolution(96)
    made.setSize(QSize(view.width(), view.height()))
    made.setViewBox(QRectF(0, 0, view.width(), view.height()))
    made.setTitle(say("window.title"))
    painter = QPainter(made)
    painter.fillRect(QRectF(0, 0, view.width(), view.height()), QColor(view.look.palette.paper))
    for part in view.findChildren(Painted):
        if part.isVisibleTo(view):
            at = part.mapTo(view, part.rect().topLeft())
            painter.save()
            painter.translate(at.x(), at.y())
            paint(painter, part.ready)
            painter.restore()
    for widget in (view.parts.pictures.currentWidget(), view.parts.pages.currentWidget(), view.parts.below):
        if widget is not None and widget.isVisibleTo(view) and not isinstance(widget, Painted):
            at = widget.mapTo(view, QPoint(0, 0))
            QWidget.render(widget, painter, at, QRegion(), QWidget.RenderFlag.DrawChildren)
    painter.end()
