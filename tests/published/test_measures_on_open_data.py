"""Every sway measure of known definition on the two open recordings (Santos & Duarte 2016, PeerJ 4:e2648; dos Santos et al. 2017, PeerJ
5:e3626) against a computation of its own: plain sums, scipy, or a general library."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import optimize, signal, stats
from scipy.spatial.distance import cdist

from balance.measures.diffusion import KEYS as DIFFUSION
from balance.measures.entropy import sample_entropy
from balance.measures.fluctuation import window_lengths
from balance.measures.sway import Known, sway
from tests.published.open_data import open_data

RATE = 100.0
EDGE = np.array([[-60.0, -140.0], [-60.0, 140.0], [60.0, 140.0], [60.0, -140.0]])
COLUMNS = {"BDS00001.txt": (7, 8, 10.0), "PDS13OR1grf_9cols.txt": (7, 8, 1000.0)}


@cache
def _points(name: str) -> np.ndarray:
    """(2, n) AP, ML in mm, mean removed."""
    ap, ml, mm = COLUMNS[name]
    table = np.genfromtxt(open_data(name), delimiter="\t", skip_header=1)
    points = mm * table[:, [ap, ml]].T
    return np.asarray(points - points.mean(axis=1, keepdims=True))


@cache
def _found(name: str) -> Any:
    return sway(*_points(name), RATE, known=Known(1.7, edge_mm=EDGE))[0]


@pytest.mark.parametrize("name", COLUMNS)
def test_distances_path_and_areas(name: str) -> None:
    (x, y), found = _points(name), _found(name)
    n = len(x)
    seconds = (n - 1) / RATE
    d = [math.sqrt(a * a + b * b) for a, b in zip(x, y, strict=True)]
    steps = [math.hypot(x[i + 1] - x[i], y[i + 1] - y[i]) for i in range(n - 1)]
    mean, rms, path = math.fsum(d) / n, math.sqrt(math.fsum(v * v for v in d) / n), math.fsum(steps)
    cross = math.fsum(abs(x[i + 1] * y[i] - x[i] * y[i + 1]) for i in range(n - 1))
    sxx, syy, sxy = (
        math.fsum(a * b for a, b in zip(p, q, strict=True)) / (n - 1) for p, q in ((x, x), (y, y), (x, y))
    )
    det = sxx * syy - sxy**2
    f95 = stats.f.ppf(0.95, 2, n - 2)
    circle = math.pi * (mean + 1.645 * math.sqrt(rms**2 - mean**2)) ** 2
    prieto = 2 * math.pi * f95 * math.sqrt(det) * (n - 1) / n
    r = found["resultant"]
    expected = {
        "mean_distance_mm": mean, "rms_distance_mm": rms, "path_mm": path, "mean_speed_mm_s": path / seconds,
        "mean_frequency_hz": path / seconds / (2 * math.pi * mean), "circle95_area_mm2": circle, "sway_area_mm2_s": cross / (2 * seconds),
        "ellipse95_area_mm2": math.pi * 2 * (n - 1) * (n + 1) / (n * (n - 2)) * f95 * math.sqrt(det),
        "ellipse95_chi2_area_mm2": math.pi * stats.chi2.ppf(0.95, 2) * math.sqrt(det), "ellipse95_prieto_area_mm2": prieto,
        "fractal_dimension_cc": math.log(n) / math.log(n * 2 * math.sqrt(circle / math.pi) / path),
        "fractal_dimension_ce": math.log(n) / math.log(n * math.sqrt(4 * prieto / math.pi) / path),
        "range_mm": max(cdist(_points(name).T[k : k + 500], _points(name).T).max() for k in range(0, n, 500)),
    }  # fmt: skip
    for key, value in expected.items():
        assert r[key] == pytest.approx(value, rel=1e-6), key
    for axis, v in (("ap", x), ("ml", y)):
        way = math.fsum(abs(b - a) for a, b in pairwise(v))
        assert found[axis]["path_mm"] == pytest.approx(way)
        assert found[axis]["mean_frequency_hz"] == pytest.approx(
            way / seconds / (4 * math.sqrt(2) * np.abs(v).mean())
        )
        assert found[axis]["range_mm"] == pytest.approx(v.max() - v.min())
    half = [
        math.sqrt(2 * (n - 1) * (n + 1) / (n * (n - 2)) * f95 * e)
        for e in sorted(np.linalg.eigvalsh([[sxx, sxy], [sxy, syy]]))
    ]
    assert (r["ellipse95_minor_mm"], r["ellipse95_major_mm"]) == pytest.approx(tuple(half))
    assert math.tan(2 * math.radians(r["ellipse95_angle_deg"])) == pytest.approx(2 * sxy / (sxx - syy))


@pytest.mark.parametrize("name", COLUMNS)
def test_spectra(name: str) -> None:
    """Eight sinusoidal tapers by scipy's periodogram, one after the other."""
    for axis, x in zip(("ap", "ml"), _points(name), strict=True):
        n = len(x)
        total = np.zeros(n // 2 + 1)
        for k in range(1, 9):
            taper = np.sin(np.pi * k * np.arange(1, n + 1) / (n + 1))
            f, density = signal.periodogram(x, RATE, window=taper, detrend=False)
            total += density / 8
        inside = (f >= 0.15 - 1e-9) & (f <= 5 + 1e-9)
        f, p = f[inside], total[inside] * f[1]
        m0, m1, m2 = (float((f**k * p).sum()) for k in (0, 1, 2))
        found = _found(name)[axis]
        assert found["total_power_mm2"] == pytest.approx(m0, rel=1e-9)
        assert found["centroid_hz"] == pytest.approx(math.sqrt(m2 / m0), rel=1e-9)
        assert found["dispersion"] == pytest.approx(math.sqrt(1 - m1**2 / (m0 * m2)), rel=1e-9)
        for part, key in ((0.5, "power50_hz"), (0.95, "power95_hz")):
            assert found[key] == pytest.approx(f[np.searchsorted(np.cumsum(p), part * m0)])


@pytest.mark.parametrize("name", COLUMNS)
def test_diffusion(name: str) -> None:
    """Mean squares by plain differences, lines by scipy's regression, their crossing by a root."""
    points = _points(name)
    for axis, rows in (("ap", points[:1]), ("ml", points[1:]), ("resultant", points)):
        lags = np.arange(1, 1001)
        square = np.array([((rows[:, k:] - rows[:, :-k]) ** 2).sum(axis=0).mean() for k in lags])
        apart = lags / RATE
        short, long = apart <= 0.5 + 1e-9, apart >= 2 - 1e-9
        a, b = (stats.linregress(apart[part], square[part]) for part in (short, long))
        ha, hb = (
            stats.linregress(np.log(apart[part]), np.log(square[part])).slope / 2 for part in (short, long)
        )
        meet = optimize.brentq(
            lambda t, a=a, b=b: (a.slope - b.slope) * t + a.intercept - b.intercept, -100, 100
        )
        half = 2 * len(rows)
        expected = [a.slope / half, b.slope / half, ha, hb, meet, a.intercept + a.slope * meet]
        found = [_found(name)[axis][key] for key in DIFFUSION]
        if not 0 < meet <= 10:
            expected[4:] = found[4:] = [0, 0]
        assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("name", COLUMNS)
def test_entropy_and_fluctuation(name: str) -> None:
    nolds = pytest.importorskip("nolds")
    for axis, x in zip(("ap", "ml"), _points(name), strict=True):
        found = _found(name)[axis]
        few = x[:1500]  # the library takes its time
        assert sample_entropy(few) == pytest.approx(
            nolds.sampen(few, emb_dim=2, tolerance=0.2 * few.std()), rel=1e-9
        )
        assert found["sample_entropy"] == sample_entropy(x)
        lengths = window_lengths(len(x))
        assert found["dfa_alpha"] == pytest.approx(
            nolds.dfa(x, nvals=lengths, overlap=False, order=1, fit_exp="poly"), rel=1e-9
        )


@pytest.mark.parametrize("name", COLUMNS)
def test_centre_of_mass_and_boundary(name: str) -> None:
    """The low-pass as the solution of x'' = Ω²(x − p), by a banded solver; the boundary by walls one by one."""
    from scipy.linalg import solve_banded

    from balance.measures.centre_of_mass import corner_hz

    points = _points(name)
    n = points.shape[1]
    omega2, h2 = (2 * math.pi * corner_hz(1.7)) ** 2, RATE**2
    bands = np.zeros((3, n))
    bands[0, 1:] = bands[2, :-1] = -h2
    bands[1] = 2 * h2 + omega2
    bands[1, [0, -1]] = 1.0
    bands[0, 1] = bands[2, -2] = 0.0
    inner = []
    for x in points:
        right = omega2 * x
        right[[0, -1]] = x[[0, -1]]
        inner.append(solve_banded((1, 1), bands, right))
    com = np.stack(inner)
    r = _found(name)["resultant"]
    middle = com - com.mean(axis=1, keepdims=True)
    assert r["com_rms_mm"] == pytest.approx(
        math.sqrt((middle**2).sum(axis=0).mean()), rel=0.01
    )  # ends are treated in another way
    assert r["cop_com_rms_mm"] == pytest.approx(math.sqrt(((points - com) ** 2).sum(axis=0).mean()), rel=0.02)
    v = np.gradient(points, 1 / RATE, axis=1)
    time = np.full(n, np.inf)
    for axis, reach in ((0, 60.0), (1, 140.0)):
        for sign in (-1, 1):
            with np.errstate(divide="ignore"):
                to = np.where(sign * v[axis] > 0, (reach - sign * points[axis]) / np.abs(v[axis]), np.inf)
            time = np.minimum(time, to)
    lows = signal.argrelmin(time)[0]
    assert r["time_to_boundary_min_s"] == pytest.approx(time[lows].min())
    assert r["time_to_boundary_mean_s"] == pytest.approx(time[lows].mean(), rel=1e-6)
