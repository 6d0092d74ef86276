"""Shows a session: in the window where there is one, else in the terminal."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from balance.command_line.output import message

if TYPE_CHECKING:
    from pathlib import Path

    from balance.findings_words import Told
    from balance.protocols import Protocol
    from balance.session import Session

Making = "Callable[[Callable[[], None]], Session]"


def findings_told(folder: Path) -> Told:
    """The findings of a closed recording, in words, with its time and what was adjusted since the trial before."""
    from balance.analysis import analyse_recording
    from balance.day.notes import adjusted_between
    from balance.findings_words import told
    from balance.recording import find_recordings, started

    at, found = started(folder), told(analyse_recording(folder, basic=True))
    if at is None:
        return found
    earlier = [
        begun for one in find_recordings(folder.parent) if (begun := started(one)) is not None and begun < at
    ]
    return found._replace(
        at=f"{at:%H:%M}", before=adjusted_between(folder.parent, max(earlier, default=None), at)
    )


def show(
    make: Callable[[Callable[[], None]], Session],
    *,
    terminal: bool,
    trials: list[tuple[Protocol, float | None]] | None = None,
    tones: bool = True,
    screen_mm: float | None = None,
) -> None:
    """Until the user ends it or the source does; ``trials`` are recorded one after the other by themselves. tones: a short one at a
    trial's start and end."""
    if not terminal:
        from balance.window.probe import qt_problem

        problem = qt_problem()
        if problem is None:
            from balance.window.app import run

            run(make, findings_told, trials or [], tones, screen_mm)
            return
        message(problem)
    from balance.command_line.terminal_view import run_terminal

    run_terminal(make, findings_told, trials or [], tones)
