"""Zeros: the counts of cells that nobody stands on, taken before and after; refused where somebody is there or something moves."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.recording import amend
from balance.rig import Rig, Side
from balance.self_checks import DRIFT_TIMES
from balance.words import say
from drivers.samples import CHANNEL_GOOD, VALUE_FLAGS, SampleBlock, channel_status, concatenate

Array = npt.NDArray[np.float64]

SECONDS = 2.0  # a zero is the mean of so much of an unloaded cell
MOVES_N = 1.0  # a zero whose SD is larger is refused; tool default
COMES_N = 10.0  # a plate's own weight does not change by so much; tool default
AGAIN_S = 10.0  # asked again within that time, the first zero of a session takes a standing load for the plate's own


@dataclass(frozen=True)
class Zero:
    """Mean counts of the cells and the standard uncertainty of it, by channel; channels: how many the board has."""

    counts: dict[int, float]
    u_counts: dict[int, float]
    channels: int


class Zeros:
    """The newest seconds, of which a zero is made, and the recordings that wait for the zero after them."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._blocks: deque[SampleBlock] = deque()
        self._taken = False  # a zero was taken before: the calibration's is of today
        self._waiting: list[Path] = []
        self._refused_us: int | None = None
        self._seen_n: dict[Side, tuple[float, float]] = {}  # least and largest load of each plate so far
        self.warning: str | None = None  # of the zero in use: somebody may have been on the plates

    def feed(self, block: SampleBlock) -> None:
        self._blocks.append(block)
        newest = int(block.board_us[-1])
        while newest - int(self._blocks[0].board_us[-1]) > SECONDS * 1e6:
            self._blocks.popleft()

    @property
    def is_taken(self) -> bool:
        """A zero was taken: the calibration's is of today."""
        return self._taken

    def saw(self, loads_n: Mapping[Side, float]) -> None:
        """The load on each plate now: what comes and goes is no plate."""
        for side, load in loads_n.items():
            least, most = self._seen_n.get(side, (load, load))
            self._seen_n[side] = (min(least, load), max(most, load))

    def newest(self) -> SampleBlock | None:
        """The newest seconds in one block."""
        return concatenate(list(self._blocks)) if self._blocks else None

    def clear(self) -> None:
        """A replay went back: what came before does not belong to what comes."""
        self._blocks.clear()

    def closed(self, recording: Path) -> None:
        """A recording that the next zero is the one after."""
        self._waiting.append(recording)

    def read(self, calibration: Calibration, rate_hz: float, loads_n: Mapping[Side, float], least_n: float) -> Zero | str:  # fmt: skip
        """The zero, or the sentence that refuses it.

        loads_n: on each foot's plate by the calibration · least_n: more than that is somebody
        """
        if sum(map(len, self._blocks)) < rate_hz:
            return say("session.zero-not-now")
        block = concatenate(list(self._blocks))
        spoiled = (block.status & VALUE_FLAGS) != 0
        for channel in self._rig.channels:
            spoiled |= channel_status(block.status, channel) != CHANNEL_GOOD
        if spoiled.any():
            return say("session.zero-fault")
        counts = block.counts
        for cell in self._rig.cells:
            slope = calibration.of(cell.channel).newton_per_count
            moves_n = abs(float(counts[:, cell.channel].std()) * slope)
            if moves_n > MOVES_N:
                return say("session.zero-moves", under=cell.under, moves=moves_n, limit=MOVES_N)
        loaded = {side: load for side, load in loads_n.items() if load > least_n}
        came = [side for side in loaded if self._came(side)]
        if loaded and (came or not self._is_confirmed(int(block.board_us[-1]))):
            side = next(iter(came or loaded))
            key = "session.zero-loaded" if self._taken or came else "session.zero-loaded-first"
            return say(key, side=side, load=loaded[side], limit=least_n, seconds=AGAIN_S)
        self.warning = None
        if loaded:
            side = next(iter(loaded))
            self.warning = say("session.zero-with-load", side=side, load=loaded[side])
        channels = self._rig.channels
        return Zero(
            {c: float(counts[:, c].mean()) for c in channels},
            {c: float(counts[:, c].std(ddof=1) / len(counts) ** 0.5) for c in channels},
            counts.shape[1],
        )

    def _came(self, side: Side) -> bool:
        """The load on this plate was another one before."""
        least, most = self._seen_n.get(side, (0.0, 0.0))
        return most - least > COMES_N

    def _is_confirmed(self, now_us: int) -> bool:
        """The weight of plates that were off when their cells were calibrated is no person: asked twice, it is taken."""
        before, self._refused_us = self._refused_us, now_us
        return not self._taken and before is not None and 0 < now_us - before <= AGAIN_S * 1e6

    def take(self, zero: Zero, calibration: Calibration) -> tuple[Calibration, list[str]]:
        """The calibration with the new zero, and what to say; the recordings since the last zero learn theirs."""
        waiting, self._waiting = self._waiting, []
        after = [zero.counts.get(channel) for channel in range(zero.channels)]
        sentences = [self._sentence(zero, calibration)]
        for recording in waiting if self._taken else ():
            try:
                amend(recording, zero_after_counts=after)
            except OSError as error:
                sentences.append(say("session.zero-not-noted", folder=recording, reason=error.strerror or str(error)))  # fmt: skip
        self._taken = True
        return calibration.with_zeros(zero.counts, zero.u_counts), sentences

    def _sentence(self, zero: Zero, calibration: Calibration) -> str:
        """What the new zero says of the last one, while whoever was measured is still there."""
        if not self._taken:
            return say("session.zeroed")
        moved_n: dict[str, float] = {}
        for cell in self._rig.cells:
            known = calibration.of(cell.channel)
            moved_n[cell.under] = max(
                (zero.counts[cell.channel] - known.zero_counts) * known.newton_per_count,
                moved_n.get(cell.under, 0.0),
                key=abs,
            )
        under = max(moved_n, key=lambda name: abs(moved_n[name]))
        limit = DRIFT_TIMES * self._rig.zero_drift_n
        key = "session.zero-drifted" if abs(moved_n[under]) > limit else "session.zeroed-again"
        return say(key, under=under, moved=moved_n[under], limit=limit)
