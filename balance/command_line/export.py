"""bandstand export: recordings for other people's tools."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import message, result, with_progress, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.exporting.signals import Signals


class To(StrEnum):
    csv = "csv"
    parquet = "parquet"
    bids = "bids"
    c3d = "c3d"


NEEDS = {To.parquet: "pyarrow", To.c3d: "ezc3d"}


def run(
    paths: Annotated[list[Path], typer.Argument(metavar="REC...", help=say("help.analyse.paths"))],
    to: Annotated[To, typer.Option("--to", help=say("help.export.to"))],
    out: Annotated[Path, typer.Option(help=say("help.export.out"))] = Path(),
    cutoff: Annotated[str, typer.Option(help=say("help.export.cutoff"))] = "none",
) -> None:
    from balance.command_line.analyse import cutoff_of, folders_of
    from balance.exporting.signals import signals_of
    from balance.files import FileProblem
    from balance.recording import read_recording

    if to in NEEDS and importlib.util.find_spec(NEEDS[to]) is None:
        raise wrong("export.no-extra", to=to.value, extra=to.value)
    cutoff_hz = cutoff_of(cutoff)
    folders, unreadable = folders_of(paths)
    out.mkdir(parents=True, exist_ok=True)
    broken = len(unreadable)
    write = _writer(to)
    several = len({folder.resolve().parent for folder in folders}) > 1
    for folder in with_progress(folders, say("command.exporting")):
        try:
            recording = read_recording(folder)
            if cutoff_hz is not None and recording.trial.rate_hz and cutoff_hz >= recording.trial.rate_hz / 2:
                raise FileProblem(
                    folder,
                    say("command.cutoff-rate", text=cutoff, rate=recording.trial.rate_hz, recording=folder),
                )
            signals = signals_of(recording, cutoff_hz)
            if len(signals.time_s) == 0:
                raise FileProblem(folder, say("export.nothing", folder=folder))
        except FileProblem as error:
            message(str(error))
            broken += 1
            continue
        stem = recording.name.replace("/", "_") if several and to is not To.bids else folder.resolve().name
        for path in write(signals, out, stem):
            result(str(path))
    message(say(f"export.carried-{to.value}"))
    if broken:
        raise typer.Exit(2)


def _writer(to: To) -> Callable[[Signals, Path, str], list[Path]]:
    from balance.exporting import bids, c3d, tables

    return {
        To.csv: tables.write_csv,
        To.parquet: tables.write_parquet,
        To.bids: bids.write_bids,
        To.c3d: c3d.write_c3d,
    }[to]
