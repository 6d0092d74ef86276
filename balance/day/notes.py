"""session.json: what is noted of one subject's day beside its recordings. Corrections append, the old entry stays."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BeforeValidator, Field

from balance.files import as_data, read_json
from balance.recording.writing import write_private
from balance.trial import Open, Subject

NAME = "session.json"
TO_DESCRIBE = (
    "to be described"  # the note of an adjustment of which only the time is known; the same in every language
)
Entry = TypeVar("Entry")
Entries = Annotated[
    list[Entry], BeforeValidator(lambda value: [] if value is None else value)
]  # null and absent alike


class Adjustment(Open):
    """A change made to the orthosis; temporary: something tried, to be taken back."""

    when: str | None = None
    side: str | None = None
    what: str | None = None
    from_: Any = Field(default=None, alias="from")
    to: Any = None
    unit: str | None = None
    note: str | None = None
    temporary: bool | None = None

    @property
    def at(self) -> datetime.datetime | None:
        return moment(self.when)


def adjusted_between(day: Path, after: datetime.datetime | None, until: datetime.datetime) -> tuple[str, ...]:
    """The adjustments of a day between two moments, in words; a file that cannot be read has none."""
    from balance.files import FileProblem
    from balance.words import name, say

    try:
        noted = read_notes(day).adjustments
    except (FileProblem, OSError):
        return ()
    told = []
    for one in noted:
        if one.at is not None and one.at <= until and (after is None or one.at > after):
            what = say("trials.not-described") if one.note == TO_DESCRIBE else name(one.what or "")
            told.append(say("trials.tried" if one.temporary else "trials.adjusted", time=f"{one.at:%H:%M}", what=what))  # fmt: skip
    return tuple(told)


class Placing(Open):
    """The feet put down: which time, and how their places are known."""

    number: int
    when: str | None = None
    how: Literal["on the marks", "by eye", "measured"] | None = None


class SetAside(Open):
    """A recording that is kept but left out, and why."""

    recording: str
    reason: str | None = None


class Corrected(Open):
    """What an entry said before somebody corrected it; nothing noted is ever lost."""

    when: str
    entry: str
    was: Any = None


class Notes(Open):
    """session.json; everything optional."""

    schema_: Literal[1] = Field(default=1, alias="schema")
    subject: Subject | None = None
    adjustments: Entries[Adjustment] = Field(default_factory=list)
    placings: Entries[Placing] = Field(default_factory=list)
    crutch_limit_pct: float | None = Field(default=None, ge=0, le=100)
    does_not_apply: Entries[str] = Field(default_factory=list)
    examiner: str | None = None
    place: str | None = None
    set_aside: Entries[SetAside] = Field(default_factory=list)
    corrected: Entries[Corrected] = Field(default_factory=list)

    def corrected_by(self, entry: str, was: Any, **changes: Any) -> Notes:
        """With changes; what an entry said before stays, with the time of its correction."""
        when = datetime.datetime.now().astimezone().isoformat(timespec="seconds")
        log = [*self.corrected, Corrected(when=when, entry=entry, was=was)]
        return self.model_copy(update={**changes, "corrected": log})

    def leaves_out(self, recording: str) -> bool:
        """Whether a recording, 'SUBJECT/date/NN-protocol', was set aside under that name or its last part."""
        return any(one.recording.rstrip("/").rsplit("/", 1)[-1] == recording.rsplit("/", 1)[-1] for one in self.set_aside)  # fmt: skip


def moment(text: str | None) -> datetime.datetime | None:
    """A time with its offset (this computer's where it has none); None where there is none or it is no time."""
    if text is None:
        return None
    try:
        at = datetime.datetime.fromisoformat(text)
    except ValueError:
        return None
    return at if at.tzinfo else at.astimezone()


def read_notes(day: Path) -> Notes:
    """Of a day's folder; empty where there is no session.json. Raises FileProblem."""
    path = day / NAME
    return read_json(path, Notes) if path.exists() else Notes()


def write_notes(day: Path, notes: Notes) -> None:
    """Whole, and renamed in place: a reader never sees half of it. Raises OSError."""
    write_private(
        day / NAME, json.dumps(as_data(notes), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    )
