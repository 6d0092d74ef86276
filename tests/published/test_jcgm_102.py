"""Areas of 95 % regions: JCGM 102:2011, 6.5; prediction factors by F quantiles (table recomputed)."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from balance.measures import areas

DATA = Path(__file__).parent / "data"


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
