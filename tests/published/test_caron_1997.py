"""The centre of mass behind a centre of pressure: Brenière 1996, J Mot Behav 28:291–298; Caron, Faure & Brenière 1997, J Biomech
30:1169–1171. Gain Ω₀²/(Ω₀² + (2πf)²), from the small-angle pendulum; figures worked by hand for three pendulums."""

from __future__ import annotations

import math

import numpy as np
import pytest

from balance.measures import centre_of_mass as com

RATE = 100.0
T = np.arange(6000) / RATE
GAINS = [  # corner Hz, {f: gain}
    (0.540594, {0.05: 0.99152, 0.1: 0.96691, 0.2: 0.87961, 0.5: 0.53895, 1.0: 0.22615, 2.0: 0.06809}),
    (0.511350, {0.05: 0.99053, 0.1: 0.96316, 0.2: 0.86732, 0.5: 0.51122, 1.0: 0.20728, 2.0: 0.06136}),
    (0.484148, {0.1: 0.95908, 0.5: 0.48390, 1.0: 0.18989}),
]


@pytest.mark.parametrize(("corner", "gains"), GAINS)
def test_gains_without_delay(corner: float, gains: dict[float, float]) -> None:
    middle = slice(2000, 4000)
    for f, gain in gains.items():
        x = np.sin(2 * np.pi * f * T)
        assert com.centre_of_mass_mm(x, RATE, corner)[middle] == pytest.approx(gain * x[middle], abs=3e-3)


def test_corners_by_hand() -> None:
    """Point masses 0.85 and 0.95 m up; 70 kg, 0.92 m, 9 kg·m²: √(mgh/(I + mh²))/2π."""
    for inertia, h, m, expected in ((0, 0.85, 1, 0.540594), (0, 0.95, 1, 0.511350), (9, 0.92, 70, 0.484148)):
        assert math.sqrt(m * com.GRAVITY * h / (inertia + m * h**2)) / (2 * math.pi) == pytest.approx(
            expected, abs=1e-6
        )
    height = 1.75  # the same formula with the declared parts of the stature
    m, h = 70.0, com.HEIGHT_PART * height
    by_hand = math.sqrt(m * com.GRAVITY * h / (com.INERTIA_PART * m * height**2 + m * h**2)) / (2 * math.pi)
    assert com.corner_hz(height) == pytest.approx(by_hand, rel=1e-12)
    assert 0.45 < com.corner_hz(1.9) < com.corner_hz(1.5) < 0.6


def test_level_and_half() -> None:
    """Gain 1 for what stands still, exactly a half at the corner."""
    assert com.centre_of_mass_mm(np.full(3000, 7.0), RATE, 0.5) == pytest.approx(np.full(3000, 7.0))
    x = np.sin(2 * np.pi * 0.5 * T)
    assert com.centre_of_mass_mm(x, RATE, 0.5)[2000:4000] == pytest.approx(0.5 * x[2000:4000], abs=1e-3)


def test_an_inverted_pendulum_moved_by_its_own_equation() -> None:
    """x'' = Ω₀²(x − p): the CoP p that a known path of the centre of mass needs, put through the low-pass, gives the path back."""
    corner = 0.5
    omega2 = (2 * math.pi * corner) ** 2
    path = 6 * np.sin(2 * np.pi * 0.12 * T) + 2 * np.cos(2 * np.pi * 0.31 * T)
    needed = (
        path
        + (
            6 * (2 * np.pi * 0.12) ** 2 * np.sin(2 * np.pi * 0.12 * T)
            + 2 * (2 * np.pi * 0.31) ** 2 * np.cos(2 * np.pi * 0.31 * T)
        )
        / omega2
    )
    found = com.centre_of_mass_mm(needed, RATE, corner)
    assert found[500:5500] == pytest.approx(path[500:5500], abs=0.05)
