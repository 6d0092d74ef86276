"""Filters and spectra against scipy.signal, a general-purpose library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from balance.filters import CausalLowPass, butterworth_section
from balance.measures import spectrum

RATE = 100.0


def test_causal_filter_is_scipys() -> None:
    sos = signal.butter(2, 10, fs=80, output="sos")
    assert np.array([*butterworth_section(10, 80)]) == pytest.approx(np.delete(sos[0], 3), rel=1e-12)
    x = 3 + np.random.default_rng(1).normal(size=500)
    low = CausalLowPass(10, 80)
    mine = np.concatenate([low.run(x[:7, None]), low.run(x[7:, None])])[:, 0]
    wanted, _ = signal.sosfilt(sos, x, zi=signal.sosfilt_zi(sos) * x[0])
    assert mine == pytest.approx(wanted, rel=1e-10)


def test_welch_is_scipys() -> None:
    x = np.random.default_rng(2).normal(size=3000)
    f, g = spectrum.welch(x, RATE)
    f2, g2 = signal.welch(x, RATE, window="hann", nperseg=1500, noverlap=750, detrend="constant")
    assert np.array_equal(f, f2)
    assert np.array_equal(g, g2)
