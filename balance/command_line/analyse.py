"""bandstand analyse: recordings (or folders of them) → findings."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.output import message, result, strict_json, with_progress, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.calibration import Calibration
    from balance.stance import Stance


class Format(StrEnum):
    table = "table"
    json = "json"
    csv = "csv"


class Spectrum(StrEnum):
    multitaper = "multitaper"
    welch = "welch"


def run(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help=say("help.analyse.paths"))],
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
    out: Annotated[Path | None, typer.Option(help=say("help.analyse.out"))] = None,
    cutoff: Annotated[str, typer.Option(help=say("help.analyse.cutoff"))] = "10",
    spectrum: Annotated[Spectrum, typer.Option(help=say("help.analyse.spectrum"))] = Spectrum.multitaper,
    budget: Annotated[bool, typer.Option("--budget", help=say("help.analyse.budget"))] = False,
    stance: Annotated[Path | None, typer.Option(help=say("help.analyse.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.analyse.calibration"))] = None,
) -> None:
    from balance.calibration import read_calibration
    from balance.recording import find_recordings
    from balance.stance import read_stance

    cutoff_hz = _cutoff(cutoff)
    other_stance = read_stance(stance) if stance else None
    other_calibration = read_calibration(calibration) if calibration else None
    folders: list[Path] = []
    for path in paths:
        found = find_recordings(path) if path.is_dir() else [path]
        if not found:
            raise wrong("command.no-recordings", path=path)
        folders += found
    results, broken = [], 0
    for folder in with_progress(folders, say("command.analysing")):
        one = _one(folder, cutoff_hz, spectrum.value, other_stance, other_calibration, budget)
        if "error" in one:
            broken += 1
            if len(folders) == 1:
                message(one["error"])
                raise typer.Exit(2)
        results.append(one)
    result(_text(results, form), out)
    if broken:
        message(say("command.some-broken", broken=broken, of=len(folders)))
        raise typer.Exit(2)


def _cutoff(text: str) -> float | None:
    if text == "none":
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < float("inf"):
        raise wrong("command.cutoff", text=text)
    return value


def _one(
    folder: Path,
    cutoff_hz: float | None,
    spectrum: str,
    stance: Stance | None,
    calibration: Calibration | None,
    budgets: bool,
) -> dict[str, Any]:
    from balance.analysis import analyse_recording
    from balance.files import FileProblem
    from balance.filters import ImpossibleCutoff
    from balance.recording.reading import recording_name

    try:
        return analyse_recording(
            folder, cutoff_hz=cutoff_hz, spectrum="welch" if spectrum == "welch" else "multitaper", stance=stance,
            calibration=calibration, budgets=budgets,
        )  # fmt: skip
    except FileProblem as error:
        return {"recording": recording_name(folder), "error": str(error)}
    except ImpossibleCutoff as error:
        raise wrong(
            "command.cutoff-rate", text=f"{error.cutoff_hz:g}", rate=error.rate_hz, recording=folder
        ) from None


def _text(results: list[dict[str, Any]], form: Format) -> str:
    if form is Format.json:
        return strict_json(results)
    if form is Format.csv:
        return _csv(results)
    from balance.budget import budget_lines
    from balance.findings_words import summary_lines

    blocks = []
    for one in results:
        block = [one["recording"], one["error"]] if "error" in one else summary_lines(one)
        for name, table in one.get("budget", {}).items():
            block += ["", *budget_lines(name, table)]
        blocks.append(block)
    return "\n\n".join("\n".join(block) for block in blocks)


def _csv(results: list[dict[str, Any]]) -> str:
    import pandas as pd

    flat = [
        _flat({k: v for k, v in one.items() if k not in ("shifts", "quality", "budget")}, one)
        for one in results
    ]
    return str(pd.DataFrame(flat).to_csv(index=False, lineterminator="\n"))


def _flat(value: dict[str, Any], one: dict[str, Any], prefix: str = "") -> dict[str, Any]:
    row: dict[str, Any] = {}
    for key, item in value.items():
        if isinstance(item, dict):
            row |= _flat(item, {}, f"{prefix}{key}.")
        else:
            row[prefix + key] = item
    if one.get("quality"):
        row["quality"] = " ".join(entry["code"] for entry in one["quality"])
    return row
