"""Few numbers against few: Welch's t, Holm's correction, what repeats say of the smallest change that can be told from repeating."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Difference:
    """b less a: with its 95 % interval and p where both have at least two."""

    difference: float
    low: float | None = None
    high: float | None = None
    p: float | None = None
    dof: float | None = None


def welch(a: Sequence[float], b: Sequence[float]) -> Difference:
    """Welch's t (1947): means of independent groups of unequal variance. At least one value each; the interval and p need two."""
    x, y = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    difference = float(y.mean() - x.mean())
    if len(x) < 2 or len(y) < 2:
        return Difference(difference)
    from scipy.special import stdtr, stdtrit

    va, vb = float(x.var(ddof=1)) / len(x), float(y.var(ddof=1)) / len(y)
    if va + vb == 0.0:
        return Difference(difference, difference, difference, 1.0 if difference == 0.0 else 0.0, None)
    dof = (va + vb) ** 2 / (va**2 / (len(x) - 1) + vb**2 / (len(y) - 1))
    se = math.sqrt(va + vb)
    reach = float(stdtrit(dof, 0.975)) * se
    p = float(2 * stdtr(dof, -abs(difference) / se))
    return Difference(difference, difference - reach, difference + reach, p, dof)


def holm(p: Sequence[float]) -> list[float]:
    """Holm's step-down adjusted p values (1979), in the order given."""
    order = sorted(range(len(p)), key=lambda i: p[i])
    adjusted, highest = [0.0] * len(p), 0.0
    for rank, i in enumerate(order):
        highest = max(highest, min(1.0, (len(p) - rank) * p[i]))
        adjusted[i] = highest
    return adjusted


@dataclass(frozen=True)
class Repeats:
    """Standard error of measurement from repeats, and its degrees of freedom."""

    sem: float
    dof: int


def sem_of_one(values: Sequence[float]) -> Repeats | None:
    """One person's placings: SD with N − 1; None for fewer than two."""
    if len(values) < 2:
        return None
    return Repeats(float(np.std(np.asarray(values), ddof=1)), len(values) - 1)


def sem_consistency(table: Array) -> Repeats | None:
    """√EMS of a two-way table (subjects, repeats), both at least two: what is left when subjects and repeats are taken out."""
    n, k = table.shape
    if n < 2 or k < 2:
        return None
    rest = table - table.mean(axis=1, keepdims=True) - table.mean(axis=0, keepdims=True) + table.mean()
    dof = (n - 1) * (k - 1)
    return Repeats(math.sqrt(float((rest**2).sum()) / dof), dof)


def smallest_change(repeats: Repeats, n_a: int, n_b: int) -> float:
    """t(0.975, ν)·SEM·√(1/n_a + 1/n_b): a difference of means beyond it is more than repeating changes, 95 times in 100."""
    from scipy.special import stdtrit

    return float(stdtrit(repeats.dof, 0.975)) * repeats.sem * math.sqrt(1 / n_a + 1 / n_b)


def batch_reach(batches_a: Sequence[Sequence[float]], batches_b: Sequence[Sequence[float]]) -> float:
    """Half the 95 % interval of a difference of two means from batch means within trials: each trial's mean has the variance of its
    batches over their number; t with the freedoms of one trial (3 for four batches)."""
    from scipy.special import stdtrit

    def variance(trials: Sequence[Sequence[float]]) -> float:
        return sum(float(np.var(t, ddof=1)) / len(t) for t in trials) / len(trials) ** 2

    dof = len(batches_a[0]) - 1
    return float(stdtrit(dof, 0.975)) * math.sqrt(variance(batches_a) + variance(batches_b))
