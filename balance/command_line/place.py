"""bandstand place: a shoe or a placing, from presses on the plate, by tape, on the marks or by eye, into a stance file."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import message, result, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.placing import Press
    from balance.rig import Side
    from balance.stance import Stance


class Way(StrEnum):
    marks = "on-the-marks"
    eye = "by-eye"


class Which(StrEnum):
    left = "left"
    right = "right"
    both = "both"


class Tips(StrEnum):
    tape = "tape"
    eye = "by-eye"


def run(
    stance: Annotated[Path | None, typer.Option(help=say("help.place.stance"))] = None,
    out: Annotated[Path | None, typer.Option(help=say("help.place.out"))] = None,
    source: Annotated[Path | None, typer.Option("--from", help=say("help.place.from"))] = None,
    press: Annotated[Which | None, typer.Option(help=say("help.place.press"))] = None,
    port: Annotated[str | None, typer.Option(help=say("help.port"))] = None,
    window: Annotated[bool, typer.Option("--window", help=say("help.guided.window"))] = False,
    way: Annotated[Way | None, typer.Option(help=say("help.place.way"))] = None,
    tips: Annotated[Tips | None, typer.Option(help=say("help.place.tips"))] = None,
    left_tip: Annotated[str | None, typer.Option(help=say("help.place.tip"))] = None,
    right_tip: Annotated[str | None, typer.Option(help=say("help.place.tip"))] = None,
    shoe: Annotated[Path | None, typer.Option(help=say("help.place.shoe"))] = None,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
) -> None:
    from balance.files import as_toml
    from balance.placing import placed, read_presses, read_shoe, shoe_of, with_shoe, with_tips
    from balance.recording.writing import write_private
    from balance.stance import read_stance

    if stance is None:
        raise wrong("command.stance-needed")
    known = read_stance(stance)
    if shoe is not None and shoe.exists():
        known = with_shoe(known, read_shoe(shoe))
    if source is not None:
        known = _pressed(known, read_presses(source))
    elif press is not None:
        if rig is None or calibration is None:
            raise wrong("command.rig-and-calibration")
        known = _pressed(known, _presses(rig, calibration, port, press, window))
    if way is not None:
        known = placed(known, "on the marks" if way is Way.marks else "by eye")
    given: tuple[tuple[Side, str | None], ...] = (("left", left_tip), ("right", right_tip))
    places = {side: _place(text) for side, text in given if text}
    if tips is not None or places:
        known = with_tips(known, places, "by eye" if tips is Tips.eye else "tape")
    for line in _said(known):
        result(line)
    if rig is not None and calibration is not None:
        from balance.command_line.setting_up import Floor, rig_and_calibration, say_what_cannot_be

        say_what_cannot_be(Floor(*rig_and_calibration(rig, calibration), stance=known), None)
    write_private(out or stance, as_toml(known))
    message(say("command.written", file=out or stance))
    if shoe is not None:
        write_private(shoe, as_toml(shoe_of(known)))
        message(say("command.written", file=shoe))


def _pressed(stance: Stance, presses: list[Press]) -> Stance:
    from balance.placing import pressed_stance

    try:
        return pressed_stance(stance, presses)
    except ValueError as error:
        message(str(error))
        raise typer.Exit(2) from None


def _presses(rig: Path, calibration: Path, port: str | None, which: Which, window: bool) -> list[Press]:  # fmt: skip
    """Guided on a board."""
    from balance.command_line.guided import board, run_guided
    from balance.command_line.setting_up import refuse_other_board, rig_and_calibration
    from balance.guiding.pressing import PressJob
    from balance.rig import SIDES

    the_rig, known = rig_and_calibration(rig, calibration)
    job = PressJob(the_rig, known, [side for side in SIDES if which in (Which.both, side)])
    taken, info = run_guided(board(port), job.steps, say("guide.job-place"), window=window)
    refuse_other_board(calibration, known, info)
    return job.presses(taken)


def _place(text: str) -> tuple[float, float]:
    parts = text.split(",")
    try:
        ap, ml = (float(part) for part in parts)
    except ValueError:
        raise wrong("command.place", text=text) from None
    return ap, ml


def _said(stance: Stance) -> list[str]:
    from balance.rig import SIDES

    lines = []
    for side in SIDES:
        f = stance.foot(side)
        lines.append(
            say(
                "place.foot", side=side, ap=f.heel_edge_ap_mm, ml=f.heel_edge_ml_mm, pm=2 * f.placement_uncertainty_mm,
                toe=f.toe_out_deg, toe_pm=2 * f.toe_out_uncertainty_deg, length=f.usable_length_mm, length_pm=2 * f.length_uncertainty_mm,
            )
        )  # fmt: skip
    return lines
