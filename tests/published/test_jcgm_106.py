"""Decisions under uncertainty: JCGM 106:2012, worked examples."""

from __future__ import annotations

import pytest

from balance.verdict import probability_inside, verdict


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
