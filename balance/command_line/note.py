"""bandstand note: entries of a session beside its recordings: adjustments, placings, what is set aside, limits, names."""

from __future__ import annotations

import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from balance.command_line.output import message, result, wrong
from balance.words import say


class What(StrEnum):
    """What may be adjusted at an orthosis."""

    alignment = "alignment angle"
    dorsiflexion = "resistance to dorsiflexion"
    plantarflexion = "resistance to plantarflexion"
    motion = "motion limit"
    wedge = "heel wedge"
    rocker = "rocker position"
    knee = "knee angle"
    shoe = "shoe"
    other = "other"


class Side(StrEnum):
    left = "left"
    right = "right"
    both = "both"


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help=say("help.day"))],
    adjustment: Annotated[What | None, typer.Option(help=say("help.note.adjustment"))] = None,
    side: Annotated[Side | None, typer.Option(help=say("help.note.side"))] = None,
    from_: Annotated[str | None, typer.Option("--from", help=say("help.note.from"))] = None,
    to: Annotated[str | None, typer.Option(help=say("help.note.to"))] = None,
    unit: Annotated[str | None, typer.Option(help=say("help.note.unit"))] = None,
    at: Annotated[str | None, typer.Option(help=say("help.note.at"))] = None,
    temporary: Annotated[bool, typer.Option("--temporary", help=say("help.note.temporary"))] = False,
    set_aside: Annotated[str | None, typer.Option(help=say("help.note.set-aside"))] = None,
    reason: Annotated[str | None, typer.Option(help=say("help.note.reason"))] = None,
    recording: Annotated[str | None, typer.Option(help=say("help.note.recording"))] = None,
    knee_ahead_mm: Annotated[
        float | None, typer.Option(min=-500, max=500, help=say("help.note.knee"))
    ] = None,
    hip_ahead_mm: Annotated[float | None, typer.Option(min=-500, max=500, help=say("help.note.hip"))] = None,
    crutch_limit_pct: Annotated[
        float | None, typer.Option(min=0, max=100, help=say("help.note.crutch-limit"))
    ] = None,
    does_not_apply: Annotated[str | None, typer.Option(help=say("help.note.does-not-apply"))] = None,
    examiner: Annotated[str | None, typer.Option(help=say("help.note.examiner"))] = None,
    place: Annotated[str | None, typer.Option(help=say("help.note.place"))] = None,
) -> None:
    from balance.day.notes import Adjustment, SetAside, moment, read_notes, write_notes
    from balance.day.standing_check import ITEMS
    from balance.recording import find_recordings

    if not folder.is_dir():
        raise wrong("recording.no-folder", folder=folder)
    if recording is not None:
        _joints(folder, recording, knee_ahead_mm, hip_ahead_mm)
        return
    notes = read_notes(folder)
    changes: dict[str, Any] = {}
    if adjustment is not None:
        when = datetime.datetime.now().astimezone().isoformat(timespec="seconds") if at is None else at
        if moment(when) is None:
            raise wrong("note.time", text=when)
        entry = {"when": when, "side": side, "what": adjustment.value, "from": _value(from_), "to": _value(to), "unit": unit, **({"temporary": True} if temporary else {})}  # fmt: skip
        changes["adjustments"] = [*notes.adjustments, Adjustment.model_validate({k: v for k, v in entry.items() if v is not None})]  # fmt: skip
    if set_aside is not None:
        if reason is None:
            raise wrong("note.reason")
        known = [path.name for path in find_recordings(folder)]
        if set_aside.rstrip("/").rsplit("/", 1)[-1] not in known:
            raise wrong("note.no-such", name=set_aside, known=", ".join(known))
        changes["set_aside"] = [*notes.set_aside, SetAside(recording=set_aside, reason=reason)]
    if does_not_apply is not None:
        if does_not_apply not in ITEMS:
            raise wrong("note.no-item", name=does_not_apply, known="; ".join(ITEMS))
        changes["does_not_apply"] = list(dict.fromkeys([*notes.does_not_apply, does_not_apply]))
    single = {"crutch_limit_pct": crutch_limit_pct, "examiner": examiner, "place": place}
    changes |= {name: value for name, value in single.items() if value is not None}
    if not changes:
        raise wrong("note.nothing")
    write_notes(folder, notes.model_copy(update=changes))
    message(say("command.written", file=folder / "session.json"))
    result(str(folder))


def _joints(day: Path, name: str, knee_mm: float | None, hip_mm: float | None) -> None:
    """Joint centres ahead of the body line, as read at a plumb line, into a recording's posture."""
    from balance.recording import amend, read_recording

    if knee_mm is None and hip_mm is None:
        raise wrong("note.nothing")
    folder = day / name.rstrip("/").rsplit("/", 1)[-1]
    posture = read_recording(folder).trial.posture
    kept = {} if posture is None else posture.model_dump(exclude_none=True)
    read = {"knee_offset_mm": knee_mm, "hip_offset_mm": hip_mm}
    amend(folder, posture={**kept, **{k: v for k, v in read.items() if v is not None}})
    message(say("command.written", file=folder / "trial.json"))
    result(str(folder))


def _value(text: str | None) -> float | str | None:
    """A number where it is one, else the words."""
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        return text
