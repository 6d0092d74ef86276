"""Areas that hold 95 % of the points. Three ellipses under three names, because the literature mixes them up."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import PRIETO, Measure
from balance.measures.distance import mean_distance_mm, rms_distance_mm

Array = npt.NDArray[np.float64]

CHI2_95 = 5.991465  # 95 % quantile of χ² with two degrees of freedom, JCGM 102 6.5.2.3
SCHUBERT = "95 % prediction ellipse, Schubert & Kirchner 2014, Gait Posture 39:518–522"


def f95(n: int) -> float:
    """95 % quantile of F(2, n − 2)."""
    return float((n - 2) / 2 * (0.05 ** (-2 / (n - 2)) - 1))  # F(2, ν) in closed form


def prediction_k2(n: int) -> float:
    """k² = 2(N−1)(N+1)/(N(N−2))·F₀.₉₅(2, N−2)."""
    return 2 * (n - 1) * (n + 1) / (n * (n - 2)) * f95(n)


def _root_det(signal: Array, ddof: int) -> float:
    s = np.cov(signal, ddof=ddof)
    return math.sqrt(max(float(s[0, 0] * s[1, 1] - s[0, 1] ** 2), 0.0))


def circle95_area_mm2(signal: Array, rate_hz: float) -> float:
    """π·(mean distance + 1.645·SD of the distance)²."""
    mean = mean_distance_mm(signal, rate_hz)
    spread = math.sqrt(max(rms_distance_mm(signal, rate_hz) ** 2 - mean**2, 0.0))
    return math.pi * (mean + 1.645 * spread) ** 2


def ellipse95_area_mm2(signal: Array, rate_hz: float) -> float:
    """π·k²·√det S, S the N−1 covariance, k² of the prediction ellipse."""
    return math.pi * prediction_k2(signal.shape[-1]) * _root_det(signal, 1)


def ellipse95_chi2_area_mm2(signal: Array, rate_hz: float) -> float:
    """π·5.991465·√det S."""
    return math.pi * CHI2_95 * _root_det(signal, 1)


def ellipse95_prieto_area_mm2(signal: Array, rate_hz: float) -> float:
    """2π·F₀.₉₅(2, N−2)·√(s_AP² s_ML² − s_APML²), moments by N."""
    return 2 * math.pi * f95(signal.shape[-1]) * _root_det(signal, 0)


def _axes(signal: Array) -> tuple[float, float, float]:
    values, vectors = np.linalg.eigh(np.cov(signal))
    k2 = prediction_k2(signal.shape[-1])
    angle = math.degrees(math.atan2(vectors[1, 1], vectors[0, 1]))
    angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
    return math.sqrt(k2 * max(values[1], 0.0)), math.sqrt(k2 * max(values[0], 0.0)), angle


def ellipse95_major_mm(signal: Array, rate_hz: float) -> float:
    """Longer half axis of the prediction ellipse."""
    return _axes(signal)[0]


def ellipse95_minor_mm(signal: Array, rate_hz: float) -> float:
    """Shorter half axis of the prediction ellipse."""
    return _axes(signal)[1]


def ellipse95_angle_deg(signal: Array, rate_hz: float) -> float | None:
    """Angle of the major axis from AP toward ML, in (−90, 90]; None where the ellipse is a circle."""
    major, minor, angle = _axes(signal)
    return None if major == minor else angle


MEASURES = [
    Measure("circle95_area_mm2", "mm²", "π(mean distance + 1.645·SD)²", PRIETO, 10, 0, circle95_area_mm2),
    Measure("ellipse95_area_mm2", "mm²", "π·k²·√det S, k² = 2(N−1)(N+1)/(N(N−2))·F₀.₉₅(2, N−2)", SCHUBERT, 10, 0, ellipse95_area_mm2),
    Measure("ellipse95_chi2_area_mm2", "mm²", "π·5.991465·√det S", "JCGM 102:2011, 6.5.2.3", 10, 0, ellipse95_chi2_area_mm2),
    Measure("ellipse95_prieto_area_mm2", "mm²", "2π·F₀.₉₅(2, N−2)·√det S, moments by N", PRIETO, 10, 0, ellipse95_prieto_area_mm2),
    Measure("ellipse95_major_mm", "mm", "k·√λ₁, half axis", SCHUBERT, 10, 0, ellipse95_major_mm),
    Measure("ellipse95_minor_mm", "mm", "k·√λ₂, half axis", SCHUBERT, 10, 0, ellipse95_minor_mm),
    Measure("ellipse95_angle_deg", "°", "of the major axis, from AP toward ML", SCHUBERT, 10, 0, ellipse95_angle_deg),
]  # fmt: skip
