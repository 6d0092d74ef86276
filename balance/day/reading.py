"""A day read in full: its notes, every recording's findings in the order of their beginnings, and what could not be read."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from balance.analysis import findings
from balance.day.notes import Adjustment, Notes, moment, read_notes
from balance.files import FileProblem
from balance.recording import Recording, find_recordings, read_recording
from balance.trial import Trial
from balance.words import say

LONG_AGO = datetime.datetime.min.replace(tzinfo=datetime.UTC)


@dataclass(frozen=True)
class Found:
    """One recording and what was found in it."""

    folder: Path
    name: str
    trial: Trial
    findings: dict[str, Any]

    @property
    def at(self) -> datetime.datetime:
        return moment(self.trial.started) or LONG_AGO

    @property
    def posture(self) -> str:
        """A posture that was not noted is the person's own."""
        kind = self.trial.posture.kind if self.trial.posture else None
        return kind or "own"


@dataclass(frozen=True)
class Day:
    """found: without those set aside, in the order of their beginnings · broken: sentences."""

    folder: Path
    notes: Notes
    found: list[Found]
    broken: list[str] = field(default_factory=list)

    @property
    def adjustments(self) -> list[Adjustment]:
        """session.json's; without any, those that the newest recording knew of at its start. In the order of time."""
        entries = self.notes.adjustments
        if not entries and self.found:
            entries = [Adjustment.model_validate(one) for one in self.found[-1].trial.adjustments or []]
        return sorted(entries, key=lambda one: one.at or LONG_AGO)

    @property
    def last_adjustment(self) -> datetime.datetime | None:
        times = [one.at for one in self.adjustments if one.at is not None]
        return max(times, default=None)

    @property
    def mixed(self) -> list[str]:
        """Sentences where not all recordings were made on one rig, with one calibration, or of one subject."""
        kinds_of: dict[str, Callable[[Trial], object]] = {
            "rig": lambda trial: trial.rig,
            # A zero is taken anew many times a day; the slopes are the calibration.
            "calibration": lambda trial: [
                (c.channel, c.newton_per_count) for c in trial.calibration.channels
            ],
            "subject": lambda trial: trial.subject and trial.subject.code,
        }
        said = []
        for what, of in kinds_of.items():
            kinds: dict[str, list[str]] = {}
            for one in self.found:
                kinds.setdefault(repr(of(one.trial)), []).append(one.folder.name)
            if len(kinds) > 1:
                groups = "; ".join(", ".join(names) for names in kinds.values())
                said.append(say(f"day.mixed-{what}", groups=groups))
        return said

    @property
    def orthosis_sides(self) -> list[str]:
        """By the newest recording that says."""
        for one in reversed(self.found):
            side = one.trial.orthosis.side if one.trial.orthosis else None
            if side is not None:
                return {"both": ["left", "right"], "none": []}.get(side, [side])
        return []


def basic_findings(recording: Recording) -> dict[str, Any]:
    """Findings without the sway measures that only research asks for."""
    return findings(recording, basic=True)


def read_day(
    folder: Path,
    *,
    analyse: Callable[..., dict[str, Any]] = basic_findings,
    progress: Callable[[list[Path]], Iterable[Path]] = iter,
) -> Day:
    """The day in ``folder``. A recording that cannot be read is named and left out. Raises FileProblem where there is none, or
    where the folder holds several days."""
    if not folder.is_dir():
        raise FileProblem(folder, say("recording.no-folder", folder=folder))
    recordings = find_recordings(folder)
    days = sorted({path.parent for path in recordings})
    if not days:
        raise FileProblem(folder, say("command.no-recordings", path=folder))
    if len(days) > 1:
        raise FileProblem(folder, say("day.several", folder=folder, days=", ".join(d.name for d in days)))
    notes = read_notes(days[0])
    found, broken = [], []
    for path in progress(recordings):
        try:
            recording = read_recording(path)
            if not notes.leaves_out(recording.name):
                found.append(Found(path, recording.name, recording.trial, analyse(recording)))
        except FileProblem as error:
            broken.append(str(error))
    found.sort(key=lambda one: (one.at, one.name))
    return Day(days[0], notes, found, broken)
