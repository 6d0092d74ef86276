"""bandstand measures: every sway measure with its unit, formula, source, and what it needs."""

from __future__ import annotations

from typing import Annotated

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import result, strict_json
from balance.words import say


def run(form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table) -> None:
    from balance.measures.sway import declared

    rows = declared()
    if form is Format.json:
        result(strict_json(rows))
        return
    result("\n".join(say("measures.line", **{**row, "axes": ", ".join(row["axes"])}) for row in rows))
