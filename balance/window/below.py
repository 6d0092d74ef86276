"""What stands below every page: buttons that name their keys, and what is always to be kept in mind."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from balance.window.keys import buttons
from balance.window.look import Look
from balance.words import say


class Below(QWidget):
    """``pressed`` says what a button asks for."""

    pressed = Signal(str)

    def __init__(self, look: Look, *, is_replay: bool) -> None:
        super().__init__()
        box, row = QVBoxLayout(self), QHBoxLayout()
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(round(look.px(4)))
        row.setSpacing(round(look.px(10)))
        for what, asked in buttons(is_replay=is_replay).items():
            button = QPushButton(say(f"button.{what}"))
            button.setAccessibleName(say(f"button.{what}"))
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(self._presses(asked))
            row.addWidget(button)
        row.addStretch(1)
        box.addLayout(row)
        self.cautions = [QLabel(say(key)) for key in ("caution.short", "caution.not-examined")]
        for words in self.cautions:
            words.setWordWrap(True)
            words.setStyleSheet(f"color: {look.palette.quiet}; font-size: {look.below - 1}px;")
            box.addWidget(words)

    def _presses(self, asked: str) -> Callable[[], None]:
        return lambda: self.pressed.emit(asked)
