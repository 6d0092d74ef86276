"""Makes a study of many recordings quickly: `python -m tests.benchmarks.make_study FOLDER [1930]`; one simulated minute at 100 Hz, each
time with other noise and another place, so that no two are alike."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from balance.recording import Recorder
from balance.trial import Subject
from drivers.samples import SampleBlock, concatenate
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_recording import a_trial
from tests.benchmarks.__main__ import stretched
from tests.drivers.test_sources import a_board, drain

COUNT, SUBJECTS = 1930, 163


def make(folder: Path, count: int = COUNT) -> None:
    """``count`` recordings of 60 s at 100 Hz in the usual layout."""
    source = SimulatedSource(a_board(), 80.0)
    source.open()
    base = stretched(concatenate(drain(source)[0])[8:6008], 100.0)
    rng = np.random.default_rng(1)
    per_n = 1 / np.array([abs(cell.newton_per_count) for cell in a_trial().calibration.channels])
    for k in range(count):
        counts = base.counts.copy()
        wander = np.cumsum(rng.standard_normal((len(base), len(per_n))), axis=0) * 0.05
        counts[:, : len(per_n)] += np.round(
            (rng.standard_normal(wander.shape) * 0.2 + wander) * per_n
        ).astype(counts.dtype)
        block = SampleBlock(base.sequence, base.board_us, base.status, counts, base.dt_us)
        code = f"S{k % SUBJECTS:03d}"
        changes = {
            "rate_hz": 100.0, "protocol": "quiet standing", "placing": k // SUBJECTS + 1, "subject": Subject(code=code, body_weight_n=627.6, height_m=1.7),
            "conditions": {"eyes": "closed" if k // SUBJECTS % 2 else "open"}, "started": f"2026-03-02T10:{k % 60:02d}:00+01:00",
        }  # fmt: skip
        trial = a_trial().model_copy(update=changes)
        recorder = Recorder(folder / code / "2026-03-02" / f"{k // SUBJECTS + 1:02d}-quiet-standing", trial)
        recorder.put(block)
        recorder.close()


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else COUNT)
