"""ISO/TS 28037:2010, straight-line calibration: example 1 (equal weights) and appendix E (unknown common uncertainty), as quoted
in the manual of an open uncertainty library; the standard itself was not at hand. Weighted and two-sided fits are not ours.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from balance.calibrating.polynomial import fit_polynomial

DATA = Path(__file__).parent / "data"


def example(name: str) -> tuple[np.ndarray, np.ndarray]:
    with (DATA / "iso_ts_28037_examples.csv").open() as file:
        rows = [r for r in csv.DictReader(file) if r["example"] == name]
    return np.array([float(r["x"]) for r in rows]), np.array([float(r["y"]) for r in rows])


def test_equal_weights() -> None:
    fit = fit_polynomial(*example("ex1"), 1, constant=True)
    assert fit.coefficients == pytest.approx([1.867, 1.757], abs=5e-4)
    known = fit.covariance / fit.residual_sd**2 * 0.5**2  # u_y is known there: 0.5
    assert np.sqrt(np.diag(known)) == pytest.approx([0.465, 0.120], abs=5e-4)
    assert known[0, 1] == pytest.approx(-0.050, abs=5e-4)
    assert fit.residual_ss / 0.5**2 == pytest.approx(1.665, abs=5e-4)


def test_unknown_common_uncertainty() -> None:
    fit = fit_polynomial(*example("ex4"), 1, constant=True)
    assert fit.coefficients == pytest.approx([1.172, 1.964], abs=5e-4)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.159, 0.041], abs=5e-4)
    assert fit.covariance[0, 1] == pytest.approx(-0.006, abs=5e-4)
