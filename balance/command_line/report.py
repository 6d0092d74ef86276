"""bandstand report: a day's page for the file, or for the person; HTML, and PDF."""

from __future__ import annotations

from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from balance.command_line.output import message, result, with_progress
from balance.words import say

if TYPE_CHECKING:
    from balance.day.reading import Day


class Reader(StrEnum):
    file = "file"
    person = "person"


class Paper(StrEnum):
    a4 = "a4"
    letter = "letter"


def run(
    folder: Annotated[Path, typer.Argument(metavar="PATH", help=say("help.day"))],
    reader: Annotated[Reader, typer.Option("--for", help=say("help.report.for"))] = Reader.file,
    out: Annotated[Path | None, typer.Option(help=say("help.report.out"))] = None,
    as_pdf: Annotated[Path | None, typer.Option("--pdf", help=say("help.report.pdf"))] = None,
    paper: Annotated[Paper, typer.Option(help=say("help.report.paper"))] = Paper.a4,
) -> None:
    from balance.analysis import findings
    from balance.day.reading import read_day
    from balance.recording.writing import write_private
    from balance.report.html import html
    from balance.report.session_report import person_blocks, session_blocks

    analyse = partial(findings, batches=True, series=True)
    day = read_day(
        folder, analyse=analyse, progress=lambda paths: with_progress(paths, say("command.analysing"))
    )
    for sentence in day.broken:
        message(sentence)
    newest = day.found[-1].trial.subject if day.found else None
    code = (newest.code if newest else None) or say("report.unnamed")
    if reader is Reader.person:
        title, blocks = say("person.title", day=day.folder.name), person_blocks(day)
    else:
        title = say("report.title", subject=code, day=day.folder.name)
        blocks = session_blocks(day, {one.name: _events(one.folder) for one in day.found}, _last_visit(day))
    page = out or day.folder / f"report-{'person-' if reader is Reader.person else ''}{day.folder.name}.html"
    write_private(page, html(title, blocks))
    if as_pdf is not None:
        from balance.report.pdf import pdf

        as_pdf.write_bytes(pdf(title, blocks, "letter" if paper is Paper.letter else "a4"))
        message(say("command.written", file=as_pdf))
    result(str(page))
    if day.broken:
        raise typer.Exit(2)


def _events(recording: Path) -> list[tuple[float, str]]:
    """Cues, marks and steps by the seconds after the first row."""
    from balance.recording import read_recording

    read = read_recording(recording)
    first = int(read.samples.board_us[0])
    return [((e.board_us - first) / 1e6, e.detail) for e in read.events if e.kind in ("cue", "mark", "step")]


def _last_visit(day: Day) -> Day | None:
    """The newest earlier day in the subject's folder that can be read."""
    from balance.day.reading import read_day
    from balance.files import FileProblem

    here = day.folder.resolve()
    earlier = sorted(path for path in here.parent.iterdir() if path.is_dir() and path.name < here.name)
    for path in reversed(earlier):
        try:
            return read_day(path)
        except FileProblem:
            continue
    return None
