"""bandstand reliability: how well each measure repeats over placings of several people."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json, wrong
from balance.words import number, say


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help=say("help.reliability.folder"))],
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.command_line.compare import found_in
    from balance.day.reliability import reliability

    broken: list[str] = []
    entries = reliability(found_in(folder, broken))
    for sentence in broken:
        message(sentence)
    if not entries:
        raise wrong("reliability.too-few", folder=folder)
    for entry in entries:
        left_out = entry.pop("left_out", 0)
        others = entry.pop("other_conditions", 0)
        said = [
            (code, count) for code, count in (("unbalanced", left_out), ("other-conditions", others)) if count
        ]
        if said:
            entry["quality"] = [
                {"level": "warning", "code": code, "text": say(f"quality.{code}", count=count)}
                for code, count in said
            ]
    result(strict_json(entries) if form is Format.json else "\n".join(_lines(entries)))
    if broken:
        raise typer.Exit(2)


def _lines(entries: list[dict[str, Any]]) -> list[str]:
    lines = [say("reliability.head")]
    for one in entries:
        interval = one["ci95_icc_2_1"]
        shown = "–" if interval is None else say("reliability.interval", low=interval[0], high=interval[1])
        lines.append(
            say("reliability.line", measure=one["measure"], subjects=one["subjects"], repeats=one["repeats"], icc=number(one["icc_2_1"], ".2f"), interval=shown,
                sem=number(one["sem_agreement"], ".2f"), mdc=number(one["mdc95_agreement"], ".2f"), mark="*" if one["unbalanced"] else " ")
        )  # fmt: skip
    return [*lines, say("reliability.foot")]
