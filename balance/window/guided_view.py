"""A guided job on the screen: the step in large words, its reading, what is done; the same steps as in the terminal."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QApplication

from balance.guiding.guide import Guide
from balance.window.drawing import Box, Shape, Stroke, Words
from balance.window.look import Look
from balance.window.painted import Painted
from balance.words import say

DONE_SHOWN = 4
QT_KEYS = {Qt.Key.Key_Return: "\r", Qt.Key.Key_Enter: "\r", Qt.Key.Key_Space: "\r", Qt.Key.Key_PageDown: "\r", Qt.Key.Key_PageUp: "r", Qt.Key.Key_Escape: "q"}  # fmt: skip


class GuidedView(Painted):
    """``draw`` shows a guide's step; ``key`` gives the keys pressed, one at a time."""

    def __init__(self, job: str, look: Look) -> None:
        super().__init__(job, look)
        self.setWindowTitle(say("window.title"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._job = job
        self._keys: deque[str] = deque()
        self._guide: Guide | None = None

    def __enter__(self) -> None:
        self.resize(self.look.width, self.look.height)
        self.showMaximized()
        self.setFocus()

    def __exit__(self, *_: object) -> None:
        self.close()

    def draw(self, guide: Guide, took: bool) -> None:
        """A guide's step. took: a step was just done."""
        self._guide = guide
        if took:
            QApplication.beep()
        self.show_picture(tuple(self._shapes(guide)))
        QApplication.processEvents()

    def tell(self, sentence: str) -> None:
        """The picture shows it."""

    def key(self, timeout_s: float) -> str | None:
        """The next key that was pressed; never waits, the readings do."""
        QApplication.processEvents()
        return self._keys.popleft() if self._keys else None

    def _shapes(self, guide: Guide) -> Iterator[Shape]:
        look, w, h = self.look, float(self.width()), float(self.height())
        colours, m = look.palette, look.px(60)
        number = min(len(guide.taken) + 1, len(guide.steps))
        title = say("guide.title", job=self._job, number=number, of=len(guide.steps))
        yield Words(title, Box(m, look.px(30), w - 2 * m, look.middle * 1.5), look.middle, colours.quiet, name="title")  # fmt: skip
        done = guide.steps[: len(guide.taken)][-DONE_SHOWN:]
        row, y = look.small * 1.5, look.px(50) + look.middle * 1.5
        for step in done:
            text = say("guide.done-with", what=step.sentence)
            yield Words(text, Box(m, y, w - 2 * m, row), look.small, colours.quiet)
            y += row
        y = look.px(60) + look.middle * 1.5 + DONE_SHOWN * row
        step_now = guide.step
        large = Box(m, y, w - 2 * m, 0.34 * h)
        sentence = say("guide.all-done") if step_now is None else step_now.sentence
        yield Words(sentence, large, look.glance, colours.ink, bold=True, at="top", wraps=True, least_px=18, name="step")  # fmt: skip
        line = large.bottom + look.px(30)
        yield Stroke(((m, line), (w - m, line)), colours.rule, max(4.0, look.px(10)))
        if guide.progress > 0:
            end = m + (w - 2 * m) * min(guide.progress, 1.0)
            yield Stroke(((m, line), (end, line)), colours.ink, max(6.0, look.px(18)))
        words = Box(m, line + look.px(26), w - 2 * m, 0.16 * h)
        yield Words(guide.words, words, round(look.middle * 1.2), colours.ink, bold=guide.is_alarmed, at="top", wraps=True, name="reading")  # fmt: skip
        below = h - 2 * look.small * 1.6 - look.px(20)
        yield Words(say("guide.keys-window"), Box(m, below, w - 2 * m, look.small * 1.6), look.small, colours.quiet, name="keys")  # fmt: skip
        yield Words(say("caution.short"), Box(m, below + look.small * 1.6, w - 2 * m, look.small * 1.6), look.small, colours.quiet)  # fmt: skip

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  # Qt's own name
        """Enter, space or a pedal: it is so; r: the last step again; q or Esc: stop."""
        key = QT_KEYS.get(Qt.Key(event.key())) or event.text().lower()
        if key:
            self._keys.append(key)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802  # Qt's own name
        """A closed window stops the job; what is done stays."""
        self._keys.append("q")
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  # Qt's own name
        """Everything follows the window's size."""
        self.set_look(replace(self.look, width=self.width(), height=self.height()))
        if self._guide is not None:
            self.show_picture(tuple(self._shapes(self._guide)))


def guided_window(job: str) -> GuidedView:
    """A window of this screen's size for a job."""
    from balance.window.app import application, look_of

    return GuidedView(job, look_of(application().primaryScreen(), None))
