"""Whether cells stand, in words; the judge of every step in which nothing is to be there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from balance.guiding.guide import Judge, Judgement, Taken
from balance.steadiness import drift_counts, movement
from balance.words import say

Array = npt.NDArray[np.float64]


def standing(counts: Array, channels: Sequence[int], load_counts: float = 0.0) -> Judgement:
    """Of the counts (n, m) on ``channels``: 'stands', 'still moves', or which cell wanders evenly one way."""
    moves = {channel: movement(counts[:, channel], load_counts) for channel in channels}
    if max(moves.values()) <= 1:
        return Judgement(True, True, say("guide.stands"))
    for channel in (c for c, moved in moves.items() if moved > 1):
        drift = drift_counts(counts[:, channel], load_counts)
        if drift is not None:
            return Judgement(False, True, say("guide.drifts", channel=channel, drift=drift), alarm=True)
    return Judgement(False, True, say("guide.moves"))


def empty(channels: Sequence[int]) -> Judge:
    """Judges a step in which nothing stands on ``channels``."""

    def judge(counts: Array, taken: Sequence[Taken]) -> Judgement:
        return standing(counts, channels)

    return judge
