"""The hands-free course of a session: sitting, standing up, steady, recording, and down again; what to do next in one line.

Safe order, common practice: a braked chair stands behind; the person sits with the feet on the marks, stands up, is measured, sits
down for each adjustment; nobody steps up unless the clinician decides.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Literal

import numpy as np

Course = Literal["sitting", "standing up", "steady", "recording", "stay", "too heavy"]
Seen = Literal["down", "up", "stands", "moves", "begun", "over", "heavy"]

STEADY_S = 3.0  # of standing still before a recording begins; tool default
UP_OF_WEIGHT = 0.8  # of the body weight on feet and crutches: standing; tool default
DOWN_OF_WEIGHT = 0.6  # below it: sitting down; between the two nothing changes; tool default
UP_N, DOWN_N = 350.0, 250.0  # the same where the weight is not known; tool default
LOAD_MOVES = 0.03  # of the load: its SD while standing still; tool default
POINT_MOVES_MM = 15.0  # SD of the feet's point while standing still: sway is that of any person; tool default

# What is not in the table cannot happen: it leaves the course as it is.
COURSES: dict[tuple[Course, Seen], Course] = {
    ("sitting", "up"): "standing up",
    ("sitting", "heavy"): "too heavy",
    ("standing up", "down"): "sitting",
    ("standing up", "stands"): "steady",
    ("standing up", "heavy"): "too heavy",
    ("steady", "begun"): "recording",
    ("steady", "moves"): "standing up",
    ("steady", "down"): "sitting",
    ("recording", "over"): "stay",
    ("recording", "down"): "sitting",  # sitting down ends the trial
    ("stay", "down"): "sitting",
    ("too heavy", "down"): "sitting",
}


def after(course: Course, seen: Seen) -> Course:
    """The course that follows."""
    return COURSES.get((course, seen), course)


@dataclass
class Conduct:
    """Fed about ten times a second with the load on everything and the feet's point; ``begin`` asks for a recording.

    body_weight_n: None where not known · most_kg: above it no trial begins; None for no limit
    """

    body_weight_n: float | None
    most_kg: float | None
    course: Course = "sitting"

    def __post_init__(self) -> None:
        self._recent: deque[tuple[float, float, float]] = deque()

    @property
    def begin(self) -> bool:
        """The person stands still: a recording may begin."""
        return self.course == "steady"

    def saw(self, time_s: float, load_n: float, ap_mm: float | None) -> None:
        """One picture: load on feet and crutches, AP of the feet's point (None where the feet carry too little)."""
        self._recent.append((time_s, load_n, float("nan") if ap_mm is None else ap_mm))
        while self._recent and time_s - self._recent[0][0] > STEADY_S:
            self._recent.popleft()
        up = UP_N if self.body_weight_n is None else UP_OF_WEIGHT * self.body_weight_n
        down = DOWN_N if self.body_weight_n is None else DOWN_OF_WEIGHT * self.body_weight_n
        if load_n < down:
            self._go("down")
        else:
            if load_n >= up:
                self._go("up")
            if self._is_still(up):
                self._go("heavy" if self._is_too_heavy() else "stands")
            else:
                self._go("moves")

    def began(self) -> None:
        """A recording runs."""
        self._go("begun")

    def ended(self) -> None:
        """The recording is over by its time or by a key."""
        self._go("over")

    def _go(self, seen: Seen) -> None:
        self.course = after(self.course, seen)

    def _is_still(self, up_n: float) -> bool:
        times, loads, points = (np.array(column) for column in zip(*self._recent, strict=True))
        if times[-1] - times[0] < 0.95 * STEADY_S or loads.min() < up_n or np.isnan(points).any():
            return False
        return bool(loads.std() <= LOAD_MOVES * loads.mean() and points.std() <= POINT_MOVES_MM)

    def _is_too_heavy(self) -> bool:
        loads = [load for _, load, _ in self._recent]
        return self.most_kg is not None and sum(loads) / len(loads) > self.most_kg * 9.80665
