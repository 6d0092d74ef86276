"""bandstand record: a trial without a window."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import message, on_stop, result, wrong
from balance.command_line.person_options import (
    BodyWeight,
    Conditions,
    Height,
    Orthosis,
    Placing,
    Posture,
    SubjectCode,
    Touched,
    described,
)
from balance.words import say


def run(
    protocol: Annotated[str, typer.Option(help=say("help.record.protocol"))] = "quiet-standing",
    seconds: Annotated[
        float | None, typer.Option(min=0.1, max=86400, help=say("help.record.seconds"))
    ] = None,
    targets: Annotated[str | None, typer.Option(help=say("help.record.targets"))] = None,
    repetitions: Annotated[int, typer.Option(min=1, max=10, help=say("help.record.repetitions"))] = 1,
    hands_free: Annotated[bool, typer.Option("--hands-free", help=say("help.record.hands-free"))] = False,
    out: Annotated[Path, typer.Option(help=say("help.record.out"))] = Path(),
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
) -> None:
    from balance.command_line.setting_up import find_port, needed, say_subjects, say_what_cannot_be
    from balance.protocols import by_name
    from balance.protocols.weight_shift import with_targets
    from balance.session import Session
    from drivers.serial_board import SerialBoard

    chosen = by_name(protocol)
    if chosen is None:
        raise wrong("command.protocol", name=protocol)
    if targets is not None:
        if chosen.name != "weight shift":
            raise wrong("command.targets-protocol")
        chosen = with_targets(_targets(targets), repetitions)
    person = described(subject, body_weight_n, orthosis, posture, placing, helper, height_m, condition)
    say_subjects(out, subject)
    floor = needed(rig, stance, calibration, out)
    say_what_cannot_be(floor, body_weight_n)
    session = Session(
        SerialBoard(find_port(port)), floor.rig, floor.stance, floor.calibration,
        described=person, out=out,
    )  # fmt: skip
    on_stop(session.request_stop)
    try:
        session.open()
        if hands_free:
            message(say("course.sitting"))
            session.hands_free(chosen, seconds)
        else:
            message(say("command.recording", folder=session.begin_trial(chosen, seconds)))
        session.start()
        session.trial_over.wait()
    finally:
        session.stop()
    state = session.latest()
    if state.problem:
        message(state.problem)
    if state.recorded is None:
        raise wrong("command.nothing-recorded")
    result(str(state.recorded))
    if state.problem:
        raise typer.Exit(1)


def _targets(text: str) -> list[int]:
    """'50,65,80': parts of body weight, %."""
    try:
        wanted = [int(part) for part in text.split(",")]
    except ValueError:
        raise wrong("command.targets", text=text) from None
    if not all(10 <= target <= 100 for target in wanted):
        raise wrong("command.targets", text=text)
    return wanted
