"""bandstand compare: two sets of recordings; did anything change beyond standing up again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json, with_progress, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.day.reading import Found


def run(
    a: Annotated[Path, typer.Argument(metavar="A", help=say("help.compare.a"))],
    b: Annotated[Path, typer.Argument(metavar="B", help=say("help.compare.b"))],
    repeats: Annotated[Path | None, typer.Option(help=say("help.compare.repeats"))] = None,
    primary: Annotated[str | None, typer.Option(help=say("help.compare.primary"))] = None,
    sway: Annotated[bool, typer.Option("--sway", help=say("help.compare.sway"))] = False,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.day.comparing import compare, own_repeats
    from balance.day.tidy import is_table

    broken: list[str] = []
    sets = [found_in(path, broken, basic=not sway) for path in (a, b)]
    if repeats is not None:
        known, name = found_in(repeats, broken, basic=not sway), str(repeats)
    elif is_table(a):
        known, name = sets[0], str(a)
    else:
        known, name = own_repeats(_day_of(sets[0], basic=not sway), sets[0])
    rows = compare(sets[0], sets[1], known, name, primary=primary, sway=sway)
    for sentence in broken:
        message(sentence)
    if not rows:
        raise wrong("compare.nothing", a=a, b=b)
    if primary is not None and not any(row["primary"] for row in rows):
        raise wrong("compare.primary", name=primary, known=", ".join(row["measure"] for row in rows[:6]))
    result(strict_json(rows) if form is Format.json else "\n".join(compare_lines(rows)))
    if broken:
        raise typer.Exit(2)


def found_in(path: Path, broken: list[str], *, basic: bool = False) -> list[Found]:
    """Every recording below ``path`` with its findings, but for those that its day sets aside."""
    from balance.analysis import findings
    from balance.day.notes import read_notes
    from balance.day.reading import Found
    from balance.day.tidy import found_in_table, is_table
    from balance.files import FileProblem
    from balance.recording import find_recordings, read_recording

    if is_table(path):
        return found_in_table(path)
    folders = find_recordings(path) if path.is_dir() else []
    if not folders:
        raise wrong("command.no-recordings", path=path)
    found = []
    for folder in with_progress(folders, say("command.analysing")):
        try:
            recording = read_recording(folder)
            if not read_notes(folder.parent).leaves_out(recording.name):
                found.append(
                    Found(
                        folder,
                        recording.name,
                        recording.trial,
                        findings(recording, batches=True, basic=basic),
                    )
                )
        except FileProblem as error:
            broken.append(str(error))
    if not found:
        for sentence in broken:
            message(sentence)
        raise typer.Exit(2)
    return sorted(found, key=lambda one: (one.at, one.name))


def _day_of(found: list[Found], *, basic: bool) -> Any:
    """The day of the first recording, with its siblings."""
    from functools import partial

    from balance.analysis import findings
    from balance.day.reading import read_day

    return read_day(found[0].folder.resolve().parent, analyse=partial(findings, batches=True, basic=basic))


def compare_lines(rows: list[dict[str, Any]]) -> list[str]:
    """The comparison for a person."""
    lines = []
    for row in rows:
        facts = {k: row[k] for k in ("measure", "a", "b", "n_a", "n_b", "difference")}
        line = say("compare.line", mark="*" if row["primary"] else " ", **facts)
        if row["ci95"] is not None:
            line += say(
                "compare.interval", low=row["ci95"][0], high=row["ci95"][1], p=row["p"], p_holm=row["p_holm"]
            )
        elif "within_trial95" in row:
            line += say("compare.within", low=row["within_trial95"][0], high=row["within_trial95"][1])
        if row["mdc95"] is not None:
            key = "compare.beyond" if row["beyond_mdc"] else "compare.not-beyond"
            line += say(key, mdc=row["mdc95"], dof=row["mdc_dof"])
        lines.append(line)
    first = next((row for row in rows if row["mdc95"] is not None), None)
    if first is None:
        lines.append(rows[0].get("mdc_reason", ""))
    else:
        lines.append(say("compare.mdc-from", name=first["mdc_from"]))
        if first["mdc_dof"] == 1:
            lines.append(say("compare.two-only"))
    if any("reason" in row for row in rows):
        lines.append(say("compare.one-placing-words"))
    return lines
