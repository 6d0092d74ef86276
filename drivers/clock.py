"""The board's clock and counter, unwrapped; and its fit to the host's clock. Times are handed in."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from drivers.samples import IntArray

TIME_WRAP = 2**32  # µs: 71.6 min
SEQUENCE_WRAP = 2**16
OUT_OF_ORDER_US = 1_000_000  # tool default
LONG_SILENCE_S = 30 * 60.0  # beyond half a wrap the host's clock must decide


@dataclass
class Unwrapper:
    """Turns t0_us and sequence as sent into ones that go on counting; one a board.

    The first message stands as sent. After ``restarted`` (a new boot) both go on from the host's estimate.
    """

    rate_hz: float
    us: int | None = None
    sequence: int | None = None
    _arrival_s: float = 0.0
    _offset_us: int = 0  # to add to t0_us since the last restart
    _offset_sequence: int = 0
    _restart: bool = False

    def restarted(self) -> None:
        """The board booted anew: its clock and counter begin somewhere else."""
        self._restart = self.us is not None

    def went_back(self, t0_us: int, arrival_s: float) -> bool:
        """A message whose time lies further back than messages are ever out of order: the board began anew without saying so."""
        if self.us is None or self._restart or arrival_s - self._arrival_s > LONG_SILENCE_S:
            return False
        step = (t0_us + self._offset_us - self.us + TIME_WRAP // 2) % TIME_WRAP - TIME_WRAP // 2
        return step < -OUT_OF_ORDER_US

    @property
    def offset_us(self) -> int:
        """What is added to the board's own clock since its last restart (modulo its wrap)."""
        return self._offset_us

    def unwrap(self, sequence: IntArray, t0_us: IntArray, arrival_s: float) -> tuple[IntArray, IntArray]:
        """(n,) values as sent in one arrival → unwrapped sequence and µs."""
        if len(sequence) == 0:
            return sequence, t0_us
        if self.us is None or self.sequence is None:
            self.us, self.sequence, self._arrival_s = int(t0_us[0]), int(sequence[0]), arrival_s
        silence_us = max(arrival_s - self._arrival_s, 0.0) * 1e6
        if self._restart:
            span = int((t0_us[-1] - t0_us[0]) % TIME_WRAP)
            first_us = self.us + max(round(silence_us) - span, 1)
            self._offset_us = first_us - int(t0_us[0])
            first_sequence = self.sequence + max(1, round((first_us - self.us) * 1e-6 * self.rate_hz))
            self._offset_sequence = first_sequence - int(sequence[0])
            self.us, self.sequence, self._restart = first_us, first_sequence, False
        us = self._times(t0_us, silence_us)
        whole = self._sequences(sequence, us)
        self.us, self.sequence, self._arrival_s = int(us[-1]), max(int(whole.max()), self.sequence), arrival_s
        return whole, us

    def _times(self, t0_us: IntArray, silence_us: float) -> IntArray:
        assert self.us is not None
        steps = np.diff(t0_us + self._offset_us, prepend=self.us)
        steps = (steps + TIME_WRAP // 2) % TIME_WRAP - TIME_WRAP // 2  # signed difference
        if silence_us > LONG_SILENCE_S * 1e6:
            steps[0] += round((silence_us - steps[0]) / TIME_WRAP) * TIME_WRAP
        us = self.us + np.cumsum(steps)
        return np.asarray(np.maximum.accumulate(np.maximum(us, self.us)), dtype=np.int64)

    def _sequences(self, sequence: IntArray, us: IntArray) -> IntArray:
        assert self.us is not None
        assert self.sequence is not None
        base = self.sequence + np.rint((us - self.us) * 1e-6 * self.rate_hz).astype(np.int64)
        own = sequence + self._offset_sequence
        return np.asarray(
            own + np.rint((base - own) / SEQUENCE_WRAP).astype(np.int64) * SEQUENCE_WRAP, dtype=np.int64
        )


@dataclass(frozen=True)
class ClockFit:
    """The host's time of a board's time: arrival_s ≈ offset_s + (1 + ppm·1e-6)·board_us·1e-6, on the lower envelope."""

    offset_s: float
    ppm: float


def fit_clock(board_us: IntArray, arrival_s: npt.NDArray[np.float64]) -> ClockFit | None:
    """Fit on the lower envelope of arrivals (delays only add); None with less than two times. Reported, never applied."""
    if len(board_us) < 2 or board_us[-1] <= board_us[0]:
        return None
    x = (board_us - board_us[0]) * 1e-6
    points: list[tuple[float, float]] = []
    for px, py in sorted(zip(x.tolist(), (arrival_s - x).tolist(), strict=True)):  # lower hull of the delays
        while len(points) >= 2:
            (ax, ay), (bx, by) = points[-2], points[-1]
            if (bx - ax) * (py - ay) - (by - ay) * (px - ax) > 0:
                break
            points.pop()
        if points and points[-1][0] == px:
            continue
        points.append((px, py))
    if len(points) < 2:
        return None
    middle = x[-1] / 2
    left, right = next(
        ((a, b) for a, b in pairwise(points) if a[0] <= middle <= b[0]),
        (points[0], points[-1]),
    )
    slope = (right[1] - left[1]) / (right[0] - left[0])
    offset = left[1] - slope * left[0] - (1 + slope) * float(board_us[0]) * 1e-6
    return ClockFit(offset, slope * 1e6)


class ClockWatch:
    """Watches arrivals for the board's clock against the host's; bounded memory, cheap for each block."""

    EVERY_US, MOST, LEAST_S = 50_000, 4096, 5.0

    def __init__(self) -> None:
        self._board_us: list[int] = []
        self._arrival_s: list[float] = []

    def saw(self, board_us: int, arrival_s: float) -> None:
        """The newest sample of an arrival. One in 50 ms is kept; when there are many, every second one is let go."""
        if self._board_us and board_us - self._board_us[-1] < self.EVERY_US:
            return
        self._board_us.append(board_us)
        self._arrival_s.append(arrival_s)
        if len(self._board_us) > self.MOST:
            self._board_us, self._arrival_s = self._board_us[::2], self._arrival_s[::2]

    def report(self) -> dict[str, float] | None:
        """clock_ppm (positive: the board's seconds are shorter than the host's) over clock_seconds; None under 5 s."""
        if not self._board_us or self._board_us[-1] - self._board_us[0] < self.LEAST_S * 1e6:
            return None
        fit = fit_clock(np.array(self._board_us, dtype=np.int64), np.array(self._arrival_s))
        if fit is None:
            return None
        seconds = (self._board_us[-1] - self._board_us[0]) * 1e-6
        return {"clock_ppm": round(-fit.ppm, 1), "clock_seconds": round(seconds, 1)}
