"""Detrended fluctuation: how the spread around local trends grows with the length of the window."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Measure

Array = npt.NDArray[np.float64]

SHORTEST, WINDOWS = 16, 20  # samples; lengths from there to N/10, evenly spaced in their logarithm
PENG = "Peng et al. 1994, Phys Rev E 49:1685–1689 (formula from memory); windows: tool default"


def window_lengths(n: int) -> list[int]:
    """Lengths from 16 samples to a tenth of ``n``, about evenly spaced in their logarithm."""
    longest = n // 10
    if longest <= SHORTEST:
        return []
    return sorted({round(x) for x in np.geomspace(SHORTEST, longest, WINDOWS)})


def fluctuations(signal: Array, lengths: list[int]) -> Array:
    """F(n) for each length: RMS of the running sum of the centred signal about straight lines, in windows that do not overlap,
    from the first sample on; a rest shorter than a window is left out."""
    profile = np.cumsum(signal - signal.mean())
    found = []
    for length in lengths:
        windows = profile[: len(profile) // length * length].reshape(-1, length)
        t = np.arange(length) - (length - 1) / 2
        level = windows.mean(axis=1, keepdims=True)
        slope = (windows @ t)[:, None] / (t @ t)
        found.append(math.sqrt(float(np.mean((windows - level - slope * t) ** 2))))
    return np.array(found)


def dfa_alpha(signal: Array, rate_hz: float) -> float | None:
    """Slope of log F(n) over log n: 0.5 for white noise, 1 for 1/f, 1.5 for a random walk."""
    lengths = window_lengths(len(signal))
    if len(lengths) < 4:
        return None
    spread = fluctuations(signal, lengths)
    if not (spread > 0).all():
        return None
    return float(np.polyfit(np.log(lengths), np.log(spread), 1)[0])


MEASURES = [
    Measure("dfa_alpha", "1", "slope of log F(n) over log n, first order, n = 16 … N/10 samples, windows not overlapping", PENG, 30, 0, dfa_alpha),
]  # fmt: skip
