"""bandstand note: entries of a session beside its recordings: adjustments, placings, what is set aside, limits, names."""

from __future__ import annotations

import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.output import message, result, wrong
from balance.command_line.person_options import BodyWeight, Orthosis, Posture, Touched, described
from balance.words import say

if TYPE_CHECKING:
    from balance.day.notes import Notes


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
    temporary: Annotated[bool | None, typer.Option("--temporary/--lasting", help=say("help.note.temporary"))] = None,
    correct: Annotated[int | None, typer.Option(min=1, help=say("help.note.correct"))] = None,
    withdraw: Annotated[int | None, typer.Option(min=1, help=say("help.note.withdraw"))] = None,
    set_aside: Annotated[str | None, typer.Option(help=say("help.note.set-aside"))] = None,
    reason: Annotated[str | None, typer.Option(help=say("help.note.reason"))] = None,
    take_back: Annotated[str | None, typer.Option(help=say("help.note.take-back"))] = None,
    recording: Annotated[str | None, typer.Option(help=say("help.note.recording"))] = None,
    knee_ahead_mm: Annotated[float | None, typer.Option(min=-500, max=500, help=say("help.note.knee"))] = None,
    hip_ahead_mm: Annotated[float | None, typer.Option(min=-500, max=500, help=say("help.note.hip"))] = None,
    posture: Posture = None,
    body_weight_n: BodyWeight = None,
    orthosis: Orthosis = None,
    placing: Annotated[int | None, typer.Option(min=1, max=999, help=say("help.placing"))] = None,
    helper: Touched = None,
    crutch_limit_pct: Annotated[float | None, typer.Option(min=0, max=100, help=say("help.note.crutch-limit"))] = None,
    does_not_apply: Annotated[str | None, typer.Option(help=say("help.note.does-not-apply"))] = None,
    examiner: Annotated[str | None, typer.Option(help=say("help.note.examiner"))] = None,
    place: Annotated[str | None, typer.Option(help=say("help.note.place"))] = None,
) -> None:  # fmt: skip
    from balance.day.notes import moment, read_notes, write_notes

    if not folder.is_dir():
        raise wrong("recording.no-folder", folder=folder)
    header = {
        key: getattr(described("", body_weight_n, orthosis, posture, placing or 1, helper, None, None), key)
        for key, given in (("posture", posture), ("subject", body_weight_n), ("orthosis", orthosis), ("placing", placing), ("touched", helper))
        if given is not None
    }  # fmt: skip
    joints = {"knee_offset_mm": knee_ahead_mm, "hip_offset_mm": hip_ahead_mm}
    if recording is not None:
        _into_recording(folder, recording, header, {k: v for k, v in joints.items() if v is not None})
        return
    if header or knee_ahead_mm is not None or hip_ahead_mm is not None:
        raise wrong("note.of-which")
    if at is not None and moment(at) is None:
        raise wrong("note.time", text=at)
    fields = {"when": at, "side": side, "what": adjustment and adjustment.value, "from": _value(from_), "to": _value(to), "unit": unit, "temporary": temporary}  # fmt: skip
    given = {key: value for key, value in fields.items() if value is not None}
    notes = before = read_notes(folder)
    if correct is not None or withdraw is not None:
        notes = _corrected(notes, correct, withdraw, given)
    elif adjustment is not None:
        notes = _adjusted(notes, given)
    elif given:
        raise wrong("note.adjustment-needed")
    if set_aside is not None or take_back is not None:
        notes = _set_aside(folder, notes, set_aside, reason, take_back)
    if does_not_apply is not None:
        notes = _does_not_apply(notes, does_not_apply)
    single = {"crutch_limit_pct": crutch_limit_pct, "examiner": examiner, "place": place}
    notes = _singles(notes, {name: value for name, value in single.items() if value is not None})
    if notes is before:
        raise wrong("note.nothing")
    write_notes(folder, notes)
    message(say("command.written", file=folder / "session.json"))
    result(str(folder))


def _adjusted(notes: Notes, given: dict[str, Any]) -> Notes:
    from balance.day.notes import Adjustment

    now = datetime.datetime.now().astimezone().isoformat(timespec="seconds")
    if given.get("temporary") is False:
        del given["temporary"]
    entry = Adjustment.model_validate({"when": now, **given})
    return notes.model_copy(update={"adjustments": [*notes.adjustments, entry]})


def _corrected(notes: Notes, correct: int | None, withdraw: int | None, given: dict[str, Any]) -> Notes:
    """An adjustment said anew, or taken out of the list; what it said before is kept."""
    from balance.day.notes import TO_DESCRIBE, Adjustment
    from balance.files import as_data

    number = correct or withdraw or 0
    if number > len(notes.adjustments):
        known = "; ".join(_told(k, one) for k, one in enumerate(notes.adjustments, 1))
        raise wrong("note.no-number", number=number, known=known or say("note.none"))
    if correct is not None and not given:
        raise wrong("note.correct-what", was=_told(number, notes.adjustments[number - 1]))
    was = as_data(notes.adjustments[number - 1])
    if was.get("note") == TO_DESCRIBE and "what" in given:
        was_now = {key: value for key, value in was.items() if key != "note"}
    else:
        was_now = was
    now = [] if withdraw is not None else [Adjustment.model_validate({**was_now, **given})]
    changed = [*notes.adjustments[: number - 1], *now, *notes.adjustments[number:]]
    return notes.corrected_by(f"adjustments.{number}", was, adjustments=changed)


def _told(number: int, adjustment: Any) -> str:
    """'2 heel wedge left 0 to 5 mm'."""
    parts = (
        adjustment.when,
        adjustment.what,
        adjustment.side,
        adjustment.from_,
        adjustment.to,
        adjustment.unit,
    )
    return " ".join([str(number), *(str(part) for part in parts if part is not None)])


def _set_aside(folder: Path, notes: Notes, name: str | None, reason: str | None, back: str | None) -> Notes:
    from balance.day.notes import SetAside
    from balance.recording import find_recordings

    if name is not None:
        if reason is None:
            raise wrong("note.reason")
        known = [path.name for path in find_recordings(folder)]
        if name.rstrip("/").rsplit("/", 1)[-1] not in known:
            raise wrong("note.no-such", name=name, known=", ".join(known))
        entry = SetAside(recording=name, reason=reason)
        notes = notes.model_copy(update={"set_aside": [*notes.set_aside, entry]})
    if back is not None:
        kept = [one for one in notes.set_aside if not _same(one.recording, back)]
        if len(kept) == len(notes.set_aside):
            known = [one.recording for one in notes.set_aside]
            raise wrong("note.not-aside", name=back, known=", ".join(known) or say("note.none"))
        was = [one.model_dump(exclude_none=True) for one in notes.set_aside if _same(one.recording, back)]
        notes = notes.corrected_by("set_aside", was, set_aside=kept)
    return notes


def _same(one: str, other: str) -> bool:
    return one.rstrip("/").rsplit("/", 1)[-1] == other.rstrip("/").rsplit("/", 1)[-1]


def _singles(notes: Notes, values: dict[str, Any]) -> Notes:
    """Entries that stand alone; an earlier value stays logged."""
    for name, value in values.items():
        was = getattr(notes, name)
        if was is None:
            notes = notes.model_copy(update={name: value})
        else:
            notes = notes.corrected_by(name, was, **{name: value})
    return notes


def _does_not_apply(notes: Notes, item: str) -> Notes:
    from balance.day.standing_check import ITEMS

    if item not in ITEMS:
        raise wrong("note.no-item", name=item, known="; ".join(ITEMS))
    return notes.model_copy(update={"does_not_apply": list(dict.fromkeys([*notes.does_not_apply, item]))})


def _into_recording(day: Path, name: str, header: dict[str, Any], joints: dict[str, float]) -> None:
    """Corrects what a recording says of itself, or adds the joint centres read at a plumb line; samples are never touched."""
    from balance.recording import amend, read_recording

    if not header and not joints:
        raise wrong("note.nothing")
    folder = day / name.rstrip("/").rsplit("/", 1)[-1]
    trial = read_recording(folder).trial
    entries: dict[str, Any] = {}
    for key, value in header.items():
        kept = getattr(trial, key)
        if key in ("placing", "touched"):
            entries[key] = value
        else:
            said = {k: v for k, v in value.model_dump(exclude_none=True).items() if v != ""}
            entries[key] = {**({} if kept is None else kept.model_dump(exclude_none=True)), **said}
    if joints:
        kept = entries.get("posture") or (
            trial.posture.model_dump(exclude_none=True) if trial.posture else {}
        )
        entries["posture"] = {**kept, **joints}
    amend(folder, **entries)
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
