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
