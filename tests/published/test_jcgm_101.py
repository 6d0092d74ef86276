"""JCGM 101:2008, 9.3 (calibration of a mass in air): where first order is not enough, and by how much.

Printed: first order 0.0539 mg, Monte Carlo 0.0754 mg, with second-order terms 0.0750 mg. Our propagation is first order; this says
what it would miss where sensitivities vanish at the estimates. 9.2.3: the sum of four rectangular errors, ± 3.88.
"""

from __future__ import annotations

import numpy as np
import pytest

DRAWS = 1_000_000


def test_first_order_under_reports_where_the_sensitivity_vanishes() -> None:
    rng = np.random.default_rng(1)
    m, dm = rng.normal(100_000.0, 0.050, DRAWS), rng.normal(1.234, 0.020, DRAWS)
    air = rng.uniform(1.10, 1.30, DRAWS)
    weight, reference = rng.uniform(7000, 9000, DRAWS), rng.uniform(7950, 8050, DRAWS)
    difference = (m + dm) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000.0
    monte_carlo = float(difference.std())
    first_order = float(np.hypot(0.050, 0.020))  # the densities' sensitivities are 0 at the estimates
    assert first_order == pytest.approx(0.0539, abs=5e-5)
    assert monte_carlo == pytest.approx(0.0754, abs=3e-4)
    assert 1 - first_order / monte_carlo == pytest.approx(0.29, abs=0.01)


def test_four_rectangular_errors() -> None:
    total = np.random.default_rng(2).uniform(-(3**0.5), 3**0.5, (4, DRAWS)).sum(axis=0)
    assert total.std() == pytest.approx(2.0, abs=0.005)
    assert np.quantile(total, 0.975) == pytest.approx(3.8794067, abs=0.02)
