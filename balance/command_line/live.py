"""bandstand live: the live picture on a board."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.person_options import (
    BodyWeight,
    Conditions,
    Height,
    Orthosis,
    Placing,
    Posture,
    Research,
    SubjectCode,
    Touched,
    described,
)
from balance.command_line.research import ask
from balance.command_line.window_options import Language, ScreenMm, speaking
from balance.words import say


def run(
    port: Annotated[str | None, typer.Option(help=say("help.port"))] = None,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    stance: Annotated[Path | None, typer.Option(help=say("help.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
    subject: SubjectCode = "unnamed",
    body_weight_n: BodyWeight = None,
    orthosis: Orthosis = None,
    posture: Posture = None,
    placing: Placing = 1,
    helper: Touched = None,
    height_m: Height = None,
    condition: Conditions = None,
    research: Research = False,
    out: Annotated[Path, typer.Option(help=say("help.record.out"))] = Path(),
    no_tones: Annotated[bool, typer.Option("--no-tones", help=say("help.no-tones"))] = False,
    terminal: Annotated[bool, typer.Option("--terminal", help=say("help.terminal"))] = False,
    language: Language = None,
    screen_mm: ScreenMm = None,
) -> None:
    from balance.command_line.setting_up import find_port, needed, say_subjects, say_what_cannot_be
    from balance.command_line.showing import show
    from balance.session import Session
    from drivers.serial_board import SerialBoard

    speaking(language)
    person = described(subject, body_weight_n, orthosis, posture, placing, helper, height_m, condition)
    say_subjects(out, subject)
    if research:
        ask(out, person)
    floor = needed(rig, stance, calibration, out)
    cannot = say_what_cannot_be(floor, body_weight_n)
    board = SerialBoard(find_port(port))
    show(
        lambda on_news: Session(
            board, floor.rig, floor.stance, floor.calibration,
            described=person, out=out, on_news=on_news, first_words=cannot,
        ),
        terminal=terminal, tones=not no_tones, screen_mm=screen_mm,
    )  # fmt: skip
