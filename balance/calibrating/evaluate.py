"""What the points say of one cell: its fit, and how straight, repeatable and steady it is."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from balance.calibrating.points import AppliedPoint
from balance.calibrating.polynomial import (
    CannotFit,
    PolynomialFit,
    added_term_p,
    coefficient_p,
    fit_polynomial,
)

Array = npt.NDArray[np.float64]

CURVED_P, OFF_LINE_P = 0.01, 0.01  # tool default
LOADS_FOR_A_CURVE = 5  # different ones; tool default
EARLY_S, LATE_S = 10.0, 180.0  # creep is the change between a reading by then and one from then on


@dataclass(frozen=True)
class Evaluated:
    """One channel. Percentages are of the largest applied load; what the points cannot give is None.

    zero_counts, zero_u_counts  mean of the zero rows and their SD (None under three)
    hysteresis_n                largest |up − down| at a load
    zero_return_pct             last zero − first zero, signed
    """

    channel: int
    points: list[AppliedPoint]
    zero_counts: float
    zero_u_counts: float | None
    fit: PolynomialFit
    degree: int
    f_test_p: float | None
    zero_offset_n: float | None
    zero_offset_p: float | None
    largest_n: float
    loads: int
    nonlinearity_pct: float | None
    hysteresis_n: float | None
    repeatability_pct: float | None
    zero_return_pct: float | None
    creep_pct: float | None

    @property
    def slope(self) -> float:
        """Newtons a count at zero."""
        return float(self.fit.coefficients[0])

    @property
    def hysteresis_pct(self) -> float | None:
        return None if self.hysteresis_n is None else 100 * self.hysteresis_n / self.largest_n

    @property
    def loaded(self) -> list[AppliedPoint]:
        return [p for p in self.points if p.applied_n != 0]


def evaluate(channel: int, points: list[AppliedPoint], degree: int | None = None) -> Evaluated:
    """``points`` of one channel in their order, zeros among them; degree 1 or 2 by hand, else by the F test. Raises CannotFit with the
    channel."""
    zeros = np.array([p.counts for p in points if p.applied_n == 0])
    loaded = [p for p in points if p.applied_n != 0]
    zero = float(zeros.mean())
    x = np.array([p.counts for p in loaded]) - zero
    y = np.array([p.applied_n for p in loaded])
    largest = float(np.abs(y).max())
    loads = len({round(p.applied_n, 6) for p in loaded})
    curved, f_p = None, None
    try:
        straight = fit_polynomial(x, y, 1, constant=False)
    except CannotFit:
        raise CannotFit(channel) from None
    try:
        curved = fit_polynomial(x, y, 2, constant=False)
        f_p = added_term_p(straight, curved)
    except CannotFit:
        pass
    if degree is None:
        wanted = loads >= LOADS_FOR_A_CURVE and f_p is not None and f_p < CURVED_P
        degree = 2 if wanted else 1
    fit = straight
    if degree == 2:
        if curved is None:
            raise CannotFit(channel)
        fit = curved
    offset = offset_p = None
    try:
        with_constant = fit_polynomial(x, y, degree, constant=True)
        offset_p = coefficient_p(with_constant, 0)
        offset = float(with_constant.coefficients[0]) if offset_p is not None else None
    except CannotFit:
        pass
    slope = float(fit.coefficients[0])
    to_pct = 100 * abs(slope) / largest
    return Evaluated(
        channel=channel,
        points=points,
        zero_counts=zero,
        zero_u_counts=float(zeros.std(ddof=1)) if len(zeros) >= 3 else None,
        fit=fit,
        degree=degree,
        f_test_p=f_p,
        zero_offset_n=offset,
        zero_offset_p=offset_p,
        largest_n=largest,
        loads=loads,
        nonlinearity_pct=_nonlinearity(loaded, zero, to_pct),
        hysteresis_n=_hysteresis(loaded, abs(slope)),
        repeatability_pct=_repeatability(loaded, to_pct),
        zero_return_pct=float(zeros[-1] - zeros[0]) * slope * 100 / largest if len(zeros) > 1 else None,
        creep_pct=_creep(loaded, abs(slope)),
    )


Key = TypeVar("Key", bound=Hashable)


def _grouped(
    points: Iterable[AppliedPoint], key: Callable[[AppliedPoint], Key]
) -> dict[Key, list[AppliedPoint]]:
    groups: dict[Key, list[AppliedPoint]] = {}
    for point in points:
        groups.setdefault(key(point), []).append(point)
    return groups


def _mean_counts(points: list[AppliedPoint]) -> float:
    return float(np.mean([p.counts for p in points]))


def _load(point: AppliedPoint) -> float:
    return round(point.applied_n, 6)


def _nonlinearity(loaded: list[AppliedPoint], zero: float, to_pct: float) -> float | None:
    """Largest distance of a load's mean, going up, from the line through zero and the largest load's mean."""
    means = {load: _mean_counts(p) - zero for load, p in _grouped([p for p in loaded if p.direction != "down"], _load).items()}  # fmt: skip
    if len(means) < 2:
        return None
    end = max(means, key=abs)
    return max(abs(x - means[end] * load / end) for load, x in means.items()) * to_pct


def _hysteresis(loaded: list[AppliedPoint], slope: float) -> float | None:
    differences = []
    for group in _grouped(loaded, _load).values():
        up = [p for p in group if p.direction == "up"]
        down = [p for p in group if p.direction == "down"]
        if up and down:
            differences.append(abs(_mean_counts(up) - _mean_counts(down)))
    return max(differences) * slope if differences else None


def _repeatability(loaded: list[AppliedPoint], to_pct: float) -> float | None:
    spreads = []
    with_run = [p for p in loaded if p.run is not None]
    for group in _grouped(with_run, lambda p: (_load(p), p.direction)).values():
        means = [_mean_counts(run) for run in _grouped(group, lambda p: p.run).values()]
        if len(means) > 1:
            spreads.append(max(means) - min(means))
    return max(spreads) * to_pct if spreads else None


def _creep(loaded: list[AppliedPoint], slope: float) -> float | None:
    """Largest change between an early and a late reading of one load, % of that load."""
    changes = []
    timed = [p for p in loaded if p.seconds is not None]
    for group in _grouped(timed, lambda p: (_load(p), p.direction, p.run)).values():
        group.sort(key=lambda p: p.seconds or 0.0)
        first, last = group[0], group[-1]
        if (first.seconds or 0.0) <= EARLY_S and (last.seconds or 0.0) >= LATE_S:
            changes.append(100 * abs(last.counts - first.counts) * slope / abs(first.applied_n))
    return max(changes) if changes else None
