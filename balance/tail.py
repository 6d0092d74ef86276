"""The newest seconds of the loads, for a chart: arrays that are appended to and read many times a second."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FIRST_ROOM = 4096


class Tail:
    """Keeps ``seconds`` of some signals; memory is bounded by the rate, at most twice what is shown."""

    def __init__(self, names: tuple[str, ...], seconds: float) -> None:
        self._names, self._seconds = names, seconds
        self._rows = np.full((1 + len(names), FIRST_ROOM), np.nan)
        self._count = 0

    def append(self, time_s: Array, signals: dict[str, Array]) -> None:
        """time_s (n,), rising; signals (n,) by name, NaN where a name is missing."""
        n = len(time_s)
        if n == 0:
            return
        if self._count + n > self._rows.shape[1]:
            self._make_room(n, float(time_s[-1]))
        here = slice(self._count, self._count + n)
        self._rows[0, here] = time_s
        for i, name in enumerate(self._names, start=1):
            self._rows[i, here] = signals.get(name, np.nan)
        self._count += n

    def _make_room(self, n: int, newest_s: float) -> None:
        first = int(np.searchsorted(self._rows[0, : self._count], newest_s - self._seconds))
        kept = self._rows[:, first : self._count]
        room = max(FIRST_ROOM, 2 * (kept.shape[1] + n))
        self._rows = np.full((len(self._rows), room), np.nan)
        self._rows[:, : kept.shape[1]] = kept
        self._count = kept.shape[1]

    def clear(self) -> None:
        self._count = 0

    def newest(self) -> tuple[Array, dict[str, Array]]:
        """Copies: time_s (n,) of the newest seconds, and the signals that have values."""
        if self._count == 0:
            return np.zeros(0), {}
        times = self._rows[0, : self._count]
        first = int(np.searchsorted(times, times[-1] - self._seconds))
        rows = self._rows[:, first : self._count].copy()
        return rows[0], {
            name: rows[i] for i, name in enumerate(self._names, start=1) if not np.isnan(rows[i, -1])
        }
