"""Decisions under uncertainty: JCGM 106:2012, worked examples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr

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


def risks(
    u0: float, um: float, low: float, high: float, accept_low: float, accept_high: float
) -> tuple[float, float]:
    """Global consumer's and producer's risk: a value N(0, u0) measured with um, by quadrature over the true value."""
    y = np.linspace(-8 * u0, 8 * u0, 200_001)
    density = np.exp(-0.5 * (y / u0) ** 2) / (u0 * math.sqrt(2 * math.pi))
    accepted = np.array(ndtr((accept_high - y) / um) - ndtr((accept_low - y) / um))
    conforming = (y >= low) & (y <= high)
    step = float(y[1] - y[0])
    return float((density * accepted * ~conforming).sum() * step), float((density * (1 - accepted) * conforming).sum() * step)  # fmt: skip


def test_resistors() -> None:
    """9.5.3.2: tolerance ± 0.2, acceptance ± 0.18, prior 0.12, measured with 0.04: 1 % and 7 %."""
    consumer, producer = risks(0.12, 0.04, -0.2, 0.2, -0.18, 0.18)
    assert consumer == pytest.approx(0.009878, abs=2e-5)
    assert producer == pytest.approx(0.069027, abs=2e-5)
    assert probability_inside(0.0, 0.12, -0.2, 0.2) == pytest.approx(0.904419, abs=1e-6)


@pytest.mark.parametrize(
    ("cm", "consumer", "producer"), [(2, 0.00098158, 0.01467686), (10, 0.00040813, 0.00071741)]
)
def test_shared_risk(cm: float, consumer: float, producer: float) -> None:
    """9.5.6: prior a sixth of the tolerance, no guard band; C_m = T/(4u)."""
    found = risks(1 / 6, 1 / (4 * cm), -0.5, 0.5, -0.5, 0.5)
    assert found == pytest.approx((consumer, producer), abs=2e-6)


@pytest.mark.parametrize("u_of_band", [0.05, 0.1, 0.15, 0.2, 0.25])
def test_the_default_rule_has_the_risk_it_names(u_of_band: float) -> None:
    """P ≥ 0.95 as acceptance is a guard band: of means exactly on one limit at most 5 % (with the other limit near, more by
    little) are called inside; a value known like that lies outside in at most 5 of 100."""
    limit = next(m for m in np.linspace(0, 0.5, 100_001) if probability_inside(m, u_of_band, 0, 1) >= 0.95)
    called = float(ndtr((1 - limit - 0) / u_of_band) - ndtr((limit - 0) / u_of_band))
    assert called <= 0.066
