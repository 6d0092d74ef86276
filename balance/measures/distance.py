"""How far from its mean: mean distance, RMS distance, range. Signals are centred, mm."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import PRIETO, Measure

Array = npt.NDArray[np.float64]


def distance_mm(signal: Array) -> Array:
    """(n,) distance from the mean: |x| of an axis (n,), √(AP² + ML²) of a plane (2, n)."""
    return np.abs(signal) if signal.ndim == 1 else np.hypot(signal[0], signal[1])


def mean_distance_mm(signal: Array, rate_hz: float) -> float:
    """(1/N) Σ distance."""
    return float(distance_mm(signal).mean())


def rms_distance_mm(signal: Array, rate_hz: float) -> float:
    """√((1/N) Σ distance²)."""
    return float(np.sqrt(np.mean(distance_mm(signal) ** 2)))


def range_mm(signal: Array, rate_hz: float) -> float:
    """Largest distance between any two points."""
    if signal.ndim == 1:
        return float(np.ptp(signal))
    corners = _corners(signal.T)
    apart = corners[:, None, :] - corners[None, :, :]
    return float(np.sqrt((apart**2).sum(axis=2).max()))


def _corners(points: Array) -> Array:
    """Points among which the two furthest apart must be: the convex hull's, or all where there is no hull."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return points[ConvexHull(points).vertices]
    except QhullError:  # all on one line: the two ends
        along = points @ (points[np.argmax((points**2).sum(axis=1))])
        return points[[int(np.argmin(along)), int(np.argmax(along))]]


MEASURES = [
    Measure(
        "mean_distance_mm", "mm", "(1/N) Σ d, d the distance from the mean", PRIETO, 10, 0, mean_distance_mm
    ),
    Measure("rms_distance_mm", "mm", "√((1/N) Σ d²)", PRIETO, 10, 0, rms_distance_mm),
    Measure("range_mm", "mm", "largest distance between any two points", PRIETO, 10, 0, range_mm),
]
