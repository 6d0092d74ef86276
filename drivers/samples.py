"""The one kind of data that every source hands on: blocks of samples, and what happened to the link."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]

COUNTS_MIN = -(2**23)  # ends of a 24-bit converter: a reading there is saturated
COUNTS_MAX = 2**23 - 1

# A recording's status word: the frame flags in bits 0–7, then two bits a channel from bit 8 up.
FLAG_FAULT, FLAG_TRANSMIT_DROP, FLAG_RECEIVE_ERROR, FLAG_FIRST = 1, 2, 4, 8
FLAG_TEST_STREAM, FLAG_SETTLING, FLAG_CONVERSION_MISSED = 16, 32, 64
VALUE_FLAGS = FLAG_TEST_STREAM | FLAG_SETTLING  # frame flags under which the counts say nothing of the load
CHANNEL_GOOD, CHANNEL_SATURATED, CHANNEL_TIMEOUT, CHANNEL_STUCK = 0, 1, 2, 3


def channel_status(status: IntArray, channel: int) -> IntArray:
    """The two status bits of one channel: 0 good, 1 saturated, 2 timeout, 3 stuck; shape as ``status``."""
    return (status >> (8 + 2 * channel)) & 3


@dataclass(frozen=True, slots=True, eq=False)
class SampleBlock:
    """n samples of m channels, as a board sent them.

    sequence   (n,) the board's sample number, unwrapped: never decreases, skips where samples were lost
    board_us   (n,) the board's clock at the sample, microseconds, unwrapped: never decreases
    status     (n,) fault bits, see the constants above; 0 for none
    counts     (n, m) the converters' readings, untouched
    dt_us      (n, m) each channel's own conversion time, µs after board_us, signed; None where unknown
    arrival_s  when the block reached the host, monotonic seconds; None in a recording
    """

    sequence: IntArray
    board_us: IntArray
    status: IntArray
    counts: IntArray
    dt_us: IntArray | None = None
    arrival_s: float | None = None

    def __len__(self) -> int:
        return len(self.sequence)

    def __getitem__(self, rows: slice) -> SampleBlock:
        return replace(
            self,
            sequence=self.sequence[rows],
            board_us=self.board_us[rows],
            status=self.status[rows],
            counts=self.counts[rows],
            dt_us=None if self.dt_us is None else self.dt_us[rows],
        )


def concatenate(blocks: list[SampleBlock]) -> SampleBlock:
    """One block of several in their order; at least one block, all with or all without dt_us."""
    first = blocks[0]
    return SampleBlock(
        sequence=np.concatenate([b.sequence for b in blocks]),
        board_us=np.concatenate([b.board_us for b in blocks]),
        status=np.concatenate([b.status for b in blocks]),
        counts=np.concatenate([b.counts for b in blocks]),
        dt_us=None
        if first.dt_us is None
        else np.concatenate([b.dt_us for b in blocks if b.dt_us is not None]),
        arrival_s=blocks[-1].arrival_s,
    )


@dataclass(frozen=True, slots=True)
class BoardInfo:
    """What a board says of itself in its HELLO (a recorded board: what trial.json kept of it)."""

    board_id: str  # 16 hexadecimal digits
    protocol: str  # 'major.minor' of the wire format
    firmware: str
    boot_id: int
    reset_cause: int
    channels: int
    converter: int
    gain: int
    rate_hz: float
    baud: int


LinkKind = Literal["lost", "reconnected", "fault", "clock", "ended"]


@dataclass(frozen=True, slots=True)
class LinkEvent:
    """Something that happened to the source itself, in the order of the samples around it.

    kind      lost: no message for 0.5 s · reconnected: the same board answers again · fault: something was
              skipped, dropped or reported by the board · clock: the board restarted, its clock was re-based ·
              ended: nothing more will come
    code      key of the sentence in the catalogue; facts fill its places
    """

    kind: LinkKind
    code: str
    facts: dict[str, str | int | float]
    board_us: int  # where on the board's clock, the last known value


@runtime_checkable
class Playback(Protocol):
    """What a source of recorded samples can do besides; all safe from any thread."""

    @property
    def position_s(self) -> float:
        """Where it stands, seconds after the recording's first row."""
        ...

    @property
    def duration_s(self) -> float: ...

    @property
    def is_paused(self) -> bool: ...

    def pause(self) -> None: ...

    def resume(self) -> None: ...

    def step(self, samples: int = 1) -> None:
        """While paused: so many samples more."""
        ...

    def seek(self, seconds: float) -> None:
        """Goes on from that second of the recording, held to its ends."""
        ...

    @property
    def speed(self) -> float:
        """1 is real time."""
        ...

    def set_speed(self, speed: float) -> None:
        """Goes on from where it stands, so fast."""
        ...


class Source(Protocol):
    """A board: real, simulated or recorded. Used by one thread; only ``stop`` may be called from another."""

    def open(self) -> BoardInfo:
        """Connect and identify. Raises drivers.errors.BoardError with what to do."""
        ...

    def read(self) -> list[SampleBlock | LinkEvent]:
        """What came since the last call, in order; waits at most 0.1 s; [] if nothing. After ``ended``: only []."""
        ...

    def stop(self) -> None:
        """Make ``read`` return and end soon; safe from any thread, more than once."""
        ...

    def close(self) -> None:
        """Let go of port, thread and files. Safe more than once."""
        ...
