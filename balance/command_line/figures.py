"""bandstand figures: pictures for a paper."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.output import message, result, with_progress, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.recording import Recording


class Kind(StrEnum):
    png = "png"
    svg = "svg"
    pdf = "pdf"


def run(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help=say("help.analyse.paths"))],
    out: Annotated[Path, typer.Option(help=say("help.export.out"))] = Path(),
    kind: Annotated[Kind, typer.Option("--format", help=say("help.figures.format"))] = Kind.png,
    cutoff: Annotated[str, typer.Option(help=say("help.analyse.cutoff"))] = "10",
    agreement: Annotated[str | None, typer.Option(help=say("help.figures.agreement"))] = None,
) -> None:
    from balance import figures
    from balance.command_line.analyse import cutoff_of, folders_of
    from balance.files import FileProblem
    from balance.recording import read_recording

    cutoff_hz = cutoff_of(cutoff)
    folders, unreadable = folders_of(paths)
    out.mkdir(parents=True, exist_ok=True)
    if agreement is not None:
        path = out / f"agreement-{agreement}.{kind.value}"
        figures.save(_agreement(folders, agreement), path)
        result(str(path))
        return
    broken = len(unreadable)
    for folder in with_progress(folders, say("command.drawing")):
        try:
            recording = read_recording(folder)
            for name, figure in _drawn(recording, cutoff_hz).items():
                path = out / f"{recording.name.replace('/', '_')}_{name}.{kind.value}"
                figures.save(figure, path)
                result(str(path))
        except FileProblem as error:
            message(str(error))
            broken += 1
    if broken:
        raise typer.Exit(2)


def _drawn(recording: Recording, cutoff_hz: float | None) -> dict[str, Any]:
    """What the recording is long enough for; the rest is said."""
    from balance import figures
    from balance.exporting.signals import signals_of

    signals = signals_of(recording, cutoff_hz)
    points = figures.feet_points(signals)
    seconds = points.shape[1] / signals.rate_hz
    drawn: dict[str, Any] = {"load": figures.load_over_time(signals)} if len(signals.time_s) else {}
    if seconds >= 10:
        drawn["stabilogram"] = figures.stabilogram(points)
    if seconds >= 20:
        drawn |= {
            "spectra": figures.spectra(points, signals.rate_hz),
            "diffusion": figures.diffusion_plot(points, signals.rate_hz),
        }
    if len(drawn) < 4:
        message(say("figures.too-short", recording=recording.name, seconds=seconds))
    return drawn


def _agreement(folders: list[Path], measure: str) -> Any:
    """The first two repeats of each person."""
    import numpy as np

    from balance.analysis import findings
    from balance.day.reading import Found
    from balance.day.reliability import pairs_of
    from balance.figures import agreement_plot
    from balance.recording import read_recording
    from balance.study.rows import unit_of

    found = []
    for folder in with_progress(folders, say("command.analysing")):
        recording = read_recording(folder)
        found.append(Found(folder, recording.name, recording.trial, findings(recording)))
    pairs = pairs_of(found, measure)
    if len(pairs) < 3:
        raise wrong("figures.no-pairs", measure=measure, count=len(pairs))
    first, second = np.array(pairs).T
    return agreement_plot(first, second, measure, unit_of(measure) or "1")
