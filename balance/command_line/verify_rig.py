"""bandstand verify-rig: one known mass on marked places, from a table or guided; or the daily minute without masses."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import result, strict_json, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.calibration import Calibration
    from balance.rig import Rig


def run(
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
    source: Annotated[Path | None, typer.Option("--from", help=say("help.verify.from"))] = None,
    mass_kg: Annotated[float | None, typer.Option(min=0.1, max=300, help=say("help.verify.mass"))] = None,
    mass_uncertainty_kg: Annotated[
        float | None, typer.Option(min=0, help=say("help.calibrate.mass-u"))
    ] = None,
    daily: Annotated[bool, typer.Option("--daily", help=say("help.verify.daily"))] = False,
    port: Annotated[str | None, typer.Option(help=say("help.port"))] = None,
    window: Annotated[bool, typer.Option("--window", help=say("help.guided.window"))] = False,
    gravity: Annotated[float, typer.Option(min=9.7, max=9.9, help=say("help.calibrate.gravity"))] = 9.80665,
    figure: Annotated[Path | None, typer.Option(help=say("help.verify.figure"))] = None,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.command_line.setting_up import refuse_other_board, rig_and_calibration, say_doubts
    from balance.verifying.causes import causes
    from balance.verifying.picture import picture
    from balance.verifying.places import measure, read_placed, verification

    if rig is None or calibration is None:
        raise wrong("command.rig-and-calibration")
    the_rig, known = rig_and_calibration(rig, calibration)
    say_doubts(calibration, the_rig, known)
    if daily:
        _daily(calibration, the_rig, known, port, form, window)
        return
    drifts: list[str] = []
    if source is not None:
        placed = read_placed(source, the_rig)
    elif mass_kg is not None:
        from balance.command_line.guided import board, run_guided
        from balance.guiding.plates import PlateJob, masses_on_marks

        job = PlateJob(the_rig, masses_on_marks(the_rig, [mass_kg], mass_uncertainty_kg, gravity), known)
        taken, info = run_guided(board(port), job.steps, say("guide.job-verify"), window=window)
        refuse_other_board(calibration, known, info)
        known = known.with_zeros(job.zeros(taken))
        placed = [place for place in job.placed(taken) if place.applied_n]
        drifts = _drifts(the_rig, job.drifted_n(taken))
    else:
        raise wrong("command.verify-from")
    places = measure(placed, the_rig, known)
    data = verification(places)
    why = causes(places, the_rig)
    data["causes"] = [*drifts, *(cause.sentence for cause in why)]
    if not data["agrees"] and not data["causes"]:
        data["causes"] = [say("verify.unexplained")]
    if any(place.ml_mm is None for place in places):
        keys = ["places.cop_ml_mm", "places.cop_ml_error_mm", "places.cop_ml_uncertainty_mm"]
        data["quality"] = [
            {"level": "note", "code": "ml-not-seen", "text": say("verify.in-line"), "keys": keys}
        ]
    if figure is not None:
        result(picture(places, the_rig), figure)
    result(strict_json(data) if form is Format.json else "\n".join(_lines(data)))
    if drifts or not data["agrees"]:
        raise typer.Exit(1)


def _drifts(rig: Rig, moved_n: dict[int, float]) -> list[str]:
    """A sentence for each cell whose zero moved too far."""
    from balance.self_checks import DRIFT_TIMES

    limit = DRIFT_TIMES * rig.zero_drift_n
    return [
        say("verify.drifted", cell=say("verify.cell", channel=c.channel, under=c.under), moved=moved_n[c.channel], limit=limit)
        for c in rig.cells
        if abs(moved_n.get(c.channel, 0.0)) > limit
    ]  # fmt: skip


def _daily(file: Path, rig: Rig, known: Calibration, port: str | None, form: Format, window: bool) -> None:  # fmt: skip
    """The minute without masses: prints, and ends with status 1 where the plates do not agree."""
    from balance.command_line.guided import board, run_guided
    from balance.command_line.setting_up import refuse_other_board
    from balance.guiding.daily import WITHIN, DailyJob

    job = DailyJob(rig, known)
    taken, info = run_guided(board(port), job.steps, say("guide.job-daily"), window=window)
    refuse_other_board(file, known, info)
    found = job.result(taken)
    data = {
        "left_n": found.left_n, "right_n": found.right_n, "difference_pct": 100 * found.difference,
        "limit_pct": 100 * WITHIN, "agrees": found.agrees,
    }  # fmt: skip
    result(strict_json(data) if form is Format.json else found.sentence)
    if not found.agrees:
        raise typer.Exit(1)


def _lines(data: dict[str, object]) -> list[str]:
    lines = [say("verify.head", k=data["coverage_factor"])]
    places = data["places"]
    assert isinstance(places, list)
    for row in places:
        key = "verify.row" if row["cop_ml_mm"] is not None else "verify.row-in-line"
        mark = " " if row["agrees"] else "!"
        lines.append(say(key, mark=mark, **{k: v for k, v in row.items() if v is not None}))
    causes = data["causes"]
    assert isinstance(causes, list)
    if len(causes) > 1:
        lines.append(say("verify.several"))
    lines += [say("summary.quality", text=sentence) for sentence in causes]
    lines.append(
        say(
            "verify.agrees"
            if data["agrees"] and not causes
            else "verify.disagrees"
            if not data["agrees"]
            else "verify.drifts"
        )
    )
    return lines
