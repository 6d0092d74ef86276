"""Trials that record themselves one after the other while a view shows them."""

from __future__ import annotations

from collections import deque
from pathlib import Path

from balance.live_state import LiveState
from balance.protocols import Protocol
from balance.session import Session

LEAD_S = 3.0  # between trials, to look


class TrialPlan:
    """Begins each planned trial after a moment; ``step`` is called with every new state.

    finished: recordings that were closed and not yet taken from the list.
    """

    def __init__(self, session: Session, trials: list[tuple[Protocol, float | None]]) -> None:
        self._session = session
        self._waiting = deque(trials)
        self._planned = bool(trials)
        self._next_reading: int | None = None
        self._last: Path | None = None
        self.finished: deque[Path] = deque()

    @property
    def is_over(self) -> bool:
        """All planned trials are recorded; never where none was planned."""
        return self._planned and not self._waiting and self._next_reading is None

    def step(self, state: LiveState) -> None:
        """Takes note of a closed recording; begins the next trial when its moment has come."""
        if state.recorded is not None and state.recorded != self._last:
            self._last = state.recorded
            self.finished.append(state.recorded)
            self._next_reading = None
        if state.state != "ready" or state.rate_hz == 0:
            return
        if self._waiting and self._next_reading is None:
            self._next_reading = state.readings + round(LEAD_S * state.rate_hz)
        elif self._waiting and self._next_reading is not None and state.readings >= self._next_reading:
            protocol, seconds = self._waiting.popleft()
            self._session.begin_trial(protocol, seconds)
