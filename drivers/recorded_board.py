"""Recorded samples played as if by a board: in real time, faster, unpaced, paused, stepped, sought."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np

from drivers.samples import BoardInfo, LinkEvent, SampleBlock

CHUNK_S = 0.1  # of data a read when unpaced
WAIT_S = 0.02


class RecordedBoard:
    """A Source over a recording. The schedule is absolute: delays of the reader do not add up.

    speed: 1 real time, 2 twice as fast, None as fast as it is read. hold: at its end it pauses, so that one can seek
    back, instead of ending. clock and wait are handed in for tests.
    """

    def __init__(
        self,
        samples: SampleBlock,
        info: BoardInfo,
        *,
        speed: float | None = 1.0,
        hold: bool = False,
        clock: Callable[[], float] = time.monotonic,
        wait: Callable[[float], object] = time.sleep,
    ) -> None:
        self._samples, self._info, self._speed, self._hold = samples, info, speed, hold
        self._clock, self._wait = clock, wait
        self._elapsed_s = (samples.board_us - samples.board_us[0]) * 1e-6
        self._lock = threading.Lock()
        self._next = 0
        self._start_s = 0.0  # host time at which the recording's second 0 is due
        self._paused_at: float | None = None
        self._steps = 0
        self._stopped = self._ended = False

    def open(self) -> BoardInfo:
        self._start_s = self._clock()
        return self._info

    def read(self) -> list[SampleBlock | LinkEvent]:
        """What is due by now."""
        if self._ended:
            return []
        with self._lock:
            end = self._due()
            first, self._next = self._next, max(self._next, end)
            at_end = self._next >= len(self._samples)
            over = self._stopped or (at_end and not self._hold)
            if at_end and self._paused_at is None:
                self._paused_at = self._clock()
        items: list[SampleBlock | LinkEvent] = []
        if self._next > first:
            items.append(self._samples[first : self._next])
        if over:
            self._ended = True
            last = int(self._samples.board_us[max(self._next - 1, 0)])
            items.append(LinkEvent("ended", "event.ended", {}, last))
        elif not items:
            self._wait(WAIT_S)
        return items

    def _due(self) -> int:
        if self._stopped:
            return self._next
        if self._paused_at is not None:
            end, self._steps = min(self._next + self._steps, len(self._samples)), 0
            return end
        if self._speed is None:
            until = self._elapsed_s[self._next] + CHUNK_S if self._next < len(self._samples) else np.inf
        else:
            until = (self._clock() - self._start_s) * self._speed
        return int(np.searchsorted(self._elapsed_s, until, side="right"))

    @property
    def position_s(self) -> float:
        """Seconds after the first row of what was last handed on."""
        return float(self._elapsed_s[min(max(self._next - 1, 0), len(self._samples) - 1)])

    @property
    def duration_s(self) -> float:
        return float(self._elapsed_s[-1])

    @property
    def is_paused(self) -> bool:
        return self._paused_at is not None

    def pause(self) -> None:
        """Holds still until ``resume``; ``step`` still moves."""
        with self._lock:
            self._paused_at = self._paused_at or self._clock()

    def resume(self) -> None:
        with self._lock:
            self._paused_at = None
            self._aim()

    def step(self, samples: int = 1) -> None:
        """While paused: so many samples more."""
        with self._lock:
            self._steps += samples

    def seek(self, seconds: float) -> None:
        """Goes on from that second of the recording."""
        with self._lock:
            self._next = int(
                np.searchsorted(self._elapsed_s, min(max(seconds, 0.0), self.duration_s), side="left")
            )
            self._steps = int(self.is_paused)  # while paused one sample, for a picture of the place
            self._aim()

    @property
    def speed(self) -> float:
        """1 is real time; unpaced counts as 1."""
        return self._speed or 1.0

    def set_speed(self, speed: float) -> None:
        """Goes on from where it stands, so fast."""
        with self._lock:
            self._speed = speed
            self._aim()

    def _aim(self) -> None:
        at = self._elapsed_s[min(self._next, len(self._samples) - 1)]
        self._start_s = self._clock() - float(at) / (self._speed or 1.0)

    def stop(self) -> None:
        self._stopped = True

    def close(self) -> None:
        self._stopped = True
