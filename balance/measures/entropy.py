"""Sample entropy: how seldom a short stretch that was seen before goes on as it did then."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Measure

Array = npt.NDArray[np.float64]

M, R_OF_SD = 2, 0.2  # length of a template; tolerance, of the population SD; as in the source's test signal
MOST_SAMPLES = 20_000  # the time grows with N²
ROWS = 32  # lags taken at once, in one table that stays in the cache
RICHMAN = "Richman & Moorman 2000, Am J Physiol 278:H2039–H2049 (formula from memory), held against PhysioNet's test series"


def sample_entropy(signal: Array, m: int = M, r: float | None = None) -> float | None:
    """−ln(A/B) of (n,): A of the B pairs of templates of length ``m`` that agree within ``r`` (largest difference of their
    elements ≤ r; None: 0.2 population SD) also agree in the next element. No template is compared with itself.

    None where nothing varies, or where no pair agrees in the next element: the source leaves it undefined.
    """
    tolerance = R_OF_SD * float(signal.std()) if r is None else r
    if tolerance <= 0 or len(signal) < m + 2:
        return None
    longer, shorter = matches(signal, m, tolerance)
    return math.log(shorter / longer) if longer else None


def matches(signal: Array, m: int, r: float) -> tuple[int, int]:
    """(A, B): pairs of templates of length m + 1 and m that agree within r, among the first n − m.

    Every value is known by its rank alone, and what lies within r of it is one range of ranks: an unsigned difference that is
    smaller than the range's width, so that one comparison of small integers does for two of floats.
    """
    n = len(signal)
    levels, level = np.unique(signal, return_inverse=True)
    kind = np.uint16 if n + ROWS < 65_535 else np.uint32
    first = _first_within(levels, r)
    last = len(levels) - 1 - _first_within(-levels[::-1], r)[::-1]
    low: npt.NDArray[Any] = first.astype(kind)[level]
    width: npt.NDArray[Any] = (last - first + 1).astype(kind)[level]
    rank: npt.NDArray[Any] = np.full(
        n + ROWS, np.iinfo(kind).max, dtype=kind
    )  # beyond the end: in nobody's range
    rank[:n] = level
    longer, shorter, templates = 0, 0, n - m
    table = np.empty(ROWS * n, dtype=kind), np.empty(ROWS * n, dtype=bool), np.empty(ROWS * n, dtype=bool)
    for lag in range(1, templates, ROWS):
        rows, columns = min(ROWS, templates - lag), templates - lag
        wide = columns + m
        shifted = np.lib.stride_tricks.as_strided(rank[lag:], (rows, wide), (rank.itemsize, rank.itemsize))
        above, within = (one[: rows * wide].reshape(rows, wide) for one in table[:2])
        agree = table[2][: rows * columns].reshape(rows, columns)
        np.subtract(shifted, low[:wide], out=above)
        np.less(above, width[:wide], out=within)
        np.logical_and(within[:, :columns], within[:, m - 1 : m - 1 + columns], out=agree)
        for j in range(1, m - 1):
            agree &= within[:, j : j + columns]
        for row in range(1, rows):  # pairs whose later template would begin behind the last one
            agree[row, max(columns - row, 0) :] = False
        shorter += int(np.count_nonzero(agree))
        agree &= within[:, m : m + columns]
        longer += int(np.count_nonzero(agree))
    return longer, shorter


def _first_within(levels: Array, r: float) -> npt.NDArray[np.intp]:
    """Of each of rising values the place of the smallest value at most ``r`` below it, by the difference as it is computed."""
    first = np.searchsorted(levels, levels - r)
    while (further := (first > 0) & (levels - levels[first - 1] <= r)).any():
        first = first - further
    while (beyond := levels - levels[first] > r).any():
        first = first + beyond
    return first


def _sample_entropy(signal: Array, rate_hz: float) -> float | None:
    return sample_entropy(signal)


MEASURES = [
    Measure("sample_entropy", "1", "−ln(A/B), m = 2, r = 0.2 population SD, matches ≤ r", RICHMAN, 30, 0, _sample_entropy, most_samples=MOST_SAMPLES),
]  # fmt: skip
