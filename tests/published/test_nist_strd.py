"""NIST/ITL Statistical Reference Datasets: Pontius (P. Pontius, NIST, load cell calibration; quadratic) and Norris (J. Norris,
NIST, ozone monitors; linear). Certified values to 15 digits; held here to 1e-10 of them, coefficients and standard deviations,
from raw, unscaled loads (a plain Vandermonde solution gives 6 digits).

NIST/SEMATECH e-Handbook of Statistical Methods, 4.6.1, load cell case: the straight line's coefficients.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from balance.calibrating.polynomial import added_term_p, fit_polynomial

DATA = Path(__file__).parent / "data"


def table(name: str, x: str, y: str) -> tuple[np.ndarray, np.ndarray]:
    with (DATA / name).open() as file:
        rows = list(csv.DictReader(file))
    return np.array([float(r[x]) for r in rows]), np.array([float(r[y]) for r in rows])


def certified(dataset: str) -> dict[str, float]:
    with (DATA / "nist_strd_certified.csv").open() as file:
        return {r["quantity"]: float(r["certified"]) for r in csv.DictReader(file) if r["dataset"] == dataset}


@pytest.mark.parametrize(
    ("dataset", "x", "y", "degree"),
    [("pontius", "x_load_lb", "y_deflection", 2), ("norris", "x", "y", 1)],
)
def test_certified_values(dataset: str, x: str, y: str, degree: int) -> None:
    values = certified(dataset)
    fit = fit_polynomial(*table(f"nist_strd_{dataset}.csv", x, y), degree, constant=True)
    for k in range(degree + 1):
        assert fit.coefficients[k] == pytest.approx(values[f"B{k}"], rel=1e-10)
        assert fit.covariance[k, k] ** 0.5 == pytest.approx(values[f"se_B{k}"], rel=1e-10)
    assert fit.residual_sd == pytest.approx(values["residual_sd"], rel=1e-10)
    assert fit.residual_ss == pytest.approx(values["ss_residual"], rel=1e-10)
    assert fit.r2 == pytest.approx(values["r_squared"], rel=1e-14)


def test_the_load_cell_case_rejects_the_straight_line() -> None:
    x, y = table("nist_strd_pontius.csv", "x_load_lb", "y_deflection")
    line = fit_polynomial(x, y, 1, constant=True)
    assert line.coefficients == pytest.approx([6.14968421e-3, 7.22102581e-7], rel=1e-8)
    assert np.sqrt(np.diag(line.covariance)) == pytest.approx([7.13205e-4, 3.96915e-10], rel=1e-5)
    assert line.residual_sd == pytest.approx(2.17127260e-3, rel=1e-8)
    p = added_term_p(line, fit_polynomial(x, y, 2, constant=True))
    assert p is not None
    assert p < 1e-30
