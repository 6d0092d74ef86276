"""Counts to newtons, which samples cannot be used, and what a cell's force may be wrong by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.rig import Rig
from drivers.samples import CHANNEL_GOOD, COUNTS_MAX, COUNTS_MIN, VALUE_FLAGS, IntArray, channel_status

Array = npt.NDArray[np.float64]

OVERLOAD = 1.5  # of capacity: beyond it a force is a fault; tool default, no published source
BEYOND_CALIBRATION = 1.1  # of the largest applied load; tool default, no published source
HYSTERESIS_OF_CAPACITY = 0.001  # taken where the calibration measured none; tool default


@dataclass(frozen=True)
class CellForce:
    """How one cell's counts become newtons and what that may be wrong by.

    slopes       a1, a2 of f = a1·x + a2·x², x = counts − zero_counts
    covariance   (2, 2) of a1, a2
    constant_n   standard error of the force, independent between cells: fit residual and assumed zero drift
    hysteresis_n standard size of the error that all cells share, each with its own size
    """

    channel: int
    zero_counts: float
    a1: float
    a2: float
    covariance: Array
    zero_u_counts: float
    constant_n: float
    hysteresis_n: float
    capacity_n: float
    evidence_n: float | None

    def newtons(self, counts: npt.NDArray[np.int64] | Array) -> Array:
        """Force, down positive; elementwise."""
        x = counts - self.zero_counts
        return np.asarray(self.a1 * x + self.a2 * x * x, dtype=np.float64)

    def reading(self, force_n: Array) -> Array:
        """x = counts − zero at which the cell shows ``force_n``."""
        if self.a2 == 0.0:
            return force_n / self.a1
        root = np.sqrt(np.maximum(self.a1**2 + 4 * self.a2 * force_n, 0.0))
        return np.asarray(2 * force_n / (self.a1 + np.copysign(root, self.a1)), dtype=np.float64)


def cell_forces(
    rig: Rig, calibration: Calibration, zero_after_counts: list[float | None] | None = None
) -> list[CellForce]:
    """One CellForce a cell of the rig, in its order.

    ``zero_after_counts`` (one a channel): the zero taken after the person had left; the mean of both zeros is
    used and |d|/√12 taken as drift, d their difference. Elsewhere the rig's zero_drift_n is.
    """
    result = []
    for cell in rig.cells:
        known = calibration.of(cell.channel)
        zero = known.zero_counts
        zero_u_counts, drift_n = known.zero_uncertainty_counts, rig.zero_drift_n
        after = None
        if zero_after_counts is not None and cell.channel < len(zero_after_counts):
            after = zero_after_counts[cell.channel]
        if after is not None:
            zero = (known.zero_counts + after) / 2
            zero_u_counts = float(np.hypot(zero_u_counts, (after - known.zero_counts) / 12**0.5))
            drift_n = 0.0
        covariance = np.zeros((2, 2))
        given = np.array(known.covariance, dtype=np.float64)
        covariance[: len(given), : len(given)] = given
        hysteresis_n = known.hysteresis_n
        if hysteresis_n is None:
            hysteresis_n = HYSTERESIS_OF_CAPACITY * cell.capacity_n
        result.append(
            CellForce(
                channel=cell.channel,
                zero_counts=zero,
                a1=known.newton_per_count,
                a2=known.newton_per_count2,
                covariance=covariance,
                zero_u_counts=zero_u_counts,
                constant_n=float(np.hypot(known.residual_n, drift_n)),
                hysteresis_n=hysteresis_n / 12**0.5,
                capacity_n=cell.capacity_n,
                evidence_n=known.largest_applied_n,
            )
        )
    return result


def usable(status: IntArray, counts: IntArray, cells: list[CellForce]) -> npt.NDArray[np.bool_]:
    """(n,) True where a sample's values can be used: no fault bit that concerns values, no cell's converter
    at its end, no force beyond 1.5 × capacity. Channels on no cell spoil nothing."""
    good = (status & VALUE_FLAGS) == 0
    for cell in cells:
        one = counts[:, cell.channel]
        good &= channel_status(status, cell.channel) == CHANNEL_GOOD
        good &= (one > COUNTS_MIN) & (one < COUNTS_MAX)
        good &= np.abs(cell.newtons(one)) <= OVERLOAD * cell.capacity_n
    return np.asarray(good, dtype=np.bool_)


def beyond_calibration(cells: list[CellForce], largest_n: list[float]) -> list[int]:
    """Channels whose largest |force| exceeds 1.1 × the largest load of their calibration's evidence."""
    return [
        cell.channel
        for cell, force_n in zip(cells, largest_n, strict=True)
        if cell.evidence_n is not None and force_n > BEYOND_CALIBRATION * cell.evidence_n
    ]
