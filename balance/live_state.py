"""What a session tells a view, and what is known of the person and the occasion."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from balance.conduct import DOWN_OF_WEIGHT, Course
from balance.findings_words import cue_words
from balance.protocols.protocol import State
from balance.reading import Played, Snapshot, without_parts, without_places
from balance.trial import Orthosis, Posture, Subject, Touched
from balance.words import say

Array = npt.NDArray[np.float64]
NOBODY_N = 100.0  # of somebody whose weight is not known: less is nobody who stands; tool default
Link = Literal["waiting", "ok", "lost", "ended"]


class Reason(NamedTuple):
    """Why something is not shown: in a word or two, and in more."""

    short: str
    more: str


@dataclass(frozen=True)
class LiveState:
    """What a view draws: the newest picture, the last 20 s of loads, link and trial. Never waits for anything."""

    link: Link
    state: State
    protocol: str | None
    seconds: float
    planned_s: float | None
    snapshot: Snapshot | None
    point_mm: dict[
        str, tuple[float, float]
    ]  # (AP, ML) of 'left', 'right', 'feet', 'body' at the newest sample
    tail_s: Array  # (n,) seconds on the board's clock
    tail_n: dict[str, Array]
    rate_hz: float
    messages: tuple[str, ...]
    problem: str | None
    recorded: Path | None
    subject: str | None = None
    chosen: str = "quiet standing"  # what is recorded next
    posture: str = "own"
    readings: int = 0
    playback: Played | None = None
    troubles: tuple[str, ...] = ()  # what is wrong with the rig now, in sentences
    troubled: frozenset[str] = (
        frozenset()
    )  # 'left', 'right', 'left_crutch', 'right_crutch': whose cells may not be relied on
    asked: str | None = None  # the detail of the running trial's last cue
    coming: tuple[str, float] | None = None  # the next one's, and in how many seconds
    fresh: tuple[str, ...] = ()  # of the messages those that are new
    question: str | None = None  # that the next key answers
    standing_warning: str | None = None  # as long as it holds
    places_confirmed: bool = True
    placing: int = 1
    course: Course | None = None  # of a hands-free session

    @property
    def sits(self) -> bool:
        """Less than a standing person's load is on feet and crutches."""
        return self.snapshot is not None and sits(self.snapshot)

    @property
    def next_step(self) -> str | None:
        """What to do next, in one line; None where nothing is to be done."""
        if self.playback is not None or self.link in ("lost", "waiting") or self.troubled:
            return None
        if self.protocol is not None and self.protocol != "quiet standing":
            return self._trial_step(self.protocol)
        if self.course is not None:
            return say(f"course.{self.course}")
        return say("course.recording" if self.protocol is not None else f"course.{self._by_key}")

    @property
    def _by_key(self) -> str:
        """Where no course is kept: which step comes before a trial that a key begins."""
        if self.snapshot is None or self.sits:
            return "by-key-sitting"
        return "no-weight" if self.snapshot.body_weight_n is None else "by-key"

    def _trial_step(self, protocol: str) -> str:
        """What is asked now and what comes, in a trial with cues."""
        now = say("course.now", words=cue_words(self.asked)) if self.asked else say("course.recording-other", protocol=protocol)  # fmt: skip
        if self.coming is None:
            return now
        detail, in_s = self.coming
        return f"{now} {say('course.coming', words=cue_words(detail), seconds=in_s)}"

    @property
    def shown(self) -> Snapshot | None:
        """The newest picture as far as it may be relied on: nothing without a link, no lines while the places are not confirmed, nothing
        of cells that show something to be wrong with them."""
        snapshot = None if self.link in ("lost", "waiting") else self.snapshot
        if not self.places_confirmed or self.sits:
            snapshot = without_places(snapshot)
        return without_parts(snapshot, self.troubled)

    @property
    def why_absent(self) -> Reason | None:
        """Why ``shown`` leaves out what the samples would give; None where it leaves out nothing."""
        if self.troubled:
            parts = ", ".join(say(f"part.{part}") for part in sorted(self.troubled))
            return Reason(say("live.in-doubt"), say("live.cell-in-doubt", parts=parts))
        if self.sits:
            return Reason(say("live.sits-word"), say("live.sits"))
        return None if self.places_confirmed else Reason(say("live.waits"), say("live.waits-for-places"))

    @property
    def wrong(self) -> list[str]:
        """What is wrong now, in sentences, the most urgent first: what stopped, unconfirmed places, cells."""
        beyond = self.snapshot.beyond_calibration if self.snapshot else ()
        said = [self.problem] if self.problem else []
        if self.link == "lost":
            said.append(say("live.link-lost"))
        if not self.places_confirmed:
            said.append(say("live.places-unconfirmed"))
        said += self.troubles
        if self.troubled and self.protocol is not None:
            said.append(say("live.repeat-trial"))
        if self.standing_warning is not None:
            said.append(self.standing_warning)
        if beyond:
            said.append(say("quality.beyond-calibration", channels=", ".join(map(str, beyond))))
        return said

    @property
    def notices(self) -> list[str]:
        """What a view says in words: what is wrong now, then what happened last."""
        open_question = [self.question] if self.question else []
        return [*open_question, *self.wrong, *self.fresh[-1:]]


def sits(snapshot: Snapshot) -> bool:
    """Less of the weight is on feet and crutches than of somebody who stands; with an unknown weight, hardly anything."""
    known = snapshot.body_weight_n
    return snapshot.total_n < (NOBODY_N if known is None else DOWN_OF_WEIGHT * known)


@dataclass
class Described:
    """What is known of the person and the occasion; goes into each trial.json."""

    subject: Subject | None = None
    placing: int | None = 1
    orthosis: Orthosis | None = None
    posture: Posture | None = None
    touched: Touched | None = None
    conditions: dict[str, str] | None = None
    protocol_settings: dict[str, Any] | None = None
    notes: str | None = None
