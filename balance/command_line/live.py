"""bandstand live: the live picture on a board."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.words import say


def run(
    port: Annotated[str | None, typer.Option(help=say("help.port"))] = None,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    stance: Annotated[Path | None, typer.Option(help=say("help.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
    subject: Annotated[str, typer.Option(help=say("help.subject"))] = "unnamed",
    body_weight_n: Annotated[
        float | None, typer.Option("--body-weight-n", min=1, help=say("help.weight"))
    ] = None,
    out: Annotated[Path, typer.Option(help=say("help.record.out"))] = Path(),
    terminal: Annotated[bool, typer.Option("--terminal", help=say("help.terminal"))] = False,
) -> None:
    from balance.command_line.setting_up import described, find_port, needed, say_subjects, say_what_cannot_be
    from balance.command_line.showing import show
    from balance.session import Session
    from drivers.serial_board import SerialBoard

    say_subjects(out, subject)
    floor = needed(rig, stance, calibration, out)
    cannot = say_what_cannot_be(floor, body_weight_n)
    board = SerialBoard(find_port(port))
    show(
        lambda on_news: Session(
            board, floor.rig, floor.stance, floor.calibration,
            described=described(subject, body_weight_n), out=out, on_news=on_news, first_words=cannot,
        ),
        terminal=terminal,
    )  # fmt: skip
