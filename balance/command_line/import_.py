"""bandstand import: a force-plate text table as a recording."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import message, result
from balance.words import say


def run(
    tables: Annotated[list[Path], typer.Argument(metavar="TABLE...", help=say("help.import.tables"))],
    mapping: Annotated[Path, typer.Option(help=say("help.import.mapping"))],
    out: Annotated[Path, typer.Option(help=say("help.record.out"))] = Path(),
    subject: Annotated[str, typer.Option(help=say("help.subject"))] = "imported",
    stance: Annotated[Path | None, typer.Option(help=say("help.import.stance"))] = None,
) -> None:
    from balance.files import FileProblem
    from balance.importing.mapping import read_mapping
    from balance.importing.recording import import_table
    from balance.stance import read_stance

    said, shoes = read_mapping(mapping), read_stance(stance) if stance else None
    broken = 0
    for table in tables:
        try:
            result(str(import_table(table, said, out, subject, shoes)))
        except FileProblem as error:
            message(str(error))
            broken += 1
    message(say("import.one-plate" if said.one_plate else "import.not-counts"))
    if broken:
        raise typer.Exit(2)
