"""Stabilogram diffusion, Collins & De Luca 1993, Exp Brain Res 95:308–318: closed forms and the random walk."""

from __future__ import annotations

import math

import numpy as np
import pytest

from balance.measures.diffusion import diffusion, mean_square_displacement

RATE = 100.0


def test_against_plain_differences() -> None:
    plane = np.cumsum(np.random.default_rng(1).standard_normal((2, 700)), axis=1)
    for signal in (plane, plane[0]):
        rows = np.atleast_2d(signal)
        plain = [((rows[:, k:] - rows[:, : 700 - k]) ** 2).sum(axis=0).mean() for k in range(201)]
        assert mean_square_displacement(signal, 200) == pytest.approx(plain, rel=1e-9, abs=1e-9)


def test_a_sine() -> None:
    """⟨Δx²⟩ = A²(1 − cos ωΔt): 14.290067 for A 3, 0.7 Hz, Δt 0.5 s."""
    t = np.arange(100_000) / RATE
    found = mean_square_displacement(3 * np.sin(2 * np.pi * 0.7 * t), 60)[50]
    assert 9 * (1 - math.cos(2 * math.pi * 0.7 * 0.5)) == pytest.approx(14.290067, abs=1e-6)
    assert found == pytest.approx(14.290067, rel=5e-4)  # not a whole number of periods


def test_a_random_walk() -> None:
    """D = σ²/(2dt): steps of 0.2 mm at 100 Hz give 2 mm²/s an axis, in the plane too; exponents 0.5. One trial scatters by 0.022 in
    the exponent and 23 % in D over lags to 2.5 s; 60 of them are averaged."""
    rng = np.random.default_rng(2)
    walks = [np.cumsum(0.2 * rng.standard_normal((2, 6000)), axis=1) for _ in range(60)]
    for signals in ([w[0] for w in walks], walks):
        found = [diffusion(s - s.mean(axis=-1, keepdims=True), RATE) for s in signals]
        short = np.mean([f["diffusion_short_mm2_s"] for f in found])
        exponent = np.mean([f["diffusion_short_exponent"] for f in found])
        assert short == pytest.approx(2.0, rel=0.05)
        assert exponent == pytest.approx(0.5, abs=0.01)


def test_white_noise_is_flat() -> None:
    """⟨Δx²⟩ = 2σ²: no diffusion, exponent 0."""
    x = np.random.default_rng(3).standard_normal(6000)
    square = mean_square_displacement(x, 1000)
    assert square[1:].mean() == pytest.approx(2.0, rel=0.05)
    assert diffusion(x, RATE)["diffusion_long_exponent"] == pytest.approx(0.0, abs=0.01)


def test_a_process_that_is_drawn_back_has_two_regions() -> None:
    """Ornstein–Uhlenbeck: ⟨Δx²⟩ = 2s²(1 − e^(−Δt/τ)): the long-term slope is far below the short-term one and the lines meet."""
    rng, tau = np.random.default_rng(4), 0.7
    keep = math.exp(-1 / (RATE * tau))
    x = np.zeros(60_000)
    steps = rng.standard_normal(60_000) * math.sqrt(1 - keep**2)
    for i in range(1, len(x)):
        x[i] = keep * x[i - 1] + steps[i]
    square = mean_square_displacement(x, 300)
    at = np.array([50, 100, 300])
    assert square[at] == pytest.approx(2 * (1 - np.exp(-at / RATE / tau)), rel=0.1)
    found = diffusion(x, RATE)
    assert found["diffusion_short_mm2_s"] is not None
    assert found["diffusion_long_mm2_s"] is not None
    assert abs(found["diffusion_long_mm2_s"]) < 0.1 * found["diffusion_short_mm2_s"]
    assert found["diffusion_critical_s"] is not None
    assert 0.3 < found["diffusion_critical_s"] < 2.5


def test_nothing_moves() -> None:
    assert set(diffusion(np.zeros(6000), RATE).values()) == {None}
