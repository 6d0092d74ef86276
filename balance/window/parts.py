"""All parts of the window for one look: made anew when size, colours or text change; the two charts live on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from balance.stance import Stance
from balance.window.below import Below
from balance.window.facts import Facts
from balance.window.front import Front
from balance.window.header import Header
from balance.window.key_card import KeyCard
from balance.window.lanes import Lanes
from balance.window.look import Look
from balance.window.pages import FindingsPage, TrialsPage
from balance.window.painted import Painted
from balance.window.set_up_page import SetUpPage
from balance.window.what_if_page import WhatIfPage

if TYPE_CHECKING:
    from balance.window.floor_view import FloorView
    from balance.window.strip_chart import ChartPage

LEFT_OF_WIDTH = 0.685
PICTURES = ("lanes", "front", "area")
PAGES = ("facts", "findings", "trials", "what-if", "chart", "set-up")
SLOW = ("area", "chart")  # drawn by a library that takes a while to load


class Charts:
    """The two that a chart library draws: each made once, when it is first asked for, so that the first picture comes sooner."""

    def __init__(self) -> None:
        self.area: FloorView | None = None
        self.chart: ChartPage | None = None

    def made(self, name: str) -> FloorView | ChartPage | None:
        """By its name, where it was made."""
        return self.area if name == "area" else self.chart if name == "chart" else None

    def make(self, name: str) -> QWidget:
        """Makes it."""
        if name == "area":
            from balance.window.floor_view import FloorView

            self.area = FloorView()
            return self.area
        from balance.window.strip_chart import ChartPage

        self.chart = ChartPage()
        return self.chart


class Parts(QWidget):
    """Header; a picture with a page beside it, or the card of keys; buttons and cautions."""

    resized = Signal()  # a painted part has another size
    asked = Signal(str)  # by a button

    def __init__(
        self,
        parent: QWidget,
        look: Look,
        stance: Stance,
        braced: set[str],
        charts: Charts,
        *,
        is_replay: bool,
    ) -> None:
        super().__init__(parent)
        self.look, self._charts = look, charts
        self.setObjectName("parts")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setStyleSheet(_style(look))  # while it is empty: every widget below is styled anew by it
        self.header, self.card = Header(look), KeyCard(look)
        self.lanes, self.front = Lanes(stance, braced, look), Front(braced, look)
        self.facts, self.set_up = Facts(stance, look), SetUpPage(look)
        for part in (self.header, self.lanes, self.front, self.facts, self.card, self.set_up):
            part.resized.connect(self.resized)
        self.findings, self.trials = FindingsPage(look), TrialsPage(look)
        self.what_if: WhatIfPage | None = None
        self.below = Below(look, is_replay=is_replay)
        self.below.pressed.connect(self.asked)
        self.pictures, self.pages, self._whole = QStackedWidget(), QStackedWidget(), QStackedWidget()
        for picture in (self.lanes, self.front, QWidget()):  # an empty place for what is made later
            self.pictures.addWidget(picture)
        for page in (self.facts, self.findings, self.trials, QWidget(), QWidget(), self.set_up):
            self.pages.addWidget(page)
        self._lay_out()

    def _lay_out(self) -> None:
        look = self.look
        both, share = QWidget(), round(100 * LEFT_OF_WIDTH)
        beside = QHBoxLayout(both)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(0)
        beside.addWidget(self.pictures, share)
        beside.addWidget(self.pages, 100 - share)
        self._whole.addWidget(both)
        self._whole.addWidget(self.card)
        self.header.setFixedHeight(self.header.wanted_height())
        margin, box = round(look.px(26)), QVBoxLayout(self)
        box.setContentsMargins(margin, round(look.px(16)), margin, round(look.px(12)))
        box.setSpacing(round(look.px(10)))
        box.addWidget(self.header)
        box.addWidget(self._whole, 1)
        box.addWidget(self.below)

    def lay_out_hidden(self, size: QSize) -> None:
        """Everything gets the place where it will be shown, so that it can be drawn before."""
        self.resize(size)
        for part in (self, *self.findChildren(QWidget)):  # each after what it stands in
            layout = part.layout()
            if layout is not None:
                layout.activate()

    def paint_still(self) -> None:
        """What hardly ever changes in the picture and page to be shown, before they are."""
        for part in (self.header, self.pictures.currentWidget(), self.pages.currentWidget()):
            if isinstance(part, Painted) and not self.on_card:
                part.paint_still()

    def measure(self) -> None:
        """The list's rows, where it is to be shown, before it is."""
        if self.pages.currentWidget() is self.trials:
            self.trials.list.fit()

    @property
    def on_card(self) -> bool:
        """The card of keys covers picture and page."""
        return self._whole.currentIndex() == 1

    def show_card(self, shown: bool) -> None:
        self._whole.setCurrentIndex(1 if shown else 0)

    def prepare(self, name: str) -> bool:
        """Makes a chart that was not made yet, in the place that is kept for it; False where there was nothing to do."""
        if name not in SLOW or self._charts.made(name) is not None:
            return False
        self._put(name, self._charts.make(name))
        return True

    def put_what_if(self, page: WhatIfPage) -> None:
        """The sliders, made when they are first asked for."""
        self.what_if = page
        self._put("what-if", page)

    def _put(self, name: str, part: QWidget) -> None:
        stack, at = self._place(name)
        now, empty = stack.currentIndex(), stack.widget(at)
        stack.insertWidget(at, part)
        if empty is not None:
            stack.removeWidget(empty)
            empty.deleteLater()
        stack.setCurrentIndex(now)

    def take_charts(self) -> None:
        """Those that were made come here from other parts."""
        for name in SLOW:
            chart = self._charts.made(name)
            if chart is not None and not self.isAncestorOf(chart):
                self._put(name, chart)

    def dress(self, name: str) -> None:
        """Gives a chart the look of these parts."""
        chart = self._charts.made(name)
        if chart is not None and chart.look is not self.look:
            chart.set_look(self.look)

    def turn_to(self, name: str) -> None:
        """Shows a picture or page."""
        self.prepare(name)
        self.dress(name)
        stack, at = self._place(name)
        stack.setCurrentIndex(at)

    def leave_blank(self, name: str) -> None:
        """Where a chart is shown, until it has its look."""
        stack, _ = self._place(name)
        blank = QWidget()
        stack.addWidget(blank)
        stack.setCurrentWidget(blank)

    def _place(self, name: str) -> tuple[QStackedWidget, int]:
        names, stack = (PICTURES, self.pictures) if name in PICTURES else (PAGES, self.pages)
        return stack, names.index(name)


def _style(look: Look) -> str:
    """Of the window's own controls."""
    c = look.palette
    return (
        f"QWidget#parts {{ background: {c.paper}; }} QScrollArea, QScrollArea > QWidget > QWidget {{ background: {c.paper}; }}"
        f"QPushButton {{ color: {c.ink}; background: {c.paper}; border: 2px solid {c.rule}; border-radius: {round(look.px(6))}px; font-size: {look.below}px; padding: {round(look.px(4))}px {round(look.px(14))}px; }}"
        f"QSlider::groove:horizontal {{ height: {round(look.px(8))}px; background: {c.rule}; }} QSlider::handle:horizontal {{ background: {c.ink}; width: {round(look.px(22))}px; margin: -{round(look.px(11))}px 0; border-radius: {round(look.px(4))}px; }}"
        f"QPushButton:focus, QSlider:focus, QScrollArea:focus {{ border: {max(3, round(look.px(4)))}px solid {c.ink}; }}"
    )
