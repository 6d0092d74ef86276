"""JCGM 100:2008 (GUM), official PDF: H.3 (thermometer: fit, covariance, prediction) and H.2 (correlated inputs).

H.2's u(X) computes to 0.2956 where 0.295 is printed; held to ± 0.001.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from balance.calibrating.polynomial import fit_polynomial

DATA = Path(__file__).parent / "data"


def columns(name: str) -> dict[str, np.ndarray]:
    with (DATA / name).open() as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([float(r[key]) for r in rows]) for key in rows[0]}


def test_h3_thermometer() -> None:
    data = columns("gum_h3_thermometer.csv")
    fit = fit_polynomial(data["t_k_degC"] - 20.0, data["b_k_degC"], 1, constant=True)
    assert fit.coefficients == pytest.approx([-0.17120379, 0.00218270], rel=1e-5)
    assert fit.coefficients[0] == pytest.approx(-0.1712, abs=0.00005)
    assert fit.coefficients[1] == pytest.approx(0.00218, abs=0.000005)
    u = np.sqrt(np.diag(fit.covariance))
    assert u[0] == pytest.approx(0.0029, abs=0.00005)
    assert u[1] == pytest.approx(0.00067, abs=0.000005)
    assert fit.covariance[0, 1] / (u[0] * u[1]) == pytest.approx(-0.930, abs=0.0005)
    assert fit.residual_sd == pytest.approx(0.0035, abs=0.00005)
    assert np.round(fit.residuals, 4) == pytest.approx(data["residual_published"], abs=1.01e-4)


def test_h3_prediction_is_the_same_from_either_origin() -> None:
    data = columns("gum_h3_thermometer.csv")

    def at_30(origin: float) -> tuple[float, float]:
        fit = fit_polynomial(data["t_k_degC"] - origin, data["b_k_degC"], 1, constant=True)
        row = np.array([1.0, 30.0 - origin])
        return float(row @ fit.coefficients), math.sqrt(row @ fit.covariance @ row)

    value, u = at_30(20.0)
    assert value == pytest.approx(-0.1494, abs=0.00005)
    assert u == pytest.approx(0.0041, abs=0.00005)
    assert at_30(24.008454545) == pytest.approx((value, u), rel=1e-9)


def test_h2_correlated_inputs() -> None:
    """R = V/I·cos φ, X = V/I·sin φ, Z = V/I from five simultaneous readings: the linear rule with the covariance."""
    data = columns("gum_h2_resistance.csv")
    readings = np.array([data["V_volt"], data["I_mA"] / 1000, data["phi_rad"]])
    covariance = np.cov(readings) / 5
    v, i, phi = readings.mean(axis=1)
    jacobian = np.array(
        [
            [math.cos(phi) / i, -v * math.cos(phi) / i**2, -v * math.sin(phi) / i],
            [math.sin(phi) / i, -v * math.sin(phi) / i**2, v * math.cos(phi) / i],
            [1 / i, -v / i**2, 0.0],
        ]
    )
    found = jacobian @ covariance @ jacobian.T
    u = np.sqrt(np.diag(found))
    assert [v / i * math.cos(phi), v / i * math.sin(phi), v / i] == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)  # fmt: skip
    assert u[0] == pytest.approx(0.071, abs=5e-4)
    assert u[1] == pytest.approx(0.295, abs=1e-3)
    assert u[2] == pytest.approx(0.236, abs=5e-4)
    r = found / np.outer(u, u)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=1e-3)
