"""Stabilogram diffusion: the mean square displacement over time apart, a short-term and a long-term region, where they meet."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Family, Measure

Array = npt.NDArray[np.float64]

SHORT_S, LONG_S = (
    (0.0, 0.5),
    (2.0, 10.0),
)  # ranges of the two fits, time apart; the source picks them by eye: tool default
COLLINS = (
    "Collins & De Luca 1993, Exp Brain Res 95:308–318 (formula from memory): the source averages ten trials, this is one; "
    "fits over 0–0.5 s and 2–10 s: tool default"
)
KEYS = ("diffusion_short_mm2_s", "diffusion_long_mm2_s", "diffusion_short_exponent", "diffusion_long_exponent",
        "diffusion_critical_s", "diffusion_critical_mm2")  # fmt: skip


def mean_square_displacement(signal: Array, most_lags: int) -> Array:
    """(lags,) mean of the squared displacement at lags 0 … ``most_lags`` samples, of (n,) or of a plane (2, n)."""
    from scipy import fft

    rows = signal if signal.ndim == 2 else signal[None, :]
    n = rows.shape[1]
    lags = np.arange(most_lags + 1)
    total = np.zeros(most_lags + 1)
    size = fft.next_fast_len(n + most_lags + 1)
    for x in rows - rows.mean(axis=1, keepdims=True):
        products = fft.irfft(np.abs(fft.rfft(x, size)) ** 2, size)[: most_lags + 1]
        below = np.concatenate(([0.0], np.cumsum(x**2)))
        total += (below[n - lags] + (below[n] - below[lags])) - 2 * products
    total[0] = 0.0
    return np.asarray(np.maximum(total, 0.0) / (n - lags))


def diffusion(signal: Array, rate_hz: float) -> dict[str, float | None]:
    """Coefficients (half the slope of an axis, a quarter in the plane), exponents (half the slope of the logarithms) of both
    regions, and where their straight lines meet; None where they do not, or where nothing moves."""
    square = mean_square_displacement(signal, round(LONG_S[1] * rate_hz))
    apart_s = np.arange(len(square)) / rate_hz
    found: dict[str, float | None] = dict.fromkeys(KEYS)
    if not (square[1:] > 0).all():
        return found
    lines = []
    for name, (low, high) in (("short", SHORT_S), ("long", LONG_S)):
        inside = (apart_s >= low - 1e-9) & (apart_s <= high + 1e-9) & (apart_s > 0)
        if np.count_nonzero(inside) < 3:
            return found
        slope, level = np.polyfit(apart_s[inside], square[inside], 1)
        lines.append((float(slope), float(level)))
        found[f"diffusion_{name}_mm2_s"] = float(slope) / (2 if signal.ndim == 1 else 4)
        found[f"diffusion_{name}_exponent"] = (
            float(np.polyfit(np.log(apart_s[inside]), np.log(square[inside]), 1)[0]) / 2
        )
    (steep, start), (flat, level) = lines
    if not math.isclose(steep, flat):
        meet_s = (level - start) / (steep - flat)
        if 0 < meet_s <= LONG_S[1]:
            found["diffusion_critical_s"], found["diffusion_critical_mm2"] = meet_s, start + steep * meet_s
    return found


def _declared(key: str, unit: str, formula: str) -> Measure:
    return Measure(key, unit, formula, COLLINS, 30, 40)


FAMILY = Family(
    (
        _declared("diffusion_short_mm2_s", "mm²/s", "slope of ⟨Δx²⟩ over Δt up to 0.5 s, / 2 (plane / 4)"),
        _declared("diffusion_long_mm2_s", "mm²/s", "the same from 2 to 10 s"),
        _declared("diffusion_short_exponent", "1", "slope of log⟨Δx²⟩ over log Δt up to 0.5 s, / 2"),
        _declared("diffusion_long_exponent", "1", "the same from 2 to 10 s"),
        _declared("diffusion_critical_s", "s", "Δt at which the two straight lines meet"),
        _declared("diffusion_critical_mm2", "mm²", "⟨Δx²⟩ there"),
    ),
    diffusion,
)
