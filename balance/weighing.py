"""The body weight as standing, from a still stand with all support on plates and crutches that have cells."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from balance.rig import SIDES, Rig
from balance.stance import Stance
from balance.words import say

Array = npt.NDArray[np.float64]

SECONDS, MOVES, LEAST_N = (
    3.0,
    0.02,
    150.0,
)  # the mean of so long, its SD at most so much of it, at least so much; tool default


def weight_n(time_s: Array, loads_n: dict[str, Array], rig: Rig, stance: Stance) -> float | str:
    """Newtons, or the sentence that refuses. loads_n (n,) of every part that has cells, time_s (n,) rising."""
    if any(stance.uses_crutch(side) and not rig.crutch_cells(side) for side in SIDES):
        return say("session.no-weight-crutches")
    if len(time_s) == 0 or time_s[-1] - time_s[0] < SECONDS:
        return say("session.no-weight", seconds=SECONDS)
    newest = time_s >= time_s[-1] - SECONDS
    total = np.sum([np.nan_to_num(load[newest]) for load in loads_n.values()], axis=0)
    if total.mean() < LEAST_N or total.std() > MOVES * total.mean():
        return say("session.no-weight", seconds=SECONDS)
    return round(float(total.mean()), 1)
