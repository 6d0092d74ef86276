"""bandstand sheet: a shoe's outline sheet to print 1:1."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import message, result, wrong
from balance.words import say


class Paper(StrEnum):
    a4 = "a4"
    letter = "letter"


class Which(StrEnum):
    left = "left"
    right = "right"
    both = "both"


def run(
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    stance: Annotated[Path | None, typer.Option(help=say("help.stance"))] = None,
    side: Annotated[Which, typer.Option(help=say("help.sheet.side"))] = Which.both,
    paper: Annotated[Paper, typer.Option(help=say("help.sheet.paper"))] = Paper.a4,
    out: Annotated[Path, typer.Option(help=say("help.sheet.out"))] = Path("sheet.html"),
) -> None:
    from balance.report.sheet import sheet
    from balance.rig import SIDES, read_rig
    from balance.stance import read_stance

    if rig is None or stance is None:
        raise wrong("command.rig-and-stance")
    sides = SIDES if side is Which.both else tuple(s for s in SIDES if s == side.value)
    result(sheet(read_rig(rig), read_stance(stance), sides, "a4" if paper is Paper.a4 else "letter"), out)
    message(say("command.sheet", file=out))
