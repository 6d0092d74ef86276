"""Sine multitapers: Riedel & Sidorenko 1995, IEEE Trans. Signal Process. 43(1):188–195; the identity Σ G·Δf is derived."""

from __future__ import annotations

import numpy as np
import pytest

from balance.measures import spectrum

RATE = 100.0


@pytest.mark.parametrize("n", [1999, 2000])
def test_multitaper_holds_the_power(n: int) -> None:
    """Σ G·Δf = (1/K) Σ_k Σ_n v_k² x², to 1e-12."""
    x = np.random.default_rng(1).normal(size=n)
    f, g = spectrum.multitaper(x, RATE)
    tapers = spectrum.sine_tapers(n)
    assert np.allclose(tapers @ tapers.T, np.eye(8), atol=1e-12)
    wanted = float(np.mean([((v * (x - x.mean())) ** 2).sum() for v in tapers]))
    assert float(g.sum() * f[1]) == pytest.approx(wanted, rel=1e-12)
