"""What a session tells a view, and what is known of the person and the occasion."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from balance.conduct import Course
from balance.protocols.protocol import State
from balance.reading import Played, Snapshot
from balance.trial import Orthosis, Posture, Subject, Touched
from balance.words import say

Array = npt.NDArray[np.float64]
Link = Literal["waiting", "ok", "lost", "ended"]
Playing = Literal["pause", "step", "back", "forward"]


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
    def notices(self) -> list[str]:
        """What a view says in words, the most urgent first: what stopped, what is wrong now, what happened last."""
        beyond = self.snapshot.beyond_calibration if self.snapshot else ()
        said = [self.problem] if self.problem else []
        if not self.places_confirmed:
            said.append(say("live.places-unconfirmed"))
        said += self.troubles
        if beyond:
            said.append(say("quality.beyond-calibration", channels=", ".join(map(str, beyond))))
        return [*said, *self.messages[-1:]]


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
