"""Pressing a shoe's ends on its plate: each press is a point where all load goes through one edge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.guiding.fresh_forces import FreshForces
from balance.guiding.guide import Judge, Judgement, Step, Taken
from balance.guiding.standing import empty
from balance.placing import LEAST_PRESS_N, PRESSES, End, Press
from balance.rig import Rig, Side
from balance.verifying.places import Placed, measure
from balance.words import say

Array = npt.NDArray[np.float64]

SECONDS = 1.0  # of a press; a hand does not hold still for longer
MOVES_MM = 1.5  # SD of the load point within a press; tool default
RELEASED_N = 30.0  # less than this is the shoe alone: the hand has let go; tool default
RELEASED_S = 0.4
ENDS: tuple[End, End] = ("rocker", "heel")


class PressJob:
    """Empty plates first; then of each shoe the toe end three times and the heel three times, let go in between."""

    def __init__(self, rig: Rig, calibration: Calibration, sides: Sequence[Side]) -> None:
        self.rig, self.calibration = rig, calibration
        self._forces = FreshForces(rig, calibration)
        self._of: dict[Side, tuple[int, ...]] = {s: tuple(rig.cells[i].channel for i in rig.foot_cells(s)) for s in sides}  # fmt: skip
        everything = tuple(c for channels in self._of.values() for c in channels)
        self.steps = [Step("zero", say("guide.plates-empty"), empty(everything), everything, asks=True)]
        for side in sides:
            for end in ENDS:
                for time in range(1, PRESSES + 1):
                    what = say(f"guide.press-{end}", side=side, time=time, of=PRESSES, least=LEAST_PRESS_N)
                    self.steps.append(Step(f"{side} {end} {time}", what, self._press(side), self._of[side], SECONDS))  # fmt: skip
                    self.steps.append(Step(f"{side} {end} {time} let go", say("guide.let-go"), self._release(side), self._of[side], RELEASED_S))  # fmt: skip

    def _press(self, side: Side) -> Judge:
        def judge(counts: Array, taken: Sequence[Taken]) -> Judgement:
            above = counts - taken[0].counts
            forces = self._forces.newtons(self._of[side], above).sum(axis=1)
            least = float(forces.min())
            if least < LEAST_PRESS_N:
                return Judgement(False, False, say("guide.press-more", load=float(forces[-1]), least=LEAST_PRESS_N))  # fmt: skip
            points = self._forces.point_mm(self._of[side], above)
            moves = float(np.linalg.norm(points.std(axis=0)))
            ap, ml = points[-1]
            words = say("guide.pressed", ap=ap, ml=ml, load=float(forces[-1]), moves=moves)
            return Judgement(moves <= MOVES_MM, True, words)

        return judge

    def _release(self, side: Side) -> Judge:
        def judge(counts: Array, taken: Sequence[Taken]) -> Judgement:
            load = self._forces.on(self._of[side], counts.mean(axis=0) - taken[0].counts)
            free = load < RELEASED_N
            return Judgement(free, free, say("guide.let-go-load", load=load, least=RELEASED_N))

        return judge

    def presses(self, taken: Sequence[Taken]) -> list[Press]:
        """The presses with the uncertainty that the cells give them."""
        zeroed = self.calibration.with_zeros(dict(enumerate(taken[0].counts.tolist())))
        found = []
        for one in taken[1:]:
            side, end, *rest = one.key.split()
            if len(rest) > 1:
                continue  # let go
            ap, ml = self._forces.point_mm(self._of["left" if side == "left" else "right"], (one.counts - taken[0].counts)[None, :])[0].tolist()  # fmt: skip
            (place,) = measure([Placed(ap, ml, 1.0, tuple(one.counts.tolist()), 0.0, 0.0)], self.rig, zeroed)
            found.append(
                Press(
                    side="left" if side == "left" else "right",
                    end="heel" if end == "heel" else "rocker",
                    ap_mm=place.ap_mm,
                    ml_mm=ml if place.ml_mm is None else place.ml_mm,
                    load_n=place.load_n,
                    u_ap_mm=place.ap_u_mm,
                    u_ml_mm=place.ap_u_mm if place.ml_u_mm is None else place.ml_u_mm,
                )
            )
        return found
