"""The centre of mass behind a centre of pressure: what an inverted pendulum of the person's height would let through."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Measure
from balance.measures.distance import rms_distance_mm
from balance.measures.path import mean_speed_mm_s

Array = npt.NDArray[np.float64]

GRAVITY = 9.80665
HEIGHT_PART = 0.53  # of the stature: the centre of mass above the ankles; common practice
INERTIA_PART = 0.045  # of m·stature²: inertia about the centre of mass; common practice
MIRRORED_S = 10.0  # at either end, so that a trial's edges do not ring; tool default
CARON = (
    "low-pass of Brenière 1996, J Mot Behav 28:291–298, and Caron et al. 1997, J Biomech 30:1169–1171 (formula from memory); "
    "centre of mass 0.53 of the stature above the ankles, inertia 0.045 m·stature²: common practice"
)


def corner_hz(height_m: float) -> float:
    """Where half of the movement is let through: Ω₀/2π, Ω₀² = m·g·h/(I_G + m·h²). height_m: stature, m."""
    h = HEIGHT_PART * height_m
    return math.sqrt(GRAVITY * h / (INERTIA_PART * height_m**2 + h**2)) / (2 * math.pi)


def centre_of_mass_mm(signal: Array, rate_hz: float, corner: float) -> Array:
    """(n,) or (2, n): the CoP with each frequency f let through by f₀²/(f₀² + f²), without delay; ends mirrored through themselves."""
    from scipy import fft

    n = signal.shape[-1]
    pad = min(n - 1, round(MIRRORED_S * rate_hz))
    before = 2 * signal[..., :1] - signal[..., pad:0:-1]
    after = 2 * signal[..., -1:] - signal[..., -2 : -pad - 2 : -1]
    whole = np.concatenate([before, signal, after], axis=-1)
    size = fft.next_fast_len(whole.shape[-1])
    gain = corner**2 / (corner**2 + fft.rfftfreq(size, 1 / rate_hz) ** 2)
    level = signal.mean(axis=-1, keepdims=True)
    return np.asarray(fft.irfft(fft.rfft(whole - level, size) * gain, size)[..., pad : pad + n] + level)


def com_rms_mm(signal: Array, rate_hz: float, height_m: float) -> float:
    """RMS distance of the centre of mass from its mean."""
    com = centre_of_mass_mm(signal, rate_hz, corner_hz(height_m))
    return rms_distance_mm(com - com.mean(axis=-1, keepdims=True), rate_hz)


def com_mean_speed_mm_s(signal: Array, rate_hz: float, height_m: float) -> float:
    """Its path over T."""
    return mean_speed_mm_s(centre_of_mass_mm(signal, rate_hz, corner_hz(height_m)), rate_hz)


def cop_com_rms_mm(signal: Array, rate_hz: float, height_m: float) -> float:
    """RMS of the centre of pressure less the centre of mass."""
    apart = signal - centre_of_mass_mm(signal, rate_hz, corner_hz(height_m))
    return float(np.sqrt(np.mean((apart**2).sum(axis=0) if apart.ndim == 2 else apart**2)))


MEASURES = [
    Measure("com_rms_mm", "mm", "RMS distance of the CoP let through by f₀²/(f₀² + f²)", CARON, 10, 40, of_height=com_rms_mm),
    Measure("com_mean_speed_mm_s", "mm/s", "path of the same / T", CARON, 10, 40, of_height=com_mean_speed_mm_s),
    Measure("cop_com_rms_mm", "mm", "√mean(CoP − CoM)²", CARON, 10, 40, of_height=cop_com_rms_mm),
]  # fmt: skip
