"""What every command shares: results to stdout, sentences to stderr, wrong input to status 2, signals to a clean end."""

from __future__ import annotations

import contextlib
import json
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import typer

from balance.words import say

Item = TypeVar("Item")


def report(error: BaseException) -> bool:
    """Prints the sentences of a known error to stderr; False where it is not one of ours."""
    code, facts = getattr(error, "code", None), getattr(error, "facts", None)
    if isinstance(code, str) and isinstance(facts, dict):
        message(say(code, **facts))
        return True
    kind = f"{type(error).__module__}.{type(error).__name__}"
    if kind in ("balance.files.FileProblem", "balance.session.CalibrationRefused"):
        message(str(error))
        return True
    if isinstance(error, OSError):
        message(say("command.os-error", file=error.filename or "", reason=error.strerror or str(error)))
        return True
    return False


def message(text: str) -> None:
    """A sentence for the person, to stderr."""
    typer.echo(text, err=True)


def wrong(key: str, **facts: object) -> typer.Exit:
    """Says what is wrong with the input; raise what it returns."""
    message(say(key, **facts))
    return typer.Exit(2)


def result(text: str, out: Path | None = None) -> None:
    """A result, to stdout or a file."""
    if out is None:
        sys.stdout.write(text if text.endswith("\n") else text + "\n")
        sys.stdout.flush()
    else:
        out.write_text(text if text.endswith("\n") else text + "\n", encoding="utf-8")


def strict_json(value: Any) -> str:
    """JSON without NaN."""
    return json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False)


def on_stop(action: Callable[[], None]) -> None:
    """SIGINT and SIGTERM call ``action`` instead of ending the program; only in the main thread."""
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: action())


def with_progress(items: list[Item], what: str) -> Iterator[Item]:
    """The items one by one; on stderr how far it is, where that is a terminal."""
    if len(items) < 2 or not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(items, description=what, console=Console(stderr=True), transient=True)


@contextlib.contextmanager
def counted(total: int, what: str) -> Iterator[Callable[[int], None]]:
    """A function that is told how many of ``total`` are done; on stderr, where that is a terminal, the bar, how many a second and
    how long it will still take."""
    if total < 2 or not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn(what),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=total, rate="")

        def told(done: int) -> None:
            speed = bar.tasks[0].speed
            bar.update(task, completed=done, rate="" if speed is None else say("command.rate", rate=speed))

        yield told


def wait_with_progress(over: threading.Event, done: Callable[[], float], of: float, what: str) -> None:
    """Waits for ``over``; on stderr how far it is, where that is a terminal."""
    if not sys.stderr.isatty():
        over.wait()
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=of)
        while not over.wait(0.1):
            bar.update(task, completed=done())
