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
    from balance.report.blocks import Block


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
    day = _read(folder)
    title, blocks = _content(day, reader)
    page = _write(day, title, blocks, reader, out)
    if as_pdf is not None:
        from balance.report.pdf import pdf

        as_pdf.write_bytes(pdf(title, blocks, "letter" if paper is Paper.letter else "a4"))
        message(say("command.written", file=as_pdf))
    result(str(page))
    if day.broken:
        raise typer.Exit(2)


def write_page(folder: Path) -> Path:
    """The page for the file, in the session's folder."""
    day = _read(folder)
    return _write(day, *_content(day, Reader.file), Reader.file, None)


def _read(folder: Path) -> Day:
    from balance.analysis import findings
    from balance.day.reading import read_day

    analyse = partial(findings, batches=True, series=True, basic=True)
    day = read_day(
        folder, analyse=analyse, progress=lambda paths: with_progress(paths, say("command.analysing"))
    )
    for sentence in (*day.mixed, *day.broken):
        message(sentence)
    return day


def _content(day: Day, reader: Reader) -> tuple[str, list[Block]]:
    from balance.report.session_report import person_blocks, session_blocks

    if reader is Reader.person:
        return say("person.title", day=day.folder.name), person_blocks(day)
    newest = day.found[-1].trial.subject if day.found else None
    title = say(
        "report.title",
        subject=(newest.code if newest else None) or say("report.unnamed"),
        day=day.folder.name,
    )
    return title, session_blocks(day, {one.name: _events(one.folder) for one in day.found}, _last_visit(day))


def _write(day: Day, title: str, blocks: list[Block], reader: Reader, out: Path | None) -> Path:
    from balance.recording.writing import write_private
    from balance.report.html import html

    page = out or day.folder / f"report-{'person-' if reader is Reader.person else ''}{day.folder.name}.html"
    write_private(page, html(title, blocks))
    return page


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
