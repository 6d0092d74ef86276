"""Sample entropy: how seldom a short stretch that was seen before goes on as it did then."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Measure

Array = npt.NDArray[np.float64]

M, R_OF_SD = 2, 0.2  # length of a template; tolerance, of the population SD; as in the source's test signal
MOST_SAMPLES = 20_000  # the time grows with N²
ROWS = 32  # distances taken at once, in one table that stays in the cache
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

    Templates are put in the order of their first element, so that only neighbours need be compared, up to as many places apart as
    the first elements lie within r. Every value is known by its rank alone, and what lies within r of it is one range of ranks: an
    unsigned difference that is smaller than the range's width, so that one comparison of small integers does for two of floats.
    """
    templates = len(signal) - m
    levels, level = np.unique(signal, return_inverse=True)
    kind = np.uint16 if len(signal) < 65_535 else np.uint32
    first = _first_within(levels, r)
    last = len(levels) - 1 - _first_within(-levels[::-1], r)[::-1]
    order = np.argsort(level[:templates], kind="stable")
    begins = level[order]
    places = np.searchsorted(begins, last[begins], side="right") - 1 - np.arange(templates)
    most, apart = int(places.max()), places.astype(kind)
    elements = []  # of each template, after its first: rank, least rank within r, how many ranks are
    for j in range(1, m + 1):
        ranks = level[order + j]
        low, width = first[ranks].astype(kind), (last - first + 1)[ranks].astype(kind)
        elements.append(
            (np.pad(ranks.astype(kind), (0, ROWS)), low, width)
        )  # nobody is as far apart as the end
    longer, shorter = 0, 0
    table = [np.empty(ROWS * templates, dtype=one) for one in (kind, bool, bool)]
    for distance in range(1, most + 1, ROWS):
        rows, columns = min(ROWS, most + 1 - distance), templates - distance
        above, within, agree = (one[: rows * columns].reshape(rows, columns) for one in table)
        distances = np.arange(distance, distance + rows, dtype=kind)
        np.less_equal(distances[:, None], apart[:columns], out=agree)
        for j, (ranks, low, width) in enumerate(elements, 1):
            if j == m:
                shorter += int(np.count_nonzero(agree))
            later = np.lib.stride_tricks.as_strided(ranks[distance:], (rows, columns), ranks.strides * 2)
            np.subtract(later, low[:columns], out=above)
            np.less(above, width[:columns], out=within)
            agree &= within
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
