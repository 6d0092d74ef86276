"""Two axes around a plane that takes chart items. A chart library's usual plot brings menus, buttons and two more axes, none of them shown
here: without them it is made in half the time, and the picture goes on meanwhile."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QGraphicsGridLayout, QSizePolicy

from balance.window.look import Look
from balance.window.marks import pen


class Plot(pg.GraphicsView):  # type: ignore[misc]  # pyqtgraph ships no types
    """``plane`` (a ``ViewBox``) takes the items, ``left`` and ``bottom`` are its axes; above them, in ``grid``, there is room for a title. Nothing in it
    follows the mouse."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.enableMouse(False)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # keys are the window's, also after a click
        whole = self._whole = pg.GraphicsWidget()
        self.plane = pg.ViewBox(parent=whole, enableMenu=False, enableMouse=False)
        self.left, self.bottom = (pg.AxisItem(side, parent=whole) for side in ("left", "bottom"))
        self.grid = QGraphicsGridLayout()
        self.grid.setContentsMargins(1, 1, 1, 1)
        self.grid.setSpacing(0)
        self.grid.addItem(self.plane, 1, 1)
        for axis, place in ((self.left, (1, 0)), (self.bottom, (2, 1))):
            axis.linkToView(self.plane)
            axis.setZValue(0.5)  # above what the plane shows
            self.grid.addItem(axis, *place)
        self.grid.setRowStretchFactor(1, 100)
        self.grid.setColumnStretchFactor(1, 100)
        whole.setLayout(self.grid)
        self.setCentralItem(whole)

    def set_axes_look(self, look: Look, font_px: int) -> None:
        """Their colours and the size of their numbers; the plane's background."""
        font = QFont()
        font.setPixelSize(font_px)
        self.setBackground(look.palette.paper)
        for axis in (self.left, self.bottom):
            axis.setPen(pen(look.palette.quiet, 1))
            axis.setTextPen(look.palette.quiet)
            axis.setTickFont(font)
