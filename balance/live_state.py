"""What a session tells a view, and what is known of the person and the occasion."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from balance.conduct import Course
from balance.protocols.protocol import State
from balance.reading import Played, Snapshot, without_parts, without_places
from balance.trial import Orthosis, Posture, Subject, Touched
from balance.words import say

Array = npt.NDArray[np.float64]
Link = Literal["waiting", "ok", "lost", "ended"]
Playing = Literal["pause", "step", "back", "forward", "slower", "faster", "last mark", "next mark"]


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
    places_confirmed: bool = True
    placing: int = 1
    course: Course | None = None  # of a hands-free session

    @property
    def next_step(self) -> str | None:
        """What to do next, in one line, in a hands-free session; else None."""
        if self.course == "recording" and self.protocol not in (None, "quiet standing"):
            return say("course.recording-other", protocol=self.protocol)
        return None if self.course is None else say(f"course.{self.course}")

    @property
    def shown(self) -> Snapshot | None:
        """The newest picture as far as it may be relied on: nothing without a link, no lines while the places are not confirmed, nothing
        of cells that show something to be wrong with them."""
        snapshot = None if self.link in ("lost", "waiting") else self.snapshot
        if not self.places_confirmed:
            snapshot = without_places(snapshot)
        return without_parts(snapshot, self.troubled)

    @property
    def why_absent(self) -> str | None:
        """Why ``shown`` leaves out what the samples would give, in words; None where it leaves out nothing."""
        if self.troubled:
            return say("live.cell-in-doubt")
        return None if self.places_confirmed else say("live.waits-for-places")

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
        if beyond:
            said.append(say("quality.beyond-calibration", channels=", ".join(map(str, beyond))))
        return said

    @property
    def notices(self) -> list[str]:
        """What a view says in words: what is wrong now, then what happened last."""
        return [*self.wrong, *self.messages[-1:]]


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
