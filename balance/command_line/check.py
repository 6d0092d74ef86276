"""bandstand check: the standing check of a session."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json, with_progress
from balance.words import name, say


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help=say("help.day"))],
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.day.reading import read_day
    from balance.day.standing_check import is_met, standing_check

    day = read_day(folder, progress=lambda paths: with_progress(paths, say("command.analysing")))
    for sentence in (*day.mixed, *day.broken):
        message(sentence)
    items = standing_check(day)
    result(strict_json(items) if form is Format.json else "\n".join(check_lines(items)))
    if day.broken:
        raise typer.Exit(2)
    if not is_met(items):
        raise typer.Exit(1)


def check_lines(items: list[dict[str, Any]]) -> list[str]:
    """The check for a person, a line an item."""
    lines = []
    for one in items:
        where = f", {name(one['side'])}" if one["side"] else ""
        where += f", {name(one['posture'])}" if one.get("posture") else ""
        lines.append(
            say(
                "check.line",
                item=name(one["item"]) + where,
                result=say(f"check.{one['result']}"),
                why=one["why"],
            )
        )
    return [*lines, say("caution.not-examined")]
