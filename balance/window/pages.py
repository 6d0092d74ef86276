"""Pages of the right column beside the lanes: findings in words, the day's trials as a list."""

from __future__ import annotations

import re
from collections.abc import Iterable

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QScrollArea, QVBoxLayout, QWidget

from balance.findings_words import Told
from balance.window.lane import Overlay
from balance.window.look import Look
from balance.words import say

MOST_OVERLAYS = 2


def unbroken(text: str) -> str:
    """A number stays on one line with its unit."""
    return re.sub(r"(\d) (?=%|mm|kg|N·m|s\b)", "\\1\u00a0", text)


def label(look: Look, design_px: float, *, quiet: bool = False, bold: bool = False) -> QLabel:
    """A text of the window's own look."""
    item = QLabel()
    item.setStyleSheet(style(look, design_px, quiet=quiet, bold=bold))
    item.setWordWrap(True)
    return item


def style(look: Look, design_px: float, *, quiet: bool = False, bold: bool = False) -> str:
    """Of a label."""
    colour = look.palette.quiet if quiet else look.palette.ink
    return f"color: {colour}; font-size: {look.font(design_px)}px; font-weight: {'bold' if bold else 'normal'};"  # fmt: skip


class FindingsPage(QWidget):
    """The newest trial's findings, a paragraph each; longer ones scroll."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setAccessibleName(say("window.findings"))
        title, self._words = label(look, 24, quiet=True), label(look, 24)
        title.setText(say("window.findings"))
        self._words.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._words.setAccessibleName(say("window.findings"))
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(self._words)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        area.setAccessibleName(say("window.findings"))
        self._area = area
        hint = label(look, 20, quiet=True)
        hint.setText(say("window.findings-hint"))
        box = QVBoxLayout(self)
        box.setContentsMargins(round(look.px(34)), 0, 0, 0)
        box.addWidget(title)
        box.addWidget(area, 1)
        box.addWidget(hint)

    def show_lines(self, lines: list[str]) -> None:
        """A paragraph each; what stands in columns elsewhere is one sentence here."""
        flat = [" ".join(line.split()) for line in lines]
        self._words.setText("\n\n".join(map(unbroken, flat)))
        self._area.verticalScrollBar().setValue(0)

    def turn(self, way: int) -> None:
        """Half a page down or up."""
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + way * bar.pageStep() // 2)

    @property
    def text(self) -> str:
        return self._words.text()


class TrialsPage(QWidget):
    """The day's trials; up to two of them can be laid on the soles, with Enter."""

    overlaid = Signal(object)  # list[Overlay]

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self.setAccessibleName(say("window.trials"))
        title, hint = label(look, 24, quiet=True), label(look, 20, quiet=True)
        title.setText(say("window.trials"))
        hint.setText(say("window.trials-hint"))
        self.none = label(look, 24)
        self.none.setText(say("window.trials-none"))
        edge, pad = max(2, round(look.px(3))), round(look.px(9))
        self.list = _List(edge + pad)
        self.list.setAccessibleName(say("window.trials"))
        self.list.setWordWrap(True)
        self.list.setFrameShape(QListWidget.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.chosen.connect(self._toggle)
        self.list.itemDoubleClicked.connect(lambda _: self._toggle())
        colours = look.palette
        self.list.setStyleSheet(
            f"QListWidget {{ background: transparent; color: {colours.ink}; font-size: {look.font(23)}px; outline: none; }}"
            f"QListWidget::item {{ padding: {pad}px; border: {edge}px solid {colours.paper}; }}"
            f"QListWidget::item:selected {{ color: {colours.ink}; border: {edge}px solid {colours.ink}; background: transparent; }}"
        )
        box = QVBoxLayout(self)
        box.setContentsMargins(round(look.px(34)), 0, 0, 0)
        for part in (title, self.none, self.list, hint):
            box.addWidget(part, 1 if part is self.list else 0)
        self._rows: list[Told | None] = []  # of the list; None: an adjustment
        self._laid: list[int] = []

    @property
    def told(self) -> list[Told]:
        """In the list's order."""
        return [told for told in self._rows if told is not None]

    def add(self, *trials: Told) -> None:
        """More of them, at the end."""
        for told in trials:
            for words in told.before:
                self._add(words, None)
            self._add(_entry(told), told)
        if trials:
            self.none.hide()
            if self.list.isVisible():
                self.list.fit()
            self.list.setCurrentRow(len(self._rows) - 1)

    def _add(self, words: str, told: Told | None) -> None:
        """A row; what was adjusted between two trials is one of its own, which cannot be chosen."""
        item = QListWidgetItem(words)
        if told is None:
            item.setFlags(Qt.ItemFlag.NoItemFlags)
            item.setForeground(QColor(self._look.palette.quiet))
        self._rows.append(told)
        self.list.addItem(item)

    def clear_laid(self) -> None:
        """None is laid on the soles."""
        self._lay([])

    def be_as(self, before: TrialsPage) -> None:
        """The row that is chosen, and those that are laid, as in a list of the same rows in another look."""
        self._lay(before._laid)
        if before.list.count() == self.list.count():
            self.list.setCurrentRow(before.list.currentRow())

    def _toggle(self) -> None:
        row = self.list.currentRow()
        if not 0 <= row < len(self._rows) or self._rows[row] is None:
            return
        others = [one for one in self._laid if one != row]
        self._lay(others if row in self._laid else [*others, row][-MOST_OVERLAYS:])
        laid = [told for k in self._laid if (told := self._rows[k]) is not None]
        self.overlaid.emit([Overlay(_number(told.line), told.places) for told in laid])

    def _lay(self, rows: list[int]) -> None:
        changed = set(self._laid) ^ set(rows)
        self._laid = list(rows)
        for row in changed:
            told = self._rows[row]
            if told is not None:
                entry = _entry(told)
                self.list.item(row).setText(f"{say('window.laid')} {entry}" if row in rows else entry)
        self.list.measure(changed)


def _entry(told: Told) -> str:
    """The trial on a line of its own, what was found under it."""
    line = told.line if not told.at else f"{told.at}  {told.line}"
    return unbroken(line.replace(" · ", "\n", 1))


def _number(line: str) -> str:
    """'03 quiet standing …' → '3'."""
    return line.split(" ", 1)[0].lstrip("0") or line[:2]


class _List(QListWidget):
    """Enter chooses; arrows move; all other keys are the window's. Each entry is as high as its words want, measured once for each width."""

    chosen = Signal()

    def __init__(self, inset_px: int) -> None:
        super().__init__()
        self._inset_px = inset_px
        self._measured, self._for_px = 0, 0  # rows from the first on, and the width they were measured for

    def fit(self) -> None:
        """Heights of the rows that have none for the present width. The bar's place is kept free, so that its coming changes no height."""
        wide = self.width() - self.verticalScrollBar().sizeHint().width() - 2 * self._inset_px
        if wide != self._for_px:
            self._measured, self._for_px = 0, wide
        self.measure(range(self._measured, self.count()))
        self._measured = self.count()

    def measure(self, rows: Iterable[int]) -> None:
        """Heights of these rows for the width of the others."""
        self.ensurePolished()  # before it is shown it has not got its own letters yet
        flags = int(Qt.TextFlag.TextWordWrap)
        for number in rows:
            item = self.item(number)
            words = self.fontMetrics().boundingRect(QRect(0, 0, max(self._for_px - 6, 1), 10_000), flags, item.text())  # fmt: skip
            item.setSizeHint(QSize(self._for_px, words.height() + 2 * self._inset_px + 2))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Words wrap anew."""
        super().resizeEvent(event)
        self.fit()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  # Qt's own name
        """Rows that came while it was hidden."""
        super().showEvent(event)
        self.fit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """Only what a list needs."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.chosen.emit()
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_End):
            super().keyPressEvent(event)
        else:
            event.ignore()
