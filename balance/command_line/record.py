"""bandstand record: a trial without a window."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import message, on_stop, result, wrong
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
from balance.command_line.research import ask, wait_for_the_next
from balance.words import say

if TYPE_CHECKING:
    from balance.live_state import Described
    from balance.protocols import Protocol
    from balance.session import Session


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
    research: Research = False,
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
    repeats = ask(out, person) if research else 1
    floor = needed(rig, stance, calibration, out)
    say_what_cannot_be(floor, body_weight_n)
    session = Session(
        SerialBoard(find_port(port)), floor.rig, floor.stance, floor.calibration,
        described=person, out=out,
    )  # fmt: skip
    on_stop(session.request_stop)
    recorded = _all_trials(session, person, chosen, seconds, hands_free=hands_free, repeats=repeats)
    state = session.latest()
    if state.problem:
        message(state.problem)
    if not recorded:
        raise wrong("command.nothing-recorded")
    for folder in recorded:
        result(str(folder))
    if state.problem:
        raise typer.Exit(1)


def _all_trials(
    session: Session,
    person: Described,
    protocol: Protocol,
    seconds: float | None,
    *,
    hands_free: bool,
    repeats: int,
) -> list[Path]:
    """The recordings, until all are done or the source ends."""
    recorded: list[Path] = []
    try:
        session.open()
        for number in range(1, repeats + 1):
            if number > 1:
                wait_for_the_next(session, number, repeats)
            if session.finished.is_set():
                break
            if repeats > 1:
                person.protocol_settings = {"repeat": number, "repeats": repeats}
            _one_trial(session, protocol, seconds, hands_free)
            if number == 1:
                session.start()
            session.trial_over.wait()
            last = session.latest().recorded
            recorded += [] if last is None or last in recorded else [last]
    finally:
        session.stop()
    last = session.latest().recorded
    return recorded if last is None or last in recorded else [*recorded, last]


def _one_trial(session: Session, protocol: Protocol, seconds: float | None, hands_free: bool) -> None:
    """Begun now, or by the person's standing still."""
    if not hands_free:
        message(say("command.recording", folder=session.begin_trial(protocol, seconds)))
        return
    session.trial_over.clear()
    if not session.is_hands_free:
        message(say("course.sitting"))
        session.hands_free(protocol, seconds)


def _targets(text: str) -> list[int]:
    """'50,65,80': parts of body weight, %."""
    try:
        wanted = [int(part) for part in text.split(",")]
    except ValueError:
        raise wrong("command.targets", text=text) from None
    if not all(10 <= target <= 100 for target in wanted):
        raise wrong("command.targets", text=text)
    return wanted
