"""The daily minute without masses: the same person stands on the left plate, then on the right; the totals must agree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.guiding.fresh_forces import FreshForces
from balance.guiding.guide import Judge, Judgement, Step, Taken
from balance.guiding.standing import empty
from balance.rig import SIDES, Rig, Side
from balance.words import say

Array = npt.NDArray[np.float64]

GRAVITY = 9.80665
WITHIN = 0.01  # of the mean of both; tool default, no published source
LEAST_N = 200.0  # less than that is nobody; tool default
ELSEWHERE_N = 20.0  # of the person on the other plate: not both feet are here; tool default
SECONDS = 5.0
TOTAL_MOVES = 0.005  # of the person: the halves of the reading may differ by so much; tool default


@dataclass(frozen=True)
class Daily:
    """What the same person weighed on either plate."""

    left_n: float
    right_n: float

    @property
    def difference(self) -> float:
        """Left less right, relative to their mean."""
        return (self.left_n - self.right_n) / ((self.left_n + self.right_n) / 2)

    @property
    def agrees(self) -> bool:
        return abs(self.difference) <= WITHIN

    @property
    def sentence(self) -> str:
        key = "verify.daily-agrees" if self.agrees else "verify.daily-differs"
        return say(key, left=self.left_n / GRAVITY, right=self.right_n / GRAVITY, pct=100 * abs(self.difference), within=100 * WITHIN)  # fmt: skip


class DailyJob:
    """Nobody on, then the same person on the left plate, then on the right."""

    def __init__(self, rig: Rig, calibration: Calibration) -> None:
        self._forces = FreshForces(rig, calibration)
        self._of: dict[Side, tuple[int, ...]] = {
            side: tuple(rig.cells[i].channel for i in rig.foot_cells(side)) for side in SIDES
        }
        everything = (*self._of["left"], *self._of["right"])
        self.steps = [Step("zero", say("guide.all-empty"), empty(everything), everything, asks=True)]
        self.steps += [
            Step(side, say(f"guide.daily-{side}"), self._on(side), self._of[side], SECONDS) for side in SIDES
        ]

    def _on(self, side: Side) -> Judge:
        def judge(counts: Array, taken: Sequence[Taken]) -> Judgement:
            above = counts - taken[0].counts
            here = self._forces.newtons(self._of[side], above).sum(axis=1)
            there = self._forces.on(self._of["right" if side == "left" else "left"], above.mean(axis=0))
            load = float(here.mean())
            if load < LEAST_N or abs(there) > ELSEWHERE_N:
                return Judgement(False, False, say("guide.daily-wait", side=side, here=load / GRAVITY, there=there / GRAVITY))  # fmt: skip
            half = len(here) // 2
            stands = abs(float(here[:half].mean() - here[-half:].mean())) <= TOTAL_MOVES * load
            moving = say("guide.stands" if stands else "guide.moves")
            return Judgement(stands, True, say("guide.reads", reads=say("guide.kg", kg=load / GRAVITY), moving=moving))  # fmt: skip

        return judge

    def result(self, taken: Sequence[Taken]) -> Daily:
        """Of all three readings."""
        zero, left, right = (one.counts for one in taken)
        return Daily(self._forces.on(self._of["left"], left - zero), self._forces.on(self._of["right"], right - zero))  # fmt: skip
