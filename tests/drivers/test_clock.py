"""Unwrapping of time and sequence, restarts, and the fit of the board's clock."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.clock import Unwrapper, fit_clock


@settings(deadline=None, max_examples=60)
@given(
    st.integers(0, 2**32 - 1), st.integers(0, 65535), st.lists(st.integers(1, 4000), min_size=2, max_size=30)
)
def test_wraps_are_undone(t0: int, s0: int, steps: list[int]) -> None:
    """Whatever the start, and however many samples were lost in between (up to 50 s of them)."""
    rate = 80.0
    seq = s0 + np.cumsum([0, *steps])
    us = t0 + ((seq - s0) * 12500)
    clock = Unwrapper(rate)
    out_s, out_t = [], []
    for s, t in zip(seq.tolist(), us.tolist(), strict=True):
        a, b = clock.unwrap(np.array([s % 65536]), np.array([t % 2**32]), (t - t0) * 1e-6)
        out_s += a.tolist()
        out_t += b.tolist()
    assert np.array_equal(np.array(out_s) - out_s[0], seq - s0)
    assert np.array_equal(np.array(out_t) - out_t[0], us - t0)


def test_a_restart_goes_on_from_the_hosts_clock() -> None:
    clock = Unwrapper(80.0)
    clock.unwrap(np.array([100]), np.array([5_000_000]), 10.0)
    clock.restarted()
    seq, us = clock.unwrap(np.array([0, 1]), np.array([12_500, 25_000]), 13.0)
    assert us[-1] == pytest.approx(8_000_000, abs=20_000)
    assert seq[-1] - 100 == pytest.approx(240, abs=2)
    assert np.diff(us).tolist() == [12_500]


def test_a_long_silence_is_decided_by_the_host() -> None:
    clock = Unwrapper(80.0)
    clock.unwrap(np.array([0]), np.array([0]), 0.0)
    true_us = int(100 * 60 * 1e6)  # 100 min: the board's clock wrapped once
    seq, us = clock.unwrap(np.array([true_us // 12500 % 65536]), np.array([true_us % 2**32]), 6000.0)
    assert us[0] == true_us
    assert seq[0] == true_us // 12500


def test_fit_of_a_drifting_clock() -> None:
    rng = np.random.default_rng(2)
    us = np.arange(0, 15_000_000, 12_500)
    arrival = 3.0 + us * 1e-6 * (1 + 400e-6) + rng.exponential(0.002, len(us))
    fit = fit_clock(us, arrival)
    assert fit is not None
    assert fit.ppm == pytest.approx(400, abs=20)
    assert fit_clock(us[:1], arrival[:1]) is None
