"""How far a mean itself scatters, with the sway's own correlation in time."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def se_of_mean(x: Array) -> tuple[float | None, float | None]:
    """Standard error and degrees of freedom: SD·√(1/N_eff), N_eff = N/(1 + 2Σρ_k) up to the first ρ_k ≤ 0.

    ρ by the biased estimator, SD by N; (None, None) where the values do not vary.
    """
    from scipy import fft

    n = len(x)
    centred = x - x.mean()
    variance = float(np.mean(centred**2))
    if n < 2 or variance <= 0.0:
        return None, None
    size = fft.next_fast_len(2 * n)
    power = np.abs(fft.rfft(centred, size)) ** 2
    rho = fft.irfft(power, size)[:n] / (n * variance)
    negative = np.flatnonzero(rho[1:] <= 0)
    last = int(negative[0]) if len(negative) else n - 1
    n_eff = n / (1 + 2 * float(rho[1 : 1 + last].sum()))
    return math.sqrt(variance / n_eff), n_eff - 1
