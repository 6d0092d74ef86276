"""Bland & Altman 1986, Lancet 327:307–310: peak flow of 17 people by two meters, first readings. The paper rounds on the way and
takes 2 SD; limits with 1.96 SD as general-purpose packages recompute them."""

from __future__ import annotations

import numpy as np
import pytest

from balance.day.reliability import two_repeats

WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
FOUND = two_repeats(np.array([MINI, WRIGHT], dtype=float).T)  # second less first: large meter less mini


def test_bias_and_limits() -> None:
    assert FOUND["bias"] == pytest.approx(-2.1, abs=0.05)
    assert FOUND["bias"] == pytest.approx(-2.117647, abs=1e-6)
    assert FOUND["bias_ci95"] == pytest.approx([-22.048838, 17.813544], abs=1e-5)
    assert FOUND["limits_of_agreement"] == pytest.approx([-78.097302, 73.862008], abs=1e-5)


def test_the_limits_own_intervals() -> None:
    """Half widths as of the paper's limits: t₁₆·√(3 s²/n) = 34.52 (printed, rounded on the way, 34.6)."""
    for limit, (low, high) in zip(FOUND["limits_of_agreement"], FOUND["limits_ci95"], strict=True):
        assert (high - low) / 2 == pytest.approx(34.5218, abs=1e-3)
        assert (high + low) / 2 == pytest.approx(limit)
