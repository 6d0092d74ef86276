"""Detrended fluctuation, Peng et al. 1994, Phys Rev E 49:1685–1689: exponents of known processes, the exact expectation for white
noise, and a general library with the same windows."""

from __future__ import annotations

import numpy as np
import pytest

from balance.measures.fluctuation import dfa_alpha, fluctuations, window_lengths

N, SERIES = 6000, 12


def _one_over_f(rng: np.random.Generator, power: float) -> np.ndarray:
    f = np.fft.rfftfreq(N)
    f[0] = 1.0
    spectrum = rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f))
    spectrum[0] = 0
    return np.asarray(np.fft.irfft(spectrum / f ** (power / 2), N))


@pytest.mark.parametrize(
    ("power", "alpha", "spread"), [(0.0, 0.5, 0.022), (1.0, 1.0, 0.032), (2.0, 1.5, 0.038)]
)
def test_exponents_of_known_processes(power: float, alpha: float, spread: float) -> None:
    """White 0.5, 1/f 1.0, 1/f² 1.5; spread: of one series of 6000, n = 16 … 600."""
    rng = np.random.default_rng(11)
    found = [dfa_alpha(_one_over_f(rng, power), 100.0) for _ in range(SERIES)]
    assert np.mean([f for f in found if f is not None]) == pytest.approx(alpha, abs=4 * spread / SERIES**0.5)


def test_expectation_for_white_noise() -> None:
    """E F²(n) = σ²(n² − 4)/(15 n)."""
    lengths = [16, 32, 64, 128]
    rng = np.random.default_rng(5)
    found = np.mean([fluctuations(rng.standard_normal(12_800), lengths) ** 2 for _ in range(30)], axis=0)
    assert [(n**2 - 4) / (15 * n) for n in lengths] == pytest.approx([1.05, 2.125, 4.2625, 8.53125])
    # F² of a window scatters by about its own size: 800 windows of 16 and 100 of 128 in each of 30 series
    assert found == pytest.approx([1.05, 2.125, 4.2625, 8.53125], rel=0.06)


def test_against_a_general_library() -> None:
    nolds = pytest.importorskip("nolds")
    x = np.cumsum(np.random.default_rng(4).standard_normal(3000))
    lengths = window_lengths(len(x))
    expected = nolds.dfa(x, nvals=lengths, overlap=False, order=1, fit_exp="poly")
    assert dfa_alpha(x, 100.0) == pytest.approx(expected, rel=1e-9)


def test_too_few_windows_or_no_movement() -> None:
    assert dfa_alpha(np.zeros(6000), 100.0) is None
    assert dfa_alpha(np.random.default_rng(1).standard_normal(150), 100.0) is None


def test_against_another_general_library() -> None:
    """antropy takes windows of its own choice that overlap not at all but are of other lengths: close, not equal."""
    antropy = pytest.importorskip("antropy")  # slow to import: in the extra 'oracles' only
    for power in (0.0, 1.0, 2.0):
        x = _one_over_f(np.random.default_rng(21), power)
        assert dfa_alpha(x, 100.0) == pytest.approx(antropy.detrended_fluctuation(x), abs=0.1)
