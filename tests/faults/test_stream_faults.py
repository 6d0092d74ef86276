"""Faults of board and line, 20 times each: nothing plausible and wrong is shown or recorded, and no more is lost than was hit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from balance.live_state import Described
from balance.protocols import ALL
from balance.recording import read_recording
from balance.session import Session
from drivers import wire
from drivers.errors import WrongBoard
from tests.faults import stream as s

TIMES = 20


@pytest.mark.parametrize(
    ("name", "fault", "most"), list(s.stream_items()), ids=lambda v: v if isinstance(v, str) else ""
)
def test_stream_faults(name: str, fault: s.Fault, most: int) -> None:
    for seed in range(TIMES):
        outcome = s.in_a_new_folder(fault(s.clean(), np.random.default_rng([seed, len(name)])))
        assert outcome.wrong == 0, seed
        assert outcome.implausible == 0, seed
        assert 0 <= outcome.lost <= most, seed


def test_without_a_fault_nothing_is_lost() -> None:
    outcome = s.in_a_new_folder(s.lumps(s.clean()))
    assert (outcome.lost, outcome.wrong, outcome.implausible) == (0, 0, 0)


def test_another_version_is_refused() -> None:
    chunks = s.lumps(s.clean())
    chunks[0] = (chunks[0][0], s._hello(major=2) + chunks[0][1].split(b"\0", 1)[1])
    with pytest.raises(WrongBoard):
        s.Line(chunks).open()


def test_no_hello_at_all() -> None:
    with pytest.raises(WrongBoard):
        s.Line([(0.1 * k, bytes(range(1, 200))) for k in range(40)]).open()


def test_resets(tmp_path: Path) -> None:
    """The recording goes on on the host's estimate of time; that, and the new boot, are said; only the message that was cut is lost."""
    for seed in range(TIMES):
        chunks = s.resets(s.clean(), np.random.default_rng(seed))
        found = wire.Decoder().feed(b"".join(data for _, data in chunks))
        sent = [tuple(c) for m in found if isinstance(m, wire.SamplesBatch) for c in m.counts.tolist()]
        session = Session(
            s.Line(chunks),
            s.FLOOR.rig,
            s.FLOOR.stance,
            s.FLOOR.calibration,
            described=Described(),
            out=tmp_path,
        )
        session.open()
        folder = session.begin_trial(ALL["free"])
        session.start()
        assert session.finished.wait(60)
        session.stop()
        recording = read_recording(folder)
        assert [tuple(row) for row in recording.samples.counts.tolist()] == sent[
            4:
        ]  # a trial begins when the converters have settled
        assert (np.diff(recording.samples.board_us) > 0).all()
        details = " ".join(event.detail for event in recording.events)
        assert "restarted" in details
        assert "are added to the board's own clock" in details
