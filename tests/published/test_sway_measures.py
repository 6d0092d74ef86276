"""Sway measures against closed forms, tables and open recordings.

Closed forms after the definitions of Prieto et al. 1996 (IEEE Trans Biomed Eng 43(9):956–966; formulas from memory, values
derived); ellipse factors: JCGM 102:2011 and F quantiles; open data: Santos & Duarte 2016 (PeerJ 4:e2648) and dos Santos et al.
2017 (PeerJ 5:e3626).
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import signal, stats

from balance.measures import areas, distance, path, spectrum
from balance.measures.standard_error import se_of_mean
from balance.measures.sway import sway
from tests.published.open_data import open_data

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


def test_rectangle_3_4_5() -> None:
    with (DATA / "cop_handcheck_345.csv").open() as file:
        rows = list(csv.DictReader(file))
    r = np.array([[float(x["ap_mm"]) for x in rows], [float(x["ml_mm"]) for x in rows]])
    assert distance.mean_distance_mm(r, 1.0) == 5
    assert path.path_mm(r, 1.0) == pytest.approx(6 + 8 + 8, abs=1e-12)
    assert areas.circle95_area_mm2(r, 1.0) == pytest.approx(25 * math.pi)
    assert distance.range_mm(r, 1.0) == pytest.approx(10)


def test_ellipse_factors() -> None:
    with (DATA / "ellipse_factors_p95.csv").open() as file:
        rows = [r for r in csv.DictReader(file) if r["N"].isdigit()]
    assert len(rows) > 5
    for row in rows:
        n = int(row["N"])
        assert areas.f95(n) == pytest.approx(stats.f.ppf(0.95, 2, n - 2), rel=1e-9)
        assert areas.prediction_k2(n) == pytest.approx(
            float(row["prediction_2(N-1)(N+1)F/(N(N-2))"]), rel=1e-7
        )


@pytest.mark.parametrize(("cov", "area"), [([[2, 0], [0, 1]], 26.619376), ([[2, 1.9], [1.9, 2]], 11.754798)])
def test_jcgm_102_areas(cov: list[list[float]], area: float) -> None:
    """JCGM 102:2011, 6.5.2.3, examples 1 and 2: areas of 95 % ellipses."""
    rng = np.random.default_rng(3)
    x = rng.normal(size=(2, 500))
    x -= x.mean(axis=1, keepdims=True)
    white = np.linalg.solve(np.linalg.cholesky(np.cov(x)), x)
    sample = np.linalg.cholesky(np.array(cov, dtype=float)) @ white
    assert areas.ellipse95_chi2_area_mm2(sample, 1.0) == pytest.approx(area, rel=1e-6)


def test_axes_agree_with_the_area() -> None:
    rng = np.random.default_rng(5)
    x = np.array([[3.0, 1.0], [0.5, 1.0]]) @ rng.normal(size=(2, 400))
    major, minor = areas.ellipse95_major_mm(x, 1.0), areas.ellipse95_minor_mm(x, 1.0)
    assert math.pi * major * minor == pytest.approx(areas.ellipse95_area_mm2(x, 1.0))
    assert major > minor


@pytest.mark.parametrize("n", [1999, 2000])
def test_multitaper_holds_the_power(n: int) -> None:
    """Σ G·Δf = (1/K) Σ_k Σ_n v_k² x², to 1e-12."""
    x = np.random.default_rng(1).normal(size=n)
    f, g = spectrum.multitaper(x, RATE)
    tapers = spectrum.sine_tapers(n)
    assert np.allclose(tapers @ tapers.T, np.eye(8), atol=1e-12)
    wanted = float(np.mean([((v * (x - x.mean())) ** 2).sum() for v in tapers]))
    assert float(g.sum() * f[1]) == pytest.approx(wanted, rel=1e-12)


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


def test_welch_is_scipys() -> None:
    x = np.random.default_rng(2).normal(size=3000)
    f, g = spectrum.welch(x, RATE)
    f2, g2 = signal.welch(x, RATE, window="hann", nperseg=1500, noverlap=750, detrend="constant")
    assert np.array_equal(f, f2)
    assert np.array_equal(g, g2)


def test_standard_error_of_white_noise() -> None:
    x = np.random.default_rng(8).normal(size=4000)
    se, dof = se_of_mean(x)
    assert se == pytest.approx(1 / math.sqrt(4000), rel=0.15)
    assert dof is not None
    assert 2500 < dof < 4000


def test_too_short_and_too_slow_have_reasons() -> None:
    values, absences = sway(np.zeros(50), np.zeros(50), 10.0)
    assert all(v is None for axis in values.values() for v in axis.values())
    named = {key for a in absences for key in a.keys}
    assert named == {f"sway.{axis}.{key}" for axis in values for key in values[axis]}


def _published(ap_cm: np.ndarray, ml_cm: np.ndarray) -> tuple[float, float, float]:
    plane = np.stack([ap_cm - ap_cm.mean(), ml_cm - ml_cm.mean()])
    n = plane.shape[1]
    velocity = path.path_mm(plane, RATE) / (n / RATE)  # their duration is N/rate, ours (N − 1)/rate
    frequency = spectrum.weighted_mean_frequency_hz(plane[0], plane[1], RATE)
    assert frequency is not None
    return areas.ellipse95_area_mm2(plane, RATE), velocity, frequency


def test_single_plate_recording() -> None:
    """Santos & Duarte 2016, recording BDS00001: published area, mean velocity, mean frequency."""
    d = np.genfromtxt(open_data("BDS00001.txt"), delimiter="\t", skip_header=1)
    found = _published(d[:, 7], d[:, 8])
    assert found == pytest.approx((0.9446915167229832, 0.620189911656219, 0.2565758824783575), rel=1e-6)


def test_dual_plate_recording() -> None:
    """dos Santos et al. 2017, recording PDS13OR1: published mean velocity and frequency of the net CoP, and its area."""
    d = np.genfromtxt(open_data("PDS13OR1grf_9cols.txt"), delimiter="\t", skip_header=1)
    found = _published(d[:, 7] * 100, d[:, 8] * 100)
    assert found == pytest.approx((3.4690475628580293, 1.3771350071588582, 0.1936755219596234), rel=1e-6)
