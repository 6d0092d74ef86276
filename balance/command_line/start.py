"""bandstand start: the first window: a simulated person, a board, or a recording."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import message
from balance.command_line.window_options import Language, ScreenMm, speaking
from balance.words import say

if TYPE_CHECKING:
    from balance.window.first_view import FoundPort


def run(
    out: Annotated[Path, typer.Option(help=say("help.record.out"))] = Path(),
    language: Language = None,
    screen_mm: ScreenMm = None,
) -> None:
    from balance.recording import find_recordings
    from balance.window.probe import qt_problem

    speaking(language)
    problem = qt_problem()
    if problem is not None:
        message(problem)
        message(say("first.in-the-terminal"))
        raise typer.Exit(2)
    from balance.window.first_view import ask, newest_first

    chosen = ask(_ports, newest_first(find_recordings(out)), _missing(out))
    if chosen is None:
        return
    if chosen.what == "simulated":
        from balance.command_line import demo

        demo.run(screen_mm=screen_mm)
    elif chosen.what == "recording":
        from balance.command_line import replay

        replay.run(Path(chosen.where), screen_mm=screen_mm)
    else:
        from balance.command_line import live

        live.run(port=chosen.where, out=out, screen_mm=screen_mm)


def _ports() -> list[FoundPort]:
    """Every port, with what answers there."""
    from balance.window.first_view import FoundPort
    from drivers.finder import find_boards

    found = []
    for one in find_boards():
        if one.info:
            i = one.info
            words = say("command.board", port=one.port, id=i.board_id, channels=i.channels, rate=i.rate_hz, firmware=i.firmware)  # fmt: skip
            found.append(FoundPort(one.port, words, True))
        elif one.problem:
            found.append(FoundPort(one.port, say(one.problem.code, **one.problem.facts), False))
    return found


def _missing(out: Path) -> str | None:
    """What must be described before a board means anything; None where the folder knows it from the last time."""
    from balance.command_line.settings import read_settings

    last = read_settings(out)
    names = [name for name in ("rig", "calibration", "stance") if getattr(last, name) is None]
    return say("first.missing", names=", ".join(say(f"first.missing-{name}") for name in names)) if names else None  # fmt: skip
