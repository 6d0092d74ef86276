"""bandstand devices: which ports have a board on them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json
from balance.words import say


def run(
    port: Annotated[list[str] | None, typer.Option(help=say("help.devices.port"))] = None,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from drivers.finder import find_boards

    found = find_boards(port or None)
    if form is Format.json:
        rows = [
            {"port": f.port, "board": asdict(f.info) if f.info else None,
             "problem": say(f.problem.code, **f.problem.facts) if f.problem else None}
            for f in found
        ]  # fmt: skip
        result(strict_json(rows))
    else:
        for f in found:
            if f.info:
                i = f.info
                result(
                    say(
                        "command.board",
                        port=f.port,
                        id=i.board_id,
                        channels=i.channels,
                        rate=i.rate_hz,
                        firmware=i.firmware,
                    )
                )
            elif f.problem:
                result(say(f.problem.code, **f.problem.facts))
    if not any(f.info for f in found):
        message(say("command.no-board"))
        raise typer.Exit(1)
