"""One guided job: its steps one after the other, fed with samples; each step is taken when its reading stands.

The same object serves the terminal, the window and a script. Done steps stay when the board goes away.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.words import say
from drivers.samples import CHANNEL_GOOD, VALUE_FLAGS, LinkEvent, SampleBlock, channel_status, concatenate

Array = npt.NDArray[np.float64]

PARTS = 3  # each reading is also kept as the means of so many equal parts
LONGEST_GAP_US = 200_000  # a reading goes on over no longer gap


@dataclass(frozen=True)
class Taken:
    """One step's reading. parts (3, m) counts of all channels in the thirds of its time; seconds_on: from when the reading
    first stood until the middle of what was taken."""

    key: str
    parts: Array
    seconds_on: float

    @property
    def counts(self) -> Array:
        """(m,) mean counts of all channels."""
        return np.asarray(self.parts.mean(axis=0), dtype=np.float64)


@dataclass(frozen=True)
class Judgement:
    """Of a window of samples: does it stand, is it what the step asked for, and what a person reads meanwhile.

    alarm: the words tell of something wrong.
    """

    stands: bool
    expected: bool
    words: str
    alarm: bool = False


Judge = Callable[[Array, Sequence[Taken]], Judgement]


@dataclass(frozen=True)
class Step:
    """What to do, and what makes a reading of it.

    key       tells steps of one job apart
    judge     of the counts (n, m) of the last ``seconds`` and of what was taken before
    channels  on which a converter's fault spoils the reading
    after_s   the reading must have stood for so long before it is taken
    asks      is not taken by itself: Enter says that it is done
    anchors   what follows is read against it: a job that was broken off goes on from here
    """

    key: str
    sentence: str
    judge: Judge
    channels: tuple[int, ...]
    seconds: float = 3.0
    after_s: float = 0.0
    asks: bool = False
    anchors: bool = False


class Guide:
    """Feed it; look at ``step``, ``words`` and ``progress``; ``taken`` is what came of it."""

    def __init__(self, steps: Sequence[Step], taken: Sequence[Taken] = (), *, asks: bool = True) -> None:
        """taken: the first steps' readings, where a job goes on. asks: somebody is there to press Enter."""
        self.steps, self.taken, self._asks = list(steps), list(taken), asks
        self._blocks: deque[SampleBlock] = deque()
        self._stood_since_us: int | None = None
        self._start()

    def _start(self) -> None:
        self._blocks.clear()
        self._judgement: Judgement | None = None
        self._stood_since_us = None
        self.words = "" if self.is_done else say("guide.waiting")
        self.progress = 0.0  # part of the step's time for which the reading has stood

    @property
    def is_done(self) -> bool:
        return len(self.taken) >= len(self.steps)

    @property
    def step(self) -> Step | None:
        return None if self.is_done else self.steps[len(self.taken)]

    def happened(self, event: LinkEvent) -> None:
        """A lost link, a restart: the reading begins anew; what was taken stays."""
        if event.kind in ("lost", "clock", "ended"):
            self._start()
        self.words = say(event.code, **event.facts)

    def feed(self, block: SampleBlock) -> bool:
        """New samples; True where they completed a step."""
        step = self.step
        if step is None or len(block) == 0:
            return False
        spoiled = (block.status & VALUE_FLAGS) != 0
        for channel in step.channels:
            spoiled |= channel_status(block.status, channel) != CHANNEL_GOOD
        if spoiled.any():
            bad = [c for c in step.channels if (channel_status(block.status, c) != CHANNEL_GOOD).any()]
            self._start()
            self.words = (
                say("guide.fault", channels=", ".join(map(str, bad))) if bad else say("guide.waiting")
            )
            return False
        if self._blocks and block.board_us[0] - self._blocks[-1].board_us[-1] > LONGEST_GAP_US:
            self._start()
        self._blocks.append(block)
        newest = int(block.board_us[-1])
        while len(self._blocks) > 1 and newest - int(self._blocks[1].board_us[0]) >= step.seconds * 1e6:
            self._blocks.popleft()
        return self._judge(step, newest)

    def _judge(self, step: Step, newest_us: int) -> bool:
        window = concatenate(list(self._blocks))
        span_us = newest_us - int(window.board_us[0])
        if span_us < step.seconds * 0.3e6 or len(window) < 8:
            self.words = say("guide.waiting")
            return False
        counts = window.counts.astype(np.float64)
        self._judgement = step.judge(counts, self.taken)
        self.words = self._judgement.words
        if not self._judgement.stands:
            self._stood_since_us, self.progress = None, 0.0
            return False
        if self._stood_since_us is None:
            self._stood_since_us = int(window.board_us[0])
        stood_s = (newest_us - self._stood_since_us) / 1e6
        self.progress = min(stood_s / (step.after_s + step.seconds), 1.0)
        whole = span_us >= step.seconds * 0.97e6 and stood_s >= step.after_s + step.seconds * 0.97
        if whole and self._judgement.expected and not (step.asks and self._asks):
            self._take(step, window)
            return True
        if whole and step.asks and self._judgement.expected:
            self.words = say("guide.press-enter", words=self.words)
        return False

    @property
    def is_alarmed(self) -> bool:
        """The words tell of something wrong, not of something still to come."""
        return self._judgement is not None and self._judgement.alarm

    @property
    def can_take(self) -> bool:
        """Enter would take the reading: it stands and its time is over."""
        return self._judgement is not None and self._judgement.stands and self.progress >= 0.97

    def take(self) -> bool:
        """Takes the reading that stands, though it is not what was expected, or because somebody says so."""
        step = self.step
        if step is None or not self.can_take:
            return False
        self._take(step, concatenate(list(self._blocks)))
        return True

    def _take(self, step: Step, window: SampleBlock) -> None:
        thirds = np.array_split(window.counts.astype(np.float64), PARTS)
        middle_us = (int(window.board_us[0]) + int(window.board_us[-1])) / 2
        since = self._stood_since_us if self._stood_since_us is not None else int(window.board_us[0])
        parts = np.array([part.mean(axis=0) for part in thirds])
        self.taken.append(Taken(step.key, parts, max(middle_us - since, 0.0) / 1e6))
        self._start()

    def redo(self) -> None:
        """Back by one step: its reading is taken again."""
        if self.taken:
            self.taken.pop()
        self._start()
