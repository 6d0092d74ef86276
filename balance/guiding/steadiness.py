"""Whether a cell's reading stands: the declared criterion of every guided step."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LEAST_COUNTS = (
    20.0  # of a 24-bit converter, 2.4 millionths of its range: what moves less, stands; tool default
)
OF_THE_LOAD = 0.0005  # a load's reading may move by so much of itself; tool default, a tenth of the limits of a calibration
TIMES_NOISE = 2.0  # an SD beyond so many times the conversions' own noise is movement; tool default
ERRORS = 4.0  # the halves of a window differ by chance by less than so many standard errors


def noise_counts(counts: Array) -> float:
    """Noise of the conversions alone, from their differences one to the next (von Neumann's estimate), (n,) to counts.
    Repeats of one conversion are left out."""
    steps = np.diff(counts)
    steps = steps[steps != 0]
    return float(np.sqrt(np.mean(steps**2) / 2)) if len(steps) else 0.0


def movement(counts: Array, load_counts: float = 0.0) -> float:
    """How much one cell's reading moves, in parts of what is allowed: it stands where this is at most 1.

    counts (n,), n ≥ 8; load_counts: the load's share of the reading. Two things are looked at: how far the means of the two
    halves lie apart (allowed: four standard errors), and the SD (allowed: twice the conversions' noise); of the load 0.05 %,
    and 20 counts, are allowed in any case.
    """
    noise = noise_counts(counts)
    free = max(LEAST_COUNTS, OF_THE_LOAD * abs(load_counts))
    half = len(counts) // 2
    apart = abs(float(counts[:half].mean()) - float(counts[-half:].mean()))
    by_halves = apart / max(free, ERRORS * noise * (2 / half) ** 0.5)
    by_spread = float(np.std(counts)) / max(free, TIMES_NOISE * noise)
    return float(max(by_halves, by_spread))
