"""What a session tells its views: sentences, the newest of which are shown for a while only, and one open question."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence

KEPT = 4
FRESH_S = 12.0  # of readings: then it was read; tool default


class Telling:
    """``tell`` adds a sentence. Time is counted in readings: while none come, what was said last stays."""

    def __init__(self, first: Sequence[str] = ()) -> None:
        self._said: deque[tuple[str, int]] = deque(((one, 0) for one in first), maxlen=KEPT)
        self.readings = 0
        self.question: str | None = None

    def tell(self, sentence: str | None) -> None:
        if sentence:
            self._said.append((sentence, self.readings))

    def tell_all(self, sentences: Iterable[str]) -> None:
        for sentence in sentences:
            self.tell(sentence)

    def hush(self) -> None:
        """A trial begins: what was said before it belongs to another."""
        self._said = deque(((said, -1_000_000_000) for said, _ in self._said), maxlen=KEPT)
        self.question = None

    @property
    def all(self) -> tuple[str, ...]:
        return tuple(said for said, _ in self._said)

    def fresh(self, rate_hz: float) -> tuple[str, ...]:
        """Those that are not older than ``FRESH_S``."""
        return tuple(said for said, at in self._said if self.readings - at <= FRESH_S * rate_hz)
