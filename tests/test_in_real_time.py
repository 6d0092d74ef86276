"""In real time over a real pseudo-terminal: few, one after the other, and last. Nothing here holds a limit on speed."""

from __future__ import annotations

import dataclasses
import json
import os
from pathlib import Path

import numpy as np
import pytest

from balance.command_line.setting_up import demo_floor
from balance.live_state import Described
from balance.monitor import Monitor
from balance.protocols import Protocol
from balance.reading import Reading, Snapshot
from balance.recording import read_recording
from balance.session import Session
from balance.trial import Subject
from drivers.recorded_board import RecordedBoard
from drivers.samples import SampleBlock
from drivers.serial_board import SerialBoard
from tests.drivers.test_sources import INFO, a_board, drain

pytestmark = [
    pytest.mark.real_time,
    pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals"),
]
FLOOR = demo_floor()


class Watched(Monitor):
    """Keeps what it handed on."""

    readings: list[Reading]

    def feed(self, block: SampleBlock) -> Reading:
        reading = super().feed(block)
        self.readings.append(reading)
        return reading


def a_monitor(touched: bool = False) -> Watched:
    monitor = Watched(
        FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=80.0, body_weight_n=627.6, touched=touched
    )
    monitor.readings = []
    return monitor


def numbers(readings: list[Reading]) -> list[np.ndarray]:
    names = ("left", "right", "feet", "body")
    return [
        *(np.concatenate([r.point_mm[name] for r in readings]) for name in names),
        *(np.concatenate([r.load_n[part] for r in readings]) for part in readings[0].load_n),
        *(np.concatenate([r.position_pct[line] for r in readings]) for line in readings[0].position_pct),
    ]


def snapshots(readings: list[Reading]) -> list[dict[str, object]]:
    def plain(one: Snapshot) -> dict[str, object]:
        return {**dataclasses.asdict(one), "support_mm": one.support_mm.tolist()}

    return [plain(one) for r in readings for one in r.snapshots]


def test_live_equals_replay_to_the_bit(tmp_path: Path) -> None:
    """Bytes through a pseudo-terminal, seen live and recorded; replayed, and cut anew: the same bits."""
    from drivers.simulated_board.lines import serve_pty

    described = Described(subject=Subject(code="R7T", body_weight_n=627.6))
    with serve_pty(a_board()) as server:
        session = Session(
            SerialBoard(server.address), FLOOR.rig, FLOOR.stance, FLOOR.calibration,
            described=described, out=tmp_path,
        )  # fmt: skip
        session.open()
        live = session._monitor = a_monitor()
        folder = session.begin_trial(Protocol("free", 6.0), 6.0)
        session.start()
        assert session.trial_over.wait(60)
        session.stop()
    read = read_recording(folder)
    assert len(read.samples) == 480
    first, last = int(read.samples.sequence[0]), int(read.samples.sequence[-1])

    def kept(readings: list[Reading]) -> list[np.ndarray]:
        sequence = np.concatenate([r.sequence for r in readings])
        here = (sequence >= first) & (sequence <= last)
        return [values[here] for values in numbers(readings)]

    whole = a_monitor()
    whole.feed(read.samples)
    for a, b in zip(kept(live.readings), numbers(whole.readings), strict=True):
        assert np.array_equal(a, b, equal_nan=True)
    seen = [one for one in snapshots(live.readings) if first <= int(str(one["sequence"])) <= last]
    assert seen == snapshots(whole.readings)

    replayed = RecordedBoard(read.samples, INFO, speed=None)
    replayed.open()
    for blocks in (drain(replayed)[0], [read.samples[i : i + 7] for i in range(0, 480, 7)], [read.samples[i : i + 1] for i in range(480)]):  # fmt: skip
        again = a_monitor()
        for block in blocks:
            again.feed(block)
        for a, b in zip(numbers(again.readings), numbers(whole.readings), strict=True):
            assert np.array_equal(a, b, equal_nan=True)
        assert snapshots(again.readings) == snapshots(whole.readings)

    board = json.loads((folder / "trial.json").read_text())["board"]
    assert abs(board["clock_ppm"]) < 5000  # both clocks are this machine's; loose, for a busy one
    assert board["clock_seconds"] == pytest.approx(6, abs=0.5)
