"""bandstand pack: a session as one file (zip), with everything that stands in its folder."""

from __future__ import annotations

import os
import zipfile
from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import result, wrong
from balance.words import say


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help=say("help.day"))],
    out: Annotated[Path | None, typer.Option(help=say("help.pack.out"))] = None,
) -> None:
    from balance.recording import find_recordings

    if not folder.is_dir() or not find_recordings(folder):
        raise wrong("command.no-recordings", path=folder)
    here = folder.resolve()
    path = out or here.with_name(f"{here.parent.name}-{here.name}.zip")
    if path.exists():
        raise wrong("pack.exists", file=path)
    temporary = path.with_name(path.name + ".new")
    with (
        os.fdopen(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        for one in sorted(here.rglob("*")):
            if one.is_file() and not one.is_symlink():
                archive.write(one, Path(here.parent.name) / here.name / one.relative_to(here))
    temporary.replace(path)
    result(str(path))
