"""bandstand analyse: recordings (or folders of them) → findings."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.output import counted, message, result, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.study.journal import InMemory, Journal
    from balance.study.noise_floor import Floor
    from balance.study.run import Engine, Study
    from balance.study.settings import Settings


SAID = 6  # of broken recordings: the rest stands in the table alone


class Format(StrEnum):
    table = "table"
    json = "json"
    csv = "csv"


class StudyFormat(StrEnum):
    table = "table"
    json = "json"
    csv = "csv"
    parquet = "parquet"
    jsonl = "jsonl"


class Spectrum(StrEnum):
    multitaper = "multitaper"
    welch = "welch"


def run(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help=say("help.analyse.paths"))],
    form: Annotated[
        StudyFormat, typer.Option("--format", help=say("help.analyse.format"))
    ] = StudyFormat.table,
    out: Annotated[Path | None, typer.Option(help=say("help.analyse.out"))] = None,
    cutoff: Annotated[str, typer.Option(help=say("help.analyse.cutoff"))] = "10",
    spectrum: Annotated[Spectrum, typer.Option(help=say("help.analyse.spectrum"))] = Spectrum.multitaper,
    budget: Annotated[bool, typer.Option("--budget", help=say("help.analyse.budget"))] = False,
    stance: Annotated[Path | None, typer.Option(help=say("help.analyse.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.analyse.calibration"))] = None,
    floor: Annotated[Path | None, typer.Option(help=say("help.analyse.floor"))] = None,
    vary: Annotated[str | None, typer.Option(help=say("help.analyse.vary"))] = None,
    ratios: Annotated[str | None, typer.Option(help=say("help.analyse.ratios"))] = None,
    jobs: Annotated[int, typer.Option(min=1, max=256, help=say("help.analyse.jobs"))] = 1,
    resume: Annotated[bool, typer.Option("--resume", help=say("help.analyse.resume"))] = False,
    cluster: Annotated[str | None, typer.Option(help=say("help.analyse.cluster"))] = None,
) -> None:
    from balance.calibration import read_calibration
    from balance.stance import read_stance
    from balance.study.mixed import Mixed
    from balance.study.settings import Settings

    if resume and out is None:
        raise wrong("study.resume-needs-out")
    if form is StudyFormat.parquet and out is None:
        raise wrong("study.parquet-needs-out")
    if form is StudyFormat.parquet and find_spec("pyarrow") is None:
        raise wrong("study.no-parquet-extra")
    settings = Settings(
        cutoff_of(cutoff),
        "welch" if spectrum is Spectrum.welch else "multitaper",
        read_stance(stance) if stance else None,
        read_calibration(calibration) if calibration else None,
        budget,
        None if floor is None else _floor(floor, cutoff, spectrum),
    )
    folders, unreadable = folders_of(paths)
    if vary is not None:
        _vary(folders, settings, vary, form, out)
        return
    with _journal(folders, out, resume=resume) as journal:
        study = _studied(folders, settings, _engine(jobs, cluster), journal)
        broken = len(unreadable)
        mixed = Mixed()
        for found in study.found():
            mixed.saw(found)
            if "error" in found:
                broken += 1
                if broken <= SAID:
                    message(found["error"])
                if len(folders) == 1:
                    raise typer.Exit(2)
        if ratios is not None:
            _ratios(study.found(), ratios, form, out)
        else:
            _write(study, form, out)
    for sentence in mixed.sentences():
        message(sentence)
    if broken:
        message(say("command.some-broken", broken=broken, of=len(folders) + len(unreadable)))
        raise typer.Exit(2)


def cutoff_of(text: str) -> float | None:
    if text == "none":
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < float("inf"):
        raise wrong("command.cutoff", text=text)
    return value


def _floor(path: Path, cutoff: str, spectrum: Spectrum) -> Floor:
    """A noise-floor recording, under the same filter."""
    from balance.study.noise_floor import NoFloor, read_floor

    try:
        return read_floor(path, cutoff_of(cutoff), spectrum.value)
    except NoFloor as error:
        raise wrong("study.no-floor", folder=path, protocol=error) from None


def folders_of(paths: list[Path]) -> tuple[list[Path], list[Path]]:
    """Every recording once, and the folders that may not be looked into, which are said."""
    from balance.recording import find_recordings

    folders: list[Path] = []
    unreadable: list[Path] = []
    for path in paths:
        found = find_recordings(path, unreadable) if path.is_dir() else [path]
        if not found:
            raise wrong("command.no-recordings", path=path)
        folders += found
    for folder in unreadable:
        message(say("study.unreadable", folder=folder))
    return list({folder.resolve(): folder for folder in folders}.values()), unreadable


def _engine(jobs: int, address: str | None) -> Engine:
    from functools import partial

    from balance.study import engines

    if address is not None:
        if find_spec("distributed") is None:
            raise wrong("study.no-cluster-extra")
        return partial(engines.cluster, address=address)
    return engines.here if jobs == 1 else partial(engines.processes, jobs=jobs)


def _journal(folders: list[Path], out: Path | None, *, resume: bool) -> Journal | InMemory:
    """Beside the table; of one recording, or on the screen, nothing is kept."""
    from balance.study.journal import InMemory, Journal

    if out is None or len(folders) < 2:
        return InMemory()
    return Journal(out.with_name(f"{out.name}.rows.jsonl"), go_on=resume)


def _studied(folders: list[Path], settings: Settings, engine: Engine, journal: Journal | InMemory) -> Study:
    from balance.study.engines import NoCluster
    from balance.study.journal import InMemory
    from balance.study.run import run_study

    already = set(journal.known)
    kept_in = None if isinstance(journal, InMemory) else journal.path
    with counted(len(folders), say("command.analysing")) as told:
        try:
            return run_study(folders, settings, engine, journal, told)
        except KeyboardInterrupt:
            done = len(set(journal.known) - already)
            message(
                say("study.stopped" if kept_in else "study.stopped-kept-nothing", done=done, file=kept_in)
            )
            raise typer.Exit(1) from None
        except NoCluster as error:
            message(str(error))
            raise typer.Exit(2) from None
        except OSError as error:
            if kept_in is None:
                raise
            message(say("study.cannot-keep", file=kept_in, reason=error.strerror or str(error)))
            raise typer.Exit(2) from None


def _write(study: Study, form: StudyFormat, out: Path | None) -> None:
    from balance.study import tables

    if form is StudyFormat.table:
        result(_summary(study.found()), out)
    elif out is not None:
        try:
            tables.write_table(out, tables.FORMS[form.value], study.found)
        except OSError as error:
            message(say("study.cannot-write", file=out, reason=error.strerror or str(error)))
            raise typer.Exit(2) from None
        if form in (StudyFormat.csv, StudyFormat.parquet):
            message(say("study.written", file=out, dictionary=tables.dictionary_path(out)))
    elif form is StudyFormat.csv:
        result("".join(tables.csv_text(study.found)))
    else:
        result("".join(tables.json_text(study.found(), lines=form is StudyFormat.jsonl)))


def _summary(found: Iterable[dict[str, Any]]) -> str:
    from balance.budget import budget_lines
    from balance.findings_words import summary_lines

    blocks = []
    for one in found:
        block = [one["recording"], one["error"]] if "error" in one else summary_lines(one)
        for name, table in one.get("budget", {}).items():
            block += ["", *budget_lines(name, table)]
        blocks.append(block)
    return "\n\n".join("\n".join(block) for block in blocks)


def _vary(folders: list[Path], settings: Settings, what: str, form: StudyFormat, out: Path | None) -> None:
    from balance.command_line.output import strict_json, with_progress
    from balance.files import FileProblem
    from balance.study.vary import CHOICES, vary, vary_lines

    choices = [part.strip() for part in what.split(",")]
    unknown = [choice for choice in choices if choice not in CHOICES]
    if unknown or not choices:
        raise wrong("study.vary", name=", ".join(unknown), known=", ".join(CHOICES))
    tables, broken = [], 0
    for folder in with_progress(folders, say("command.analysing")):
        try:
            tables.append(vary(folder, settings, choices))
        except FileProblem as error:
            message(str(error))
            broken += 1
    if form in (StudyFormat.json, StudyFormat.jsonl):
        result(strict_json(tables), out)
    elif form is StudyFormat.table:
        result("\n\n".join("\n".join(vary_lines(table)) for table in tables), out)
    else:
        raise wrong("study.vary-format")
    if broken:
        raise typer.Exit(2)


def _ratios(found: Iterable[dict[str, Any]], text: str, form: StudyFormat, out: Path | None) -> None:
    from balance.command_line.output import strict_json
    from balance.study.ratios import ratio_lines, ratios

    name, equals, values = text.partition("=")
    above, slash, below = values.partition("/")
    if not (name and equals and above and slash and below):
        raise wrong("study.ratios", text=text)
    rows, missing = ratios(found, name, above, below)
    for sentence in missing:
        message(sentence)
    if not rows:
        raise wrong("study.no-ratios", text=text)
    if form in (StudyFormat.json, StudyFormat.jsonl):
        result(strict_json(rows), out)
    elif form is StudyFormat.table:
        result("\n".join(ratio_lines(rows)), out)
    else:
        raise wrong("study.vary-format")
