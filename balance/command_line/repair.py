"""bandstand repair: closes an interrupted recording."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import result
from balance.words import say


def run(recording: Annotated[Path, typer.Argument(metavar="REC", help=say("help.recording"))]) -> None:
    from balance.recording import repair

    done = repair(recording)
    result(say("command.repaired" if done else "command.nothing-to-repair", recording=recording))
