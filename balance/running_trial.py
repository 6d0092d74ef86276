"""A trial that is being recorded: what of each block belongs to it, its cues as they fall due, its end; and its header."""

from __future__ import annotations

import datetime
from collections import deque
from collections.abc import Sequence

import numpy as np

from balance import __version__
from balance.calibration import Calibration
from balance.live_state import Described
from balance.protocols import Cue, Protocol
from balance.recording import Recorder
from balance.rig import Rig
from balance.stance import Stance
from balance.trial import Trial
from drivers.samples import FLAG_SETTLING, BoardInfo, SampleBlock


class RunningTrial:
    """Begins with the first sample that the converters have settled for, and lasts ``planned_s``; None until stopped."""

    def __init__(self, recorder: Recorder, protocol: Protocol, planned_s: float | None) -> None:
        self.recorder, self.protocol, self.planned_s = recorder, protocol, planned_s
        self._first_us: int | None = None
        self._last_us = 0
        self._cues = deque(protocol.cues)

    @property
    def seconds(self) -> float:
        """Recorded so far."""
        return 0.0 if self._first_us is None else max(self._last_us - self._first_us, 0) * 1e-6

    @property
    def coming(self) -> tuple[str, float] | None:
        """The next cue's detail, and in how many seconds."""
        return (self._cues[0].detail, max(self._cues[0].at_s - self.seconds, 0.0)) if self._cues else None

    def take(self, block: SampleBlock) -> tuple[bool, Sequence[Cue]]:
        """Hands the block on to the recorder; whether the trial is over, and the cues that fell due."""
        if self._first_us is None:
            settling = np.flatnonzero(block.status & FLAG_SETTLING)
            block = block[int(settling[-1]) + 1 :] if len(settling) else block
            if len(block) == 0:
                return False, ()
            self._first_us = int(block.board_us[0])
        over = False
        if self.planned_s is not None:
            last = self._first_us + round(self.planned_s * 1e6)
            keep = int(np.searchsorted(block.board_us, last, side="left"))
            over = keep < len(block)
            block = block[:keep]
        due = []
        while len(block) and self._cues and block.board_us[-1] >= self._first_us + self._cues[0].at_s * 1e6:
            cue = self._cues.popleft()
            self.recorder.event(self._first_us + round(cue.at_s * 1e6), cue.kind, cue.detail)
            due.append(cue)
        if len(block):
            self._last_us = int(block.board_us[-1])
            self.recorder.put(block)
        return over or self.recorder.problem is not None, due


def header_of(
    described: Described, rig: Rig, stance: Stance, calibration: Calibration, board: BoardInfo, protocol: Protocol, now: datetime.datetime
) -> Trial:  # fmt: skip
    """What trial.json says of a trial that begins now."""
    return Trial(
        schema=1,
        software=f"bandstand {__version__}",
        state="recording",
        protocol=protocol.name,
        protocol_settings=described.protocol_settings,
        started=now.isoformat(timespec="seconds"),
        subject=described.subject,
        orthosis=described.orthosis,
        placing=described.placing,
        posture=described.posture,
        touched=described.touched,
        conditions=described.conditions,
        notes=described.notes,
        rig=rig,
        stance=stance,
        calibration=calibration,
        board={name: getattr(board, name) for name in board.__slots__},
        rate_hz=board.rate_hz,
    )
