"""How much way: path, mean speed, mean frequency, sway area rate, fractal dimension. T = (N − 1)/rate."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import PRIETO, Measure
from balance.measures.distance import mean_distance_mm, rms_distance_mm

Array = npt.NDArray[np.float64]


def seconds(signal: Array, rate_hz: float) -> float:
    return float((signal.shape[-1] - 1) / rate_hz)


def path_mm(signal: Array, rate_hz: float) -> float:
    """Total excursion: Σ of the steps' lengths."""
    steps = np.diff(signal, axis=-1)
    return float(np.abs(steps).sum() if signal.ndim == 1 else np.hypot(steps[0], steps[1]).sum())


def mean_speed_mm_s(signal: Array, rate_hz: float) -> float:
    """Path / T."""
    return path_mm(signal, rate_hz) / seconds(signal, rate_hz)


def mean_frequency_hz(signal: Array, rate_hz: float) -> float | None:
    """Path / (2π·mean distance·T) in the plane, path / (4√2·mean distance·T) of an axis; None without movement."""
    mean = mean_distance_mm(signal, rate_hz)
    if mean == 0.0:
        return None
    turn = 4 * math.sqrt(2) if signal.ndim == 1 else 2 * math.pi
    return mean_speed_mm_s(signal, rate_hz) / (turn * mean)


def sway_area_mm2_s(signal: Array, rate_hz: float) -> float:
    """(1/2T) Σ |AP[n+1]·ML[n] − AP[n]·ML[n+1]|."""
    ap, ml = signal
    return float(np.abs(ap[1:] * ml[:-1] - ap[:-1] * ml[1:]).sum() / (2 * seconds(signal, rate_hz)))


def _fractal_dimension(signal: Array, rate_hz: float, diameter_mm: float) -> float | None:
    path = path_mm(signal, rate_hz)
    n = signal.shape[-1]
    if path == 0.0 or diameter_mm == 0.0 or n * diameter_mm == path:
        return None
    return math.log(n) / math.log(n * diameter_mm / path)


def fractal_dimension_cc(signal: Array, rate_hz: float) -> float | None:
    """log N / log(N·d/path), d = 2·(mean distance + 1.645·SD of the distance): the circle's diameter."""
    mean = mean_distance_mm(signal, rate_hz)
    spread = math.sqrt(max(rms_distance_mm(signal, rate_hz) ** 2 - mean**2, 0.0))
    return _fractal_dimension(signal, rate_hz, 2 * (mean + 1.645 * spread))


def fractal_dimension_ce(signal: Array, rate_hz: float) -> float | None:
    """log N / log(N·d/path), d = √(2a·2b) of the ellipse whose area is ellipse95_prieto_area_mm2."""
    from balance.measures.areas import ellipse95_prieto_area_mm2

    return _fractal_dimension(
        signal, rate_hz, math.sqrt(4 * ellipse95_prieto_area_mm2(signal, rate_hz) / math.pi)
    )


AXIS = [
    Measure("path_mm", "mm", "Σ |step|", PRIETO, 10, 40, path_mm),
    Measure("mean_speed_mm_s", "mm/s", "path / T, T = (N−1)/rate", PRIETO, 10, 40, mean_speed_mm_s),
    Measure(
        "mean_frequency_hz",
        "Hz",
        "path/(2π·mean distance·T); of an axis /(4√2·…)",
        PRIETO,
        10,
        40,
        mean_frequency_hz,
    ),
]
PLANE = [
    Measure("sway_area_mm2_s", "mm²/s", "(1/2T) Σ |AP₊ML − AP·ML₊|", PRIETO, 10, 40, sway_area_mm2_s),
    Measure("fractal_dimension_cc", "1", "log N/log(N·d/path), d the 95 % circle's diameter", PRIETO, 10, 40, fractal_dimension_cc),
    Measure("fractal_dimension_ce", "1", "log N/log(N·d/path), d = √(2a·2b) of the 95 % ellipse", PRIETO, 10, 40, fractal_dimension_ce),
]  # fmt: skip
