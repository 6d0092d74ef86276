"""What a rig's noise adds to a sway measure, on signals whose noise is known."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from balance.filters import zero_phase
from balance.measures.noise_bias import Noise, bias
from balance.measures.sway import sway

RATE_HZ, SECONDS = 80.0, 60.0
N = round(RATE_HZ * SECONDS)


def filtered(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return zero_phase(points, 10.0, RATE_HZ)


def standing(rng: np.random.Generator) -> npt.NDArray[np.float64]:
    """(2, N) a damped walk of about 5 mm, mm."""
    steps = rng.standard_normal((2, N)) * 0.35
    points = np.zeros((2, N))
    for k in range(1, N):
        points[:, k] = 0.995 * points[:, k - 1] + steps[:, k]
    return filtered(filtered(points))


@pytest.mark.parametrize("noise_mm", [0.1, 0.3])
def test_taking_the_bias_off_gives_back_what_was_there(noise_mm: float) -> None:
    """The path, which grows most with noise, comes within a fifth of what the noise had added to it; a dead weight of half the load
    shows twice the noise."""
    rng = np.random.default_rng(7)
    added, left = [], []
    for _ in range(4):
        true, noise, floor = standing(rng), rng.standard_normal((2, N)), rng.standard_normal((2, N))
        shown = true + filtered(noise_mm * noise)
        known = Noise(filtered(2 * noise_mm * floor), RATE_HZ, 300.0)
        told = bias(shown[0], shown[1], RATE_HZ, known, 600.0, "multitaper")["resultant"]["path_mm"]
        without, _ = sway(*true, RATE_HZ, basic=True)
        with_noise, _ = sway(*shown, RATE_HZ, basic=True)
        path, shown_path = without["resultant"]["path_mm"], with_noise["resultant"]["path_mm"]
        assert told is not None
        assert path is not None
        assert shown_path is not None
        added.append(shown_path - path)
        left.append(shown_path - told - path)
    assert np.mean(added) > 0
    assert abs(np.mean(left)) < 0.2 * np.mean(added)


def test_no_noise_adds_nothing() -> None:
    ap, ml = standing(np.random.default_rng(1))
    told = bias(ap, ml, RATE_HZ, Noise(np.zeros((2, 4000)), RATE_HZ, 300.0), 600.0, "multitaper")
    values = [value for block in told.values() for value in block.values() if value is not None]
    assert len(values) > 30
    assert told["ap"]["sample_entropy"] == pytest.approx(0.0, abs=1e-6)
    assert told["ap"]["com_rms_mm"] is None
    assert np.abs(values).max() < 1e-6


def test_what_is_absent_stays_absent() -> None:
    ap, ml = standing(np.random.default_rng(1))[:, :400]
    told = bias(ap, ml, RATE_HZ, Noise(np.ones((2, 4000)), RATE_HZ, 300.0), 600.0, "multitaper")
    assert set(told["ap"].values()) == {None}


def test_another_rate_is_another_noise() -> None:
    noise = Noise(np.zeros((2, 10)), 80.0, 300.0)
    assert noise.fits(80.5)
    assert not noise.fits(100.0)
