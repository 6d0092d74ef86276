"""The normal density over a polygon (Owen 1956, Ann. Math. Stat. 27:1075–1090) against Monte Carlo (JCGM 101:2008), within 0.002."""

from __future__ import annotations

import numpy as np
import pytest

from balance.support import hull_mm, probability_over

HULL = hull_mm(np.array([[-50.0, -30], [50, -40], [60, 30], [-40, 45]]))
AT = {
    "inside": (0.0, 0.0),
    "near an edge": (48.0, 5.0),
    "on an edge": (0.0, -35.0),
    "near a corner": (57.0, 27.0),
    "on a corner": (60.0, 30.0),
    "beside a corner": (70.0, 38.0),
    "outside": (-10.0, 60.0),
}


@pytest.mark.parametrize("covariance", [((90.0, 30.0), (30.0, 60.0)), ((400.0, -250.0), (-250.0, 300.0)), ((4.0, 0.0), (0.0, 9.0))])  # fmt: skip
@pytest.mark.parametrize("where", AT)
def test_probability_over_a_polygon(where: str, covariance: tuple[tuple[float, float], ...]) -> None:
    mean, cov = np.array(AT[where]), np.array(covariance)
    draws = np.random.default_rng(4).multivariate_normal(mean, cov, 1_000_000)
    inside = np.ones(len(draws), dtype=bool)
    for a, b in zip(HULL, np.roll(HULL, -1, axis=0), strict=True):
        inside &= (b[0] - a[0]) * (draws[:, 1] - a[1]) - (b[1] - a[1]) * (draws[:, 0] - a[0]) >= 0
    assert probability_over(mean, cov, HULL) == pytest.approx(inside.mean(), abs=0.002)
