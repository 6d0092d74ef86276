"""bandstand verify-rig: one known mass on marked places; are load and centre of pressure right."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import result, strict_json, wrong
from balance.words import say


def run(
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
    source: Annotated[Path | None, typer.Option("--from", help=say("help.verify.from"))] = None,
    figure: Annotated[Path | None, typer.Option(help=say("help.verify.figure"))] = None,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.command_line.setting_up import rig_and_calibration, say_doubts
    from balance.verifying.causes import causes
    from balance.verifying.picture import picture
    from balance.verifying.places import measure, read_placed, verification

    if rig is None or calibration is None:
        raise wrong("command.rig-and-calibration")
    if source is None:
        raise wrong("command.verify-from")
    the_rig, known = rig_and_calibration(rig, calibration)
    say_doubts(calibration, the_rig, known)
    places = measure(read_placed(source, the_rig), the_rig, known)
    data = verification(places)
    why = causes(places, the_rig)
    data["causes"] = [cause.sentence for cause in why]
    if not data["agrees"] and not why:
        data["causes"] = [say("verify.unexplained")]
    if any(place.ml_mm is None for place in places):
        keys = ["places.cop_ml_mm", "places.cop_ml_error_mm", "places.cop_ml_uncertainty_mm"]
        data["quality"] = [
            {"level": "note", "code": "ml-not-seen", "text": say("verify.in-line"), "keys": keys}
        ]
    if figure is not None:
        result(picture(places, the_rig), figure)
    result(strict_json(data) if form is Format.json else "\n".join(_lines(data)))
    if not data["agrees"]:
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
    lines.append(say("verify.agrees" if data["agrees"] else "verify.disagrees"))
    return lines
