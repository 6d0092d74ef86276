"""How the feet go together: cross-correlation by its definition, on feet that are known to follow one another. Winter et al. 1993, Neurosci
Res Commun 12:141–148 (definition from memory)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import correlate

from balance.measures.coordination import coordination, cross_correlation

RATE = 100.0


def test_a_foot_that_follows() -> None:
    rng = np.random.default_rng(1)
    sway = np.convolve(rng.standard_normal(6100), np.ones(25) / 25, mode="valid")
    left = np.stack([sway[50:6000], sway[50:6000]])
    right = np.stack([sway[20:5970], -sway[50:6000]])  # 0.3 s later; and against one another
    found = coordination(left, right, np.full(5950, 48.0), RATE)
    assert found["correlation_lag_ap_s"] == pytest.approx(0.3)
    assert found["correlation_largest_ap"] == pytest.approx(1.0, abs=0.02)
    assert found["correlation_ap"] == pytest.approx(np.corrcoef(left[0], right[0])[0, 1], abs=1e-9)
    assert found["correlation_ml"] == pytest.approx(-1.0)
    assert (found["share_sd_pct"], found["share_range_pct"]) == (0.0, 0.0)


def test_against_scipy() -> None:
    x, y = np.random.default_rng(2).standard_normal((2, 500))
    found = cross_correlation(x, y, 40)
    a, b = x - x.mean(), y - y.mean()
    expected = correlate(b, a, mode="full")[499 - 40 : 499 + 41] / np.sqrt((a @ a) * (b @ b))
    assert found == pytest.approx(expected, abs=1e-12)


def test_a_foot_that_stands_still_has_no_correlation() -> None:
    assert cross_correlation(np.ones(50), np.arange(50.0), 5) is None
    still = coordination(
        np.ones((2, 200)), np.random.default_rng(3).standard_normal((2, 200)), np.linspace(40, 60, 200), RATE
    )
    assert still["correlation_ap"] is None
    assert still["share_range_pct"] == pytest.approx(20.0)
