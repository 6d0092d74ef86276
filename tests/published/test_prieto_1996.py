"""Sway measures after Prieto et al. 1996, IEEE Trans Biomed Eng 43(9):956–966, on signals with closed forms.

The formulas are from memory (the paper was not at hand), the values derived from them.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from balance.measures import areas, distance, path, spectrum
from balance.measures.sway import sway

DATA = Path(__file__).parent / "data"
RATE = 100.0
T = np.arange(2000) / RATE


def _circle(radius: float, f: float) -> np.ndarray:
    return np.stack([radius * np.cos(2 * np.pi * f * T), radius * np.sin(2 * np.pi * f * T)])


def test_circle() -> None:
    c = _circle(5, 0.5)
    assert distance.mean_distance_mm(c, RATE) == pytest.approx(5)
    assert distance.rms_distance_mm(c, RATE) == pytest.approx(5)
    assert path.mean_speed_mm_s(c, RATE) == pytest.approx(15.70796, rel=1e-3)
    assert path.mean_frequency_hz(c, RATE) == pytest.approx(0.5, rel=1e-3)
    assert areas.circle95_area_mm2(c, RATE) == pytest.approx(78.539816, rel=1e-6)
    assert path.sway_area_mm2_s(c, RATE) == pytest.approx(39.26991, rel=1e-3)
    assert distance.range_mm(c, RATE) == pytest.approx(10, rel=1e-4)


def test_line() -> None:
    x = 10 * np.sin(2 * np.pi * 0.5 * T)
    assert distance.mean_distance_mm(x, RATE) == pytest.approx(2 * 10 / math.pi, rel=1e-3)
    assert distance.rms_distance_mm(x, RATE) == pytest.approx(10 / math.sqrt(2))
    assert path.mean_frequency_hz(x, RATE) == pytest.approx(math.pi * 0.5 / (2 * math.sqrt(2)), rel=2e-3)


@pytest.mark.parametrize(
    ("ap", "ml", "f", "expected"),
    [
        (5.0, 5.0, 0.5, (5.0, 5.0, 15.69946, 78.539816, 39.24382, 0.499729)),
        (8.0, 3.0, 0.3, (5.787966, 6.041523, 10.902358, 234.351912, 22.606819, 0.299788)),
    ],
)
def test_closed_curves(ap: float, ml: float, f: float, expected: tuple[float, ...]) -> None:
    """Mean and RMS distance, speed, circle area, swept area, mean frequency; the table's T is N/rate, ours (N − 1)/rate."""
    c = np.stack([ap * np.sin(2 * np.pi * f * T), ml * np.cos(2 * np.pi * f * T)])
    to_table = (len(T) - 1) / len(T)
    found = (
        distance.mean_distance_mm(c, RATE),
        distance.rms_distance_mm(c, RATE),
        path.mean_speed_mm_s(c, RATE) * to_table,
        areas.circle95_area_mm2(c, RATE),
        path.sway_area_mm2_s(c, RATE) * to_table,
        path.mean_frequency_hz(c, RATE) * to_table,
    )
    assert found == pytest.approx(expected, rel=2e-6)
    # The table takes F = 3.00 for many samples; here it is the quantile of these 2000.
    ellipse = areas.ellipse95_prieto_area_mm2(c, RATE) * 3.0 / areas.f95(len(T))
    assert ellipse == pytest.approx(3 * math.pi * ap * ml, rel=1e-6)


@pytest.mark.parametrize(
    ("power", "expected"),
    [(np.ones_like, (2.575, 4.7575, 2.931012, 0.477676)), (lambda f: f**-2, (0.291262, 1.910828, 0.866025, 0.779712))],
)  # fmt: skip
def test_power_laws(power: Any, expected: tuple[float, ...]) -> None:
    """Flat and 1/f² from 0.15 to 5 Hz: 50 % and 95 % frequencies, centroid, dispersion in closed form."""
    f = np.arange(0.15, 5.0, 1e-4) + 5e-5
    found = spectrum.of_power(f, power(f))
    names = ("power50_hz", "power95_hz", "centroid_hz", "dispersion")
    assert tuple(found[name] for name in names) == pytest.approx(expected, rel=2e-3)


def test_rectangle_3_4_5() -> None:
    with (DATA / "cop_handcheck_345.csv").open() as file:
        rows = list(csv.DictReader(file))
    r = np.array([[float(x["ap_mm"]) for x in rows], [float(x["ml_mm"]) for x in rows]])
    assert distance.mean_distance_mm(r, 1.0) == 5
    assert path.path_mm(r, 1.0) == pytest.approx(6 + 8 + 8, abs=1e-12)
    assert areas.circle95_area_mm2(r, 1.0) == pytest.approx(25 * math.pi)
    assert distance.range_mm(r, 1.0) == pytest.approx(10)


def test_spectral_lines() -> None:
    """2 mm at 0.3 Hz and 1 mm at 1.1 Hz: power (4 + 1)/2, centroid and dispersion in closed form."""
    t = np.arange(20000) / RATE
    x = 2 * np.sin(2 * np.pi * 0.3 * t) + np.sin(2 * np.pi * 1.1 * t)
    s = spectrum.spectral(x, RATE, "multitaper")
    assert s["total_power_mm2"] == pytest.approx(2.5, rel=1e-3)
    assert s["centroid_hz"] == pytest.approx(0.560357, rel=1e-2)
    assert s["dispersion"] == pytest.approx(0.571064, rel=1e-2)
    assert s["power50_hz"] == pytest.approx(0.3, abs=0.03)
    assert s["power95_hz"] == pytest.approx(1.1, abs=0.03)


def test_too_short_and_too_slow_have_reasons() -> None:
    values, absences = sway(np.zeros(50), np.zeros(50), 10.0)
    assert all(v is None for axis in values.values() for v in axis.values())
    named = {key for a in absences for key in a.keys}
    assert named == {f"sway.{axis}.{key}" for axis in values for key in values[axis]}


def test_fractal_dimension_beside_katz() -> None:
    """antropy's Katz dimension has the same form, log n / log(n·d/path), with n the steps, not the points, and d the largest distance from the
    first point, not the 95 % circle's diameter: put these in, and they agree."""
    antropy = pytest.importorskip("antropy")  # slow to import: in the extra 'oracles' only
    x = np.cumsum(np.random.default_rng(3).standard_normal(900))
    n, d, way = len(x) - 1, np.abs(x - x[0]).max(), path.path_mm(x, RATE)
    assert antropy.katz_fd(x) == pytest.approx(math.log(n) / math.log(n * d / way), rel=1e-9)
    plane = np.stack([x - x.mean(), np.zeros_like(x)])
    circle = 2 * math.sqrt(areas.circle95_area_mm2(plane, RATE) / math.pi)
    assert path.fractal_dimension_cc(plane, RATE) == pytest.approx(
        math.log(n + 1) / math.log((n + 1) * circle / way), rel=1e-9
    )
