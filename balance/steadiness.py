"""Whether a cell's reading stands: the declared criterion of every guided step and of an empty plate."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LEAST_COUNTS = (
    20.0  # of a 24-bit converter, 2.4 millionths of its range: what moves less, stands; tool default
)
OF_THE_LOAD = 0.0005  # a load's reading may move by so much of itself; tool default, a tenth of the limits of a calibration
TIMES_NOISE = 2.0  # an SD beyond so many times the conversions' own noise is movement; tool default
NORMAL_MEDIAN = 0.6745  # of |x| for a normal x of SD 1
ERRORS = 4.0  # the halves of a window differ by chance by less than so many standard errors


def noise_counts(counts: Array) -> float:
    """SD of the conversions' own noise, (n,) to counts: from the median |difference| of one to the next, so that a step within the
    window does not pass for noise. Repeats of one conversion are left out."""
    steps = np.abs(np.diff(counts))
    steps = steps[steps != 0]
    return float(np.median(steps)) / NORMAL_MEDIAN / 2**0.5 if len(steps) else 0.0


def drift_counts(counts: Array, load_counts: float = 0.0) -> float | None:
    """Counts in the time of the window where the reading wanders evenly one way and does nothing else; else None."""
    t = np.arange(len(counts)) / len(counts)
    slope, start = np.polyfit(t, counts, 1)
    rest = counts - (start + slope * t)
    return float(slope) if movement(rest, load_counts) <= 1 else None


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
