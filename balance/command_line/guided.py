"""Runs a guided job on a board: the step and its live reading in the terminal, keys, the done steps kept."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from balance.command_line.output import message, on_stop, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.command_line.keys import Keys
    from balance.guiding.guide import Guide, Step, Taken
    from balance.window.guided_view import GuidedView
    from drivers.samples import BoardInfo, Source

BAR = 30
WIDTH = 78


def run_guided(
    source: Source, steps: Sequence[Step], job: str, keep_in: Path | None = None, *, window: bool = False
) -> tuple[list[Taken], BoardInfo]:
    """All steps' readings. Ends the command with a sentence where the person stops before; what is done stays in ``keep_in``.
    window: on the screen, large, instead of in the terminal."""
    import sys

    from balance.command_line.keys import single_keys
    from balance.guiding.guide import Guide
    from balance.guiding.kept import keep, kept

    day = datetime.datetime.now().astimezone().date().isoformat()
    done = kept(keep_in, day, steps) if keep_in is not None else []
    if done:
        message(say("guide.goes-on", file=keep_in, number=len(done), of=len(steps)))
    shown = _window(job) if window else None
    guide = Guide(steps, done, asks=shown is not None or sys.stdin.isatty())
    on_stop(source.stop)

    def kept_now() -> None:
        if keep_in is not None:
            keep(keep_in, day, steps, guide.taken)

    try:
        info = source.open()
        if shown is not None:
            with shown:
                _run(source, guide, shown, shown.key, kept_now)
        else:
            with _Screen(job) if sys.stderr.isatty() else _Lines(job) as view, single_keys() as keys:
                _run(source, guide, view, keys, kept_now)
    finally:
        source.close()
    if not guide.is_done:
        facts = {"number": len(guide.taken), "of": len(steps), "file": keep_in}
        raise wrong("guide.stopped" if keep_in and guide.taken else "guide.stopped-plain", **facts)
    message(say("guide.all-done"))
    return guide.taken, info


def _window(job: str) -> GuidedView | None:
    """The screen for it; None, and the sentence that says why, where there is none."""
    from balance.window.probe import qt_problem

    problem = qt_problem()
    if problem is not None:
        message(problem)
        return None
    from balance.window.guided_view import guided_window

    return guided_window(job)


class _View(Protocol):
    """What shows a job."""

    def draw(self, guide: Guide, took: bool) -> None: ...
    def tell(self, sentence: str) -> None: ...


def _run(source: Source, guide: Guide, view: _View, keys: Keys, done_one: Callable[[], None]) -> None:
    from drivers.samples import SampleBlock

    while not guide.is_done:
        took = ended = False
        for item in source.read():
            if isinstance(item, SampleBlock):
                took |= guide.feed(item)
            else:
                guide.happened(item)
                view.tell(guide.words)
                ended |= item.kind == "ended"
        key = keys(0.0)
        if key in ("\r", "\n"):
            took |= guide.take()
        elif key == "r":
            guide.redo()
            done_one()
        if took:
            done_one()
        view.draw(guide, took)
        if ended or key == "q":
            return


class _Screen:
    """The step, its reading and the keys, in place on a terminal's stderr."""

    def __init__(self, job: str) -> None:
        from rich.console import Console
        from rich.live import Live

        self._job, self._console = job, Console(stderr=True, highlight=False)
        self._live = Live(console=self._console, auto_refresh=False)

    def __enter__(self) -> _Screen:
        self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._live.stop()

    def draw(self, guide: Guide, took: bool) -> None:
        from rich.text import Text

        if took:
            self._console.bell()
        self._live.update(Text(picture(guide, self._job)), refresh=True)

    def tell(self, sentence: str) -> None:
        """The picture shows it."""


class _Lines:
    """Where stderr is no terminal: a line a step."""

    def __init__(self, job: str) -> None:
        self._job, self._said, self._warned = job, -1, -1

    def __enter__(self) -> _Lines:
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def draw(self, guide: Guide, took: bool) -> None:
        step = guide.step
        if step is not None and self._said != len(guide.taken):
            self._said = len(guide.taken)
            message(
                say("guide.title", job=self._job, number=self._said + 1, of=len(guide.steps))
                + ": "
                + step.sentence
            )
        if guide.is_alarmed and self._warned != len(guide.taken):  # once a step
            self._warned = len(guide.taken)
            message("  " + guide.words)

    def tell(self, sentence: str) -> None:
        message("  " + sentence)


def picture(guide: Guide, job: str) -> str:
    """The job as text of at most 80 × 24."""
    import textwrap

    number = min(len(guide.taken) + 1, len(guide.steps))
    rows = [say("guide.title", job=job, number=number, of=len(guide.steps)), ""]
    rows += [
        say("guide.done-with", what=step.sentence)[:WIDTH] for step in guide.steps[: len(guide.taken)][-3:]
    ]
    step = guide.step
    if step is not None:
        bar = "#" * round(BAR * guide.progress)
        rows += ["", *("> " + line for line in textwrap.wrap(step.sentence, WIDTH - 2)), ""]
        rows += textwrap.wrap(say("guide.bar", bar=f"{bar:<{BAR}}", words=guide.words), WIDTH)
    rows += ["", say("guide.keys"), say("caution.terminal")]
    return "\n".join(rows)


def board(port: str | None) -> Source:
    """The board at the port, or the only one."""
    from balance.command_line.setting_up import find_port
    from drivers.serial_board import SerialBoard

    return SerialBoard(find_port(port))


def kilograms(text: str) -> tuple[float, ...]:
    """Masses as they go on, totals: '5,10,20'."""
    from itertools import pairwise

    try:
        masses = tuple(float(part) for part in text.split(","))
    except ValueError:
        raise wrong("command.masses", text=text) from None
    rising = all(0 < a < b for a, b in pairwise(masses))
    if not masses or not rising or masses[0] <= 0 or masses[-1] > 1000:
        raise wrong("command.masses", text=text)
    return masses
