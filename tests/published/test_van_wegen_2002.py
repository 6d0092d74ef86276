"""Time to boundary, van Wegen et al. 2002, J Neurosci Methods 114:175–187 (definition from memory), on a sine whose smallest time is
known: √(B² − A²)/(Aω) at sin ωt = A/B; A 10 mm, B 60 mm, 0.4 Hz give 2.353933 s."""

from __future__ import annotations

import math

import numpy as np
import pytest

from balance.measures.boundary import boundary, local_minima, time_to_boundary_s

SQUARE = np.array([[-60.0, -60.0], [-60.0, 60.0], [60.0, 60.0], [60.0, -60.0]])


def test_a_sine_between_two_walls() -> None:
    rate = 1000.0
    t = np.arange(20_000) / rate
    points = np.stack([10 * np.sin(2 * np.pi * 0.4 * t), np.zeros_like(t)])
    expected = math.sqrt(60**2 - 10**2) / (10 * 2 * math.pi * 0.4)
    assert expected == pytest.approx(2.353933, abs=1e-6)
    for edge in (SQUARE, SQUARE[::-1]):  # corners either way round
        found = boundary(points, rate, edge)
        assert found["time_to_boundary_min_s"] == pytest.approx(expected, rel=1e-4)
        assert found["time_to_boundary_mean_s"] == pytest.approx(expected, rel=1e-4)


def test_straight_to_an_edge_and_outside() -> None:
    points = np.array([[0.0, 0.0], [30.0, 0.0], [0.0, 0.0], [70.0, 0.0]])
    velocity = np.array([[10.0, 0.0], [-10.0, 0.0], [0.0, 0.0], [1.0, 0.0]])
    time = time_to_boundary_s(points, velocity, SQUARE)
    assert time[:2].tolist() == [6.0, 9.0]
    assert time[2] == math.inf
    assert math.isnan(time[3])


def test_the_nearest_of_two_edges_on_the_way() -> None:
    triangle = np.array([[0.0, 0.0], [100.0, 0.0], [0.0, 100.0]])
    (time,) = time_to_boundary_s(np.array([[10.0, 10.0]]), np.array([[20.0, 20.0]]), triangle)
    assert time == pytest.approx(2.0)  # AP + ML = 100 is met at (50, 50)


def test_local_minima() -> None:
    assert local_minima(np.array([5, 3, 3, 4, np.inf, 2, 6, 1.0])).tolist() == [3.0, 2.0]
    assert local_minima(np.zeros(0)).tolist() == []


def test_no_room_no_number() -> None:
    assert set(boundary(np.zeros((2, 2)), 100.0, SQUARE).values()) == {None}
    assert set(boundary(np.zeros((2, 500)), 100.0, SQUARE).values()) == {None}
