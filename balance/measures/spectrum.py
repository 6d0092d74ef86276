"""How fast: power and its frequencies between 0.15 and 5 Hz, by the sinusoidal multitaper or by Welch."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import PRIETO, Measure

Array = npt.NDArray[np.float64]
Spectrum = Literal["multitaper", "welch"]

TAPERS = 8
LOW_HZ, HIGH_HZ = 0.15, 5.0
NEEDS_SECONDS, NEEDS_RATE_HZ = 20.0, 40.0
_DECLARED = (  # key, unit, formula; μk = Σ f^k G Δf over 0.15 to 5 Hz
    ("total_power_mm2", "mm²", "μ0"),
    ("power50_hz", "Hz", "the frequency below which half of μ0 lies"),
    ("power95_hz", "Hz", "the frequency below which 95 % of μ0 lies"),
    ("centroid_hz", "Hz", "√(μ2/μ0)"),
    ("dispersion", "1", "√(1 − μ1²/(μ0 μ2))"),
)
KEYS = tuple(key for key, _, _ in _DECLARED)
SOURCE = f"{PRIETO}; tapers: Riedel & Sidorenko 1995, IEEE Trans Signal Process 43:188–195 (from memory)"
MEASURES = tuple(
    Measure(key, unit, formula, SOURCE, NEEDS_SECONDS, NEEDS_RATE_HZ) for key, unit, formula in _DECLARED
)
WEIGHTED = Measure(
    "weighted_mean_frequency_hz", "Hz", "power-weighted mean of the AP and ML mean frequencies, Welch only",
    "the published values of an open data set (tests/published)", NEEDS_SECONDS, NEEDS_RATE_HZ,
)  # fmt: skip


@lru_cache(maxsize=4)
def sine_tapers(n: int, count: int = TAPERS) -> Array:
    """(count, n) orthonormal tapers √(2/(n+1))·sin(π k i/(n+1))."""
    k, i = np.arange(1, count + 1)[:, None], np.arange(1, n + 1)[None, :]
    return np.asarray(math.sqrt(2 / (n + 1)) * np.sin(np.pi * k * i / (n + 1)), dtype=np.float64)


def multitaper(signal: Array, rate_hz: float) -> tuple[Array, Array]:
    """Frequencies and one-sided density of (n,), mean removed, uniform weights, transform length n.

    Σ G·Δf = (1/K) Σ_k Σ_n v_k² x².
    """
    from scipy import fft

    n = len(signal)
    x = signal - signal.mean()
    density = np.zeros(n // 2 + 1)
    for taper in sine_tapers(n):
        density += np.abs(fft.rfft(taper * x)) ** 2
    density *= 2 / (TAPERS * rate_hz)
    density[0] /= 2
    if n % 2 == 0:
        density[-1] /= 2
    return np.asarray(fft.rfftfreq(n, 1 / rate_hz)), density


def welch(signal: Array, rate_hz: float) -> tuple[Array, Array]:
    """Frequencies and one-sided density: Hann, N/2 segments, 50 % overlap, constant detrend."""
    from scipy import signal as sp

    f, g = sp.welch(signal, fs=rate_hz, window="hann", nperseg=len(signal) // 2, detrend="constant")
    return np.asarray(f), np.asarray(g)


def spectral(signal: Array, rate_hz: float, spectrum: Spectrum) -> dict[str, float | None]:
    """The spectral family of (n,) over 0.15–5 Hz."""
    f, g = multitaper(signal, rate_hz) if spectrum == "multitaper" else welch(signal, rate_hz)
    step = f[1]
    bins = np.arange(math.ceil(LOW_HZ / step - 1e-9), min(math.floor(HIGH_HZ / step + 1e-9), len(f) - 1) + 1)
    return of_power(f[bins], g[bins] * step)


def of_power(f: Array, power: Array) -> dict[str, float | None]:
    """The family of power (mm²) at frequencies f (n,), rising: μ_k = Σ f^k P; frequencies None without power."""
    total = float(power.sum())
    values: dict[str, float | None] = dict.fromkeys(KEYS)
    values["total_power_mm2"] = total
    if total <= 0.0:
        return values
    m1, m2 = float((f * power).sum()), float((f**2 * power).sum())
    running = np.cumsum(power)
    values["power50_hz"] = float(f[int(np.argmax(running >= 0.5 * total * (1 - 1e-12)))])
    values["power95_hz"] = float(f[int(np.argmax(running >= 0.95 * total * (1 - 1e-12)))])
    values["centroid_hz"] = math.sqrt(m2 / total)
    values["dispersion"] = math.sqrt(max(1 - m1**2 / (total * m2), 0.0))
    return values


def weighted_mean_frequency_hz(ap_mm: Array, ml_mm: Array, rate_hz: float) -> float | None:
    """Power-weighted mean of the AP and ML mean frequencies over 0…rate/2 under Welch; None without power.

    Each mean frequency by trapezoid integrals, their weights the plain sums of the density: this meets published
    values of open standing recordings (Santos & Duarte 2016, PeerJ 4:e2648).
    """
    total = weight = 0.0
    for x in (ap_mm, ml_mm):
        f, g = welch(x, rate_hz)
        area = float(np.trapezoid(g, f))
        if area > 0:
            total += float(g.sum()) * float(np.trapezoid(f * g, f)) / area
            weight += float(g.sum())
    return total / weight if weight > 0 else None


def half_bandwidth_hz(seconds: float) -> float:
    """Of eight sinusoidal tapers: 9/(2T)."""
    return (TAPERS + 1) / (2 * seconds)
