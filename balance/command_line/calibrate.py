"""bandstand calibrate: a table of masses and counts to a calibration."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.calibrating.result import Calibrated


def run(
    source: Annotated[Path | None, typer.Option("--from", help=say("help.calibrate.from"))] = None,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    limits: Annotated[Path | None, typer.Option(help=say("help.calibrate.limits"))] = None,
    degree: Annotated[int | None, typer.Option(min=1, max=2, help=say("help.calibrate.degree"))] = None,
    gravity: Annotated[float, typer.Option(min=9.7, max=9.9, help=say("help.calibrate.gravity"))] = 9.80665,
    out: Annotated[Path | None, typer.Option(help=say("help.calibrate.out"))] = None,
    report: Annotated[Path | None, typer.Option(help=say("help.calibrate.report"))] = None,
    accept_anyway: Annotated[
        bool, typer.Option("--accept-anyway", help=say("help.calibrate.anyway"))
    ] = False,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.calibrating.limits import read_limits
    from balance.calibrating.points import read_points
    from balance.calibrating.polynomial import CannotFit
    from balance.calibrating.result import calibrate
    from balance.rig import read_rig

    the_rig = read_rig(rig) if rig else None
    the_limits = read_limits(limits) if limits else None
    if source is None:
        raise wrong("command.calibrate-from")
    points = read_points(source, gravity, the_rig)
    try:
        done = calibrate(points, the_rig, the_limits, degree=degree, anyway=accept_anyway)
    except CannotFit as error:
        (channel,) = error.args
        raise wrong("calibrate.cannot-fit", file=source, channel=channel, degree=degree or 1) from None
    finish(done, form, out, report, accept_anyway)


def finish(
    done: Calibrated, form: Format, out: Path | None, report: Path | None, accept_anyway: bool
) -> None:
    """Prints the result, writes the file where that is allowed, and ends with the status."""
    from balance.calibrating.words import calibration_lines

    if report is not None:
        from balance.calibrating.page import calibration_page

        result(calibration_page(done), report)
    result(strict_json(done.data) if form is Format.json else "\n".join(calibration_lines(done)))
    if out is not None and (done.accepted or accept_anyway):
        from balance.recording.writing import write_private

        write_private(out, strict_json(done.data["calibration"]) + "\n")
        message(say("command.written", file=out))
    elif out is not None:
        message(say("command.not-accepted", file=out))
    if not done.accepted:
        raise typer.Exit(1)
