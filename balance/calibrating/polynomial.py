"""Least squares of a straight line or a parabola, with or without a constant, to nearly all digits of double precision."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PolynomialFit:
    """y ≈ Σ coefficients[k]·x^(k + first), first 0 with a constant, else 1.

    covariance  (p, p) = residual_sd²·(XᵀX)⁻¹; NaN where dof is 0
    residual_sd √(SS/(n − p)); NaN where dof is 0
    r2          1 − SS/SS₀, SS₀ about the mean with a constant, about 0 without one
    """

    coefficients: Array
    covariance: Array
    residual_sd: float
    residual_ss: float
    dof: int
    r2: float
    residuals: Array


class CannotFit(ValueError):
    """Fewer rows than coefficients, or all at too few places."""


def fit_polynomial(x: Array, y: Array, degree: int, constant: bool) -> PolynomialFit:
    """Least squares of y on x, (n,) each, by QR of columns scaled to length 1 (x is scaled first, so that no power
    outgrows another), and one step of refinement. Raises CannotFit."""
    x, y = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    scale = float(np.abs(x).max()) if len(x) else 0.0
    powers = np.arange(0 if constant else 1, degree + 1)
    if scale == 0.0 or len(x) < len(powers):
        raise CannotFit
    design = (x / scale)[:, None] ** powers
    lengths = np.sqrt((design**2).sum(axis=0))
    q, r = np.linalg.qr(design / lengths)
    if np.abs(np.diag(r)).min() < 1e-10:
        raise CannotFit
    scaled = np.linalg.solve(r, q.T @ y)
    scaled = scaled + np.linalg.solve(r, q.T @ (y - design / lengths @ scaled))
    residuals = y - design / lengths @ scaled
    ss, dof = float(residuals @ residuals), len(x) - len(powers)
    back = 1 / (lengths * scale**powers)
    inverse = np.linalg.solve(r, np.eye(len(powers)))
    variance = ss / dof if dof > 0 else np.nan
    about = y - y.mean() if constant else y
    total = float(about @ about)
    return PolynomialFit(
        coefficients=scaled * back,
        covariance=variance * (inverse @ inverse.T) * np.outer(back, back),
        residual_sd=float(np.sqrt(variance)),
        residual_ss=ss,
        dof=dof,
        r2=1 - ss / total if total > 0 else np.nan,
        residuals=residuals,
    )


def added_term_p(without: PolynomialFit, with_it: PolynomialFit) -> float | None:
    """p of the F test that the term that ``with_it`` has more than ``without`` adds nothing; None without freedom."""
    from scipy.special import fdtrc

    if with_it.dof < 1:
        return None
    if with_it.residual_ss <= 0.0:
        return 1.0 if without.residual_ss <= 0.0 else 0.0
    f = (without.residual_ss - with_it.residual_ss) / (with_it.residual_ss / with_it.dof)
    return float(fdtrc(1, with_it.dof, max(f, 0.0)))


def coefficient_p(fit: PolynomialFit, k: int) -> float | None:
    """p of the two-sided t test that coefficient k is 0; None without freedom."""
    from scipy.special import stdtr

    if fit.dof < 1:
        return None
    sd = float(np.sqrt(fit.covariance[k, k]))
    if sd == 0.0:
        return 1.0 if fit.coefficients[k] == 0.0 else 0.0
    return float(2 * stdtr(fit.dof, -abs(fit.coefficients[k]) / sd))
