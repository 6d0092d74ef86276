"""What cells and converters do to a load: own clocks, noise, creep, hysteresis, drift, saturation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from drivers.samples import COUNTS_MAX, COUNTS_MIN, IntArray

Array = npt.NDArray[np.float64]

CLOCKS = (-0.14, 0.16)  # how far converters' own oscillators were reported from nominal


class Loads(Protocol):
    """The true loads behind a board's channels, and each channel's scale."""

    counts_per_newton: Array  # (channels,)
    zero_counts: Array  # (channels,)
    capacity_n: Array  # (channels,)

    def newtons(self, t_s: Array, channel: int) -> Array:
        """(n,) true force on a channel's cell at times t_s (n,)."""
        ...


@dataclass(frozen=True)
class Electronics:
    """Sizes of the errors; the defaults are those of low-cost cells and 24-bit bridge converters."""

    noise_n: float = 0.05
    creep_pct: float = 0.2
    creep_tau_s: float = 60.0
    hysteresis_pct_of_capacity: float = 0.1
    drift_n_in_10_min: float = 0.3


class Converter:
    """One channel: conversions on its own clock, in order, each with what creep, hysteresis and drift make of it."""

    def __init__(
        self, loads: Loads, channel: int, rate_hz: float, electronics: Electronics, seed: int
    ) -> None:
        self._rng = np.random.default_rng([seed, channel])
        self._loads, self._channel, self._electronics = loads, channel, electronics
        self.rate_hz = rate_hz * (1 + self._rng.uniform(*CLOCKS))
        self._phase_s = self._rng.uniform(0, 1 / self.rate_hz)
        self._drift_n_s = electronics.drift_n_in_10_min / 600 * self._rng.choice([-1.0, 1.0])
        self._play_n = electronics.hysteresis_pct_of_capacity / 100 * float(loads.capacity_n[channel]) / 2
        self._done = 0
        self._creep = self._held = 0.0
        self._started = False
        self._times = np.zeros(0)
        self._counts: IntArray = np.zeros(0, dtype=np.int64)

    def latest(self, t_s: Array) -> tuple[Array, IntArray, npt.NDArray[np.bool_]]:
        """At each t_s (rising): time of the latest conversion, its counts, and whether it is a new one."""
        index = np.floor((t_s - self._phase_s) * self.rate_hz).astype(np.int64)
        self._convert(int(index[-1]) + 1)
        first = self._done - len(self._times)
        place = np.clip(index - first, 0, len(self._times) - 1)
        fresh = np.diff(place, prepend=-1 if first == 0 else 0) > 0
        result = self._times[place], self._counts[place], fresh
        self._times, self._counts = self._times[place[-1] :], self._counts[place[-1] :]
        return result

    def _convert(self, until: int) -> None:
        until = max(until, 1)
        if until <= self._done:
            return
        times = self._phase_s + np.arange(self._done, until) / self.rate_hz
        force = self._loads.newtons(times, self._channel)
        e = self._electronics
        step = 1 - math.exp(-1 / (self.rate_hz * e.creep_tau_s))
        if not self._started:
            self._creep = self._held = float(force[0])
            self._started = True
        shown = np.empty_like(force)
        for i, f in enumerate(force.tolist()):
            self._creep += (f - self._creep) * step
            self._held = min(max(self._held, f - self._play_n), f + self._play_n)
            shown[i] = self._held + (self._creep - f) * e.creep_pct / 100
        shown += times * self._drift_n_s + self._rng.normal(0.0, e.noise_n, len(times))
        counts = np.rint(
            shown * self._loads.counts_per_newton[self._channel] + self._loads.zero_counts[self._channel]
        )
        self._times = np.concatenate([self._times, times])
        self._counts = np.concatenate(
            [self._counts, np.clip(counts, COUNTS_MIN, COUNTS_MAX).astype(np.int64)]
        )
        self._done = until
