"""The normal density over a polygon (Owen 1956, Ann. Math. Stat. 27:1075–1090) against Monte Carlo (JCGM 101:2008)."""

from __future__ import annotations

import numpy as np
import pytest

from balance.support import hull_mm, probability_over


@pytest.mark.parametrize("mean", [(0.0, 0.0), (48.0, 5.0), (60.0, 31.0), (-10.0, 60.0)])
def test_probability_over_a_polygon_against_monte_carlo(mean: tuple[float, float]) -> None:
    hull = hull_mm(np.array([[-50.0, -30], [50, -40], [60, 30], [-40, 45]]))
    cov = np.array([[90.0, 30], [30, 60]])
    draws = np.random.default_rng(4).multivariate_normal(mean, cov, 200_000)
    inside = np.ones(len(draws), dtype=bool)
    for a, b in zip(hull, np.roll(hull, -1, axis=0), strict=True):
        inside &= (b[0] - a[0]) * (draws[:, 1] - a[1]) - (b[1] - a[1]) * (draws[:, 0] - a[0]) >= 0
    assert probability_over(np.array(mean), cov, hull) == pytest.approx(inside.mean(), abs=0.005)
