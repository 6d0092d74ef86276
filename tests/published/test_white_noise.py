"""The standard error of a mean on white noise, where every sample is a new one; closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest

from balance.measures.standard_error import se_of_mean


def test_standard_error_of_white_noise() -> None:
    x = np.random.default_rng(8).normal(size=4000)
    se, dof = se_of_mean(x)
    assert se == pytest.approx(1 / math.sqrt(4000), rel=0.15)
    assert dof is not None
    assert 2500 < dof < 4000


def test_an_alternating_series() -> None:
    """1.2, then 1.1, 1.3, … of 1001 values, of the kind of NIST StRD's NumAcc2: lag-1 autocorrelation −0.999, so the sum up to the
    first ρ ≤ 0 is empty and every sample counts as a new one."""
    x = np.array([1.2] + [1.1, 1.3] * 500)
    d = x - x.mean()
    assert float((d[1:] * d[:-1]).sum() / (d * d).sum()) == pytest.approx(-0.999, abs=1e-9)
    assert x.std(ddof=1) == pytest.approx(0.1, abs=1e-12)
    se, dof = se_of_mean(x)
    assert se == pytest.approx(x.std() / math.sqrt(1001))
    assert dof == pytest.approx(1000)
