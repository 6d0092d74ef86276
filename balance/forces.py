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
    residual_n   standard error of the force by the fit's residual, independent between cells
    drift_n      the same by the assumed drift of the zero · drift_counts by the drift seen; takes its place if not None
    hysteresis_n standard size of the error that all cells share, each with its own size
    """

    channel: int
    zero_counts: float
    a1: float
    a2: float
    covariance: Array
    zero_u_counts: float
    residual_n: float
    drift_n: float
    drift_counts: float | None
    hysteresis_n: float
    capacity_n: float
    evidence_n: float | None


@dataclass(frozen=True)
class ForceTable:
    """The cells' slopes side by side, (cells,) each: counts of all cells to newtons in one go, elementwise."""

    channels: IntArray
    zero_counts: Array
    a1: Array
    a2: Array
    limit_n: Array
    curved: bool  # at least one cell's square term, or its uncertainty, is not 0

    @classmethod
    def of(cls, cells: list[CellForce]) -> ForceTable:
        return cls(
            np.array([c.channel for c in cells], dtype=np.int64),
            np.array([c.zero_counts for c in cells]),
            np.array([c.a1 for c in cells]),
            np.array([c.a2 for c in cells]),
            np.array([OVERLOAD * c.capacity_n for c in cells]),
            any(c.a2 != 0.0 or c.covariance[1, 1] != 0.0 for c in cells),
        )

    def newtons(self, counts: IntArray) -> Array:
        """(n, cells) from the counts of all channels (n, channels)."""
        x = counts[:, self.channels] - self.zero_counts
        return np.asarray(self.a1 * x + self.a2 * x * x, dtype=np.float64)

    def readings(self, forces_n: Array) -> Array:
        """(cells, n) x = counts − zero at which the cells show ``forces_n`` (cells, n)."""
        a1, a2 = self.a1[:, None], self.a2[:, None]
        if not self.curved:
            return np.asarray(forces_n / a1, dtype=np.float64)
        root = np.sqrt(np.maximum(a1 * a1 + 4 * a2 * forces_n, 0.0))
        return np.asarray(2 * forces_n / (a1 + np.copysign(root, a1)), dtype=np.float64)

    def usable(self, status: IntArray, counts: IntArray, forces_n: Array) -> npt.NDArray[np.bool_]:
        """(n,) True where a sample's values can be used: no fault bit that concerns values, no cell's converter
        at its end, no force beyond 1.5 × capacity. Channels on no cell spoil nothing."""
        good = np.abs(forces_n) <= self.limit_n
        of_cells = counts[:, self.channels]
        good &= (of_cells > COUNTS_MIN) & (of_cells < COUNTS_MAX)
        usable = good.all(axis=1)
        usable &= (status & VALUE_FLAGS) == 0
        if (status > 0xFF).any():  # two bits a channel from bit 8 up
            for channel in self.channels.tolist():
                usable &= channel_status(status, channel) == CHANNEL_GOOD
        return np.asarray(usable, dtype=np.bool_)


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
        drift_counts = after = None
        if zero_after_counts is not None and cell.channel < len(zero_after_counts):
            after = zero_after_counts[cell.channel]
        if after is not None:
            zero = (known.zero_counts + after) / 2
            drift_counts = abs(after - known.zero_counts) / 12**0.5
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
                zero_u_counts=known.zero_uncertainty_counts,
                residual_n=known.residual_n,
                drift_n=rig.zero_drift_n,
                drift_counts=drift_counts,
                hysteresis_n=hysteresis_n / 12**0.5,
                capacity_n=cell.capacity_n,
                evidence_n=known.largest_applied_n,
            )
        )
    return result


def beyond_calibration(cells: list[CellForce], largest_n: list[float]) -> list[int]:
    """Channels whose largest |force| exceeds 1.1 × the largest load of their calibration's evidence."""
    return [
        cell.channel
        for cell, force_n in zip(cells, largest_n, strict=True)
        if cell.evidence_n is not None and force_n > BEYOND_CALIBRATION * cell.evidence_n
    ]
