"""Hull, margins and probability against a geometry library (shapely) and Monte Carlo; filters against scipy.

The corrected zero-phase filter: two passes of a 2nd-order Butterworth have gain 0.5 at the nominal cut-off; corrected by
(√2 − 1)^¼ on the pre-warped frequency (100 Hz, 10 Hz → 12.249241 Hz, derived). Polygon integral: Owen 1956,
Ann. Math. Stat. 27:1075–1090. CoP uncertainty identities derived from the lever rule. Decision probabilities: JCGM 106:2012, 7.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal
from shapely import MultiPoint, Point

from balance.filters import CausalLowPass, butterworth_section, corrected_cutoff_hz, zero_phase
from balance.support import hull_mm, margin, probability_over
from balance.verdict import probability_inside, verdict

points = st.lists(
    st.tuples(st.integers(-300, 300), st.integers(-300, 300)), min_size=3, max_size=12, unique=True
)


@settings(deadline=None, max_examples=150)
@given(points, st.tuples(st.integers(-350, 350), st.integers(-350, 350)))
def test_hull_and_margin_against_shapely(corners: list[tuple[int, int]], at: tuple[int, int]) -> None:
    whole = MultiPoint(corners).convex_hull
    hull = hull_mm(np.array(corners, dtype=float))
    if whole.geom_type != "Polygon":
        assert len(hull) < 3
        return
    ring = np.vstack([hull, hull[:1]])
    area = 0.5 * float(np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1]))
    assert area == pytest.approx(whole.area)
    found = margin((float(at[0]), float(at[1])), hull)
    wanted = whole.exterior.distance(Point(at))
    assert abs(found.distance_mm) == pytest.approx(wanted, abs=1e-9)
    if wanted > 1e-6:
        assert (found.distance_mm > 0) == whole.contains(Point(at))


@pytest.mark.parametrize("mean", [(0.0, 0.0), (48.0, 5.0), (60.0, 31.0), (-10.0, 60.0)])
def test_probability_over_a_polygon_against_monte_carlo(mean: tuple[float, float]) -> None:
    hull = hull_mm(np.array([[-50.0, -30], [50, -40], [60, 30], [-40, 45]]))
    cov = np.array([[90.0, 30], [30, 60]])
    draws = np.random.default_rng(4).multivariate_normal(mean, cov, 200_000)
    inside = np.ones(len(draws), dtype=bool)
    for a, b in zip(hull, np.roll(hull, -1, axis=0), strict=True):
        inside &= (b[0] - a[0]) * (draws[:, 1] - a[1]) - (b[1] - a[1]) * (draws[:, 0] - a[0]) >= 0
    assert probability_over(np.array(mean), cov, hull) == pytest.approx(inside.mean(), abs=0.005)


def test_corrected_cutoff() -> None:
    assert corrected_cutoff_hz(10, 100) == pytest.approx(12.249241, abs=1e-6)
    t = np.arange(4000) / 100
    x = np.sin(2 * np.pi * 10 * t)
    y = zero_phase(x, 10, 100)[1000:3000]
    assert np.sqrt(2 * np.mean(y**2)) == pytest.approx(1 / np.sqrt(2), rel=1e-4)


def test_causal_filter_is_scipys() -> None:
    sos = signal.butter(2, 10, fs=80, output="sos")
    assert np.array([*butterworth_section(10, 80)]) == pytest.approx(np.delete(sos[0], 3), rel=1e-12)
    x = 3 + np.random.default_rng(1).normal(size=500)
    low = CausalLowPass(10, 80)
    mine = np.concatenate([low.run(x[:7, None]), low.run(x[7:, None])])[:, 0]
    wanted, _ = signal.sosfilt(sos, x, zi=signal.sosfilt_zi(sos) * x[0])
    assert mine == pytest.approx(wanted, rel=1e-10)


@pytest.mark.parametrize(
    ("mean", "u", "low", "high", "wanted"),
    [(-5.47, 0.05, -1e9, -5.40, 0.919243), (509.7, 8.6, 490, 1e9, 0.989010), (13.6, 1.8, 12.5, 16.3, 0.662630)],
)  # fmt: skip
def test_jcgm_106_examples(mean: float, u: float, low: float, high: float, wanted: float) -> None:
    """JCGM 106:2012, 7.3.3 examples 1 and 2, 7.4."""
    assert probability_inside(mean, u, low, high) == pytest.approx(wanted, abs=1e-6)


def test_verdict_limits() -> None:
    assert [verdict(p) for p in (1.0, 0.95, 0.9499, 0.0501, 0.05, 0.0)] == [
        "inside", "inside", "undecided", "undecided", "outside", "outside",
    ]  # fmt: skip
