"""The first start: no rig, no board. Three choices in words, each one key away; then the boards found, or the recordings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFileDialog, QLabel, QListWidget, QPushButton, QVBoxLayout, QWidget

from balance.window.look import Look
from balance.window.pages import label
from balance.words import say

LOOK_AGAIN_MS = 100


@dataclass(frozen=True)
class Choice:
    """What was chosen; where: a port, or a recording's folder."""

    what: Literal["simulated", "board", "recording"]
    where: str = ""


@dataclass(frozen=True)
class FoundPort:
    """A port that was looked at: what it is called in a list, and whether a board answered."""

    port: str
    words: str
    answers: bool


class FirstView(QWidget):
    """``chosen`` is what the person asked for when the window closes; None: nothing."""

    def __init__(
        self, look: Look, find: Callable[[], Sequence[FoundPort]], recordings: Sequence[Path], missing: str | None
    ) -> None:  # fmt: skip
        """find: looks at the ports, slow · recordings: those of the folder, newest first · missing: what a board still needs, in words."""
        super().__init__()
        self.chosen: Choice | None = None
        self._find, self._recordings, self._missing, self._look = find, list(recordings), missing, look
        self._looking: Future[Sequence[FoundPort]] | None = None
        self._pool = ThreadPoolExecutor(1)
        self.setWindowTitle(say("window.title"))
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground, True)
        c, edge = look.palette, max(3, round(look.px(4)))
        self.setStyleSheet(
            f"FirstView {{ background: {c.paper}; }}"
            f"QPushButton {{ color: {c.ink}; background: {c.sole}; border: {edge}px solid {c.rule}; border-radius: {round(look.px(8))}px; font-size: {look.font(38)}px; padding: {round(look.px(24))}px; text-align: left; }}"
            f"QPushButton:focus {{ border-color: {c.ink}; }}"
            f"QListWidget {{ color: {c.ink}; background: {c.paper}; border: {edge}px solid {c.rule}; font-size: {look.font(28)}px; }} QListWidget:focus {{ border-color: {c.ink}; }}"
            f"QListWidget::item {{ padding: {round(look.px(10))}px; }} QListWidget::item:selected {{ background: {c.ink}; color: {c.paper}; }}"
        )
        box = QVBoxLayout(self)
        box.setContentsMargins(*(round(look.px(90)),) * 4)
        box.setSpacing(round(look.px(20)))
        title = label(look, 46, bold=True)
        title.setText(say("first.title"))
        box.addWidget(title)
        self.buttons: list[QPushButton] = []
        for key, act in (("simulated", self._simulated), ("board", self.look_for_boards), ("recording", self.list_recordings)):  # fmt: skip
            button = QPushButton(say(f"first.{key}"))
            button.setAccessibleName(say(f"first.{key}"))
            button.clicked.connect(act)
            self.buttons.append(button)
            box.addWidget(button)
        self.words: QLabel = label(look, 30)
        self.words.setAccessibleName("message")
        box.addWidget(self.words)
        self.list = QListWidget()
        self.list.setAccessibleName(say("first.list"))
        self.list.itemActivated.connect(lambda _: self._take())
        self.list.hide()
        box.addWidget(self.list, 1)
        box.addStretch(0)
        for key in ("first.keys", "caution.short"):
            words = label(look, 22, quiet=True)
            words.setText(say(key))
            box.addWidget(words)
        self._choices: list[Choice] = []
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._looked)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """1, 2, 3; Enter takes the line of the list; o: another folder; q or Esc: end."""
        acts = {
            "1": self._simulated, "2": self.look_for_boards, "3": self.list_recordings, "o": self._other_folder, "q": self.close, "\r": self._take,
        }  # fmt: skip
        act = acts.get(event.text().lower()) or (self.close if event.key() == Qt.Key.Key_Escape else None)
        if act is not None:
            act()
        else:
            super().keyPressEvent(event)

    def _done(self, choice: Choice) -> None:
        self.chosen = choice
        self.close()

    def _simulated(self) -> None:
        self._done(Choice("simulated"))

    def look_for_boards(self) -> None:
        """In a thread of its own: ports answer slowly."""
        if self._looking is None:
            self.words.setText(say("first.looking"))
            self.list.hide()
            self._looking = self._pool.submit(self._find)
            self._timer.start(LOOK_AGAIN_MS)

    def _looked(self) -> None:
        if self._looking is None or not self._looking.done():
            return
        self._timer.stop()
        looked, self._looking = self._looking, None
        error = looked.exception()
        found = [] if error else looked.result()
        boards = [one for one in found if one.answers]
        said = [str(error)] if error else [] if boards else [say("command.no-board")]
        said += [one.words for one in found if not one.answers]
        if boards and self._missing is not None:
            said.append(self._missing)
        self.words.setText("\n".join(said) if said else say("first.boards"))
        usable = boards if self._missing is None else []
        self._fill([one.words for one in usable], [Choice("board", one.port) for one in usable])

    def list_recordings(self) -> None:
        """Of the folder, newest first."""
        self.words.setText(say("first.recordings" if self._recordings else "first.no-recordings"))
        names = ["/".join(path.parts[-3:]) for path in self._recordings]
        self._fill(names, [Choice("recording", str(path)) for path in self._recordings])

    def _fill(self, names: list[str], choices: list[Choice]) -> None:
        self._choices = choices
        self.list.clear()
        self.list.addItems(names)
        self.list.setVisible(bool(names))
        if names:
            self.list.setCurrentRow(0)
            self.list.setFocus()

    def _take(self) -> None:
        if self.list.isVisible() and 0 <= self.list.currentRow() < len(self._choices):
            self._done(self._choices[self.list.currentRow()])

    def _other_folder(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, say("first.folder"))
        if folder:
            from balance.recording import find_recordings

            self._recordings = newest_first(find_recordings(Path(folder)))
            self.list_recordings()

    def end(self) -> None:
        """Lets go of the thread."""
        self._timer.stop()
        self._pool.shutdown(wait=False, cancel_futures=True)


def newest_first(recordings: Sequence[Path]) -> list[Path]:
    """By date and number, which their folders carry."""
    return sorted(recordings, key=lambda path: path.parts[-2:], reverse=True)


def ask(find: Callable[[], Sequence[FoundPort]], recordings: Sequence[Path], missing: str | None) -> Choice | None:  # fmt: skip
    """Shows the choices until one is made; None where the window was closed."""
    from balance.window.app import application, look_of

    app = application()
    view = FirstView(look_of(app.primaryScreen(), None), find, recordings, missing)
    view.resize(app.primaryScreen().availableGeometry().size())
    view.showMaximized()
    view.buttons[0].setFocus()
    try:
        app.exec()
    finally:
        view.end()
    return view.chosen
