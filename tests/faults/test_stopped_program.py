"""`record` is stopped for some seconds and goes on (a machine asleep, a job put aside), while the board goes on sending."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from balance.analysis import findings
from balance.recording import read_recording
from drivers import wire
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.lines import serve_tcp
from tests.command_line.test_commands import FILES
from tests.drivers.test_sources import a_board

pytestmark = [
    pytest.mark.real_time,
    pytest.mark.skipif(os.name != "posix", reason="stopping and continuing a program is POSIX's"),
]
LONGEST_S = 60.0  # then the board is gone, and whoever still waits fails


@dataclass
class Kept(SimulatedBoard):
    """Keeps what it made, whether the line took it or not."""

    made: bytearray = field(default_factory=bytearray)

    def advance(self, to_s: float) -> bytes:
        data = super().advance(to_s)
        self.made += data
        return data

    def rows(self) -> dict[int, list[int]]:
        """Sequence → counts."""
        found: dict[int, list[int]] = {}
        for message in wire.Decoder().feed(bytes(self.made)):
            if isinstance(message, wire.SamplesBatch):
                found |= dict(zip(message.sequence.tolist(), message.counts.tolist(), strict=True))
        return found


def stopped(
    board: Kept, out: Path, around_s: float, dropped: int = 0, buffer: int | None = None
) -> tuple[Path, int, int]:
    """The recording of a program that is stopped for 1.6 s, or until the board dropped so many; the board's counter at the stop and when it
    goes on. around_s: so much is recorded before and after · buffer: what the board's side of the line holds, bytes."""
    around = round(around_s * board.rate_hz)
    with serve_tcp(board, LONGEST_S) as server:
        if buffer is not None:  # the connection inherits it
            server._listening.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, buffer)
        line = [sys.executable, "-m", "balance", "record", "--protocol", "free", "--port", server.address, *FILES, "--seconds", "600",
                "--out", str(out), "--subject", "R7T"]  # fmt: skip
        # In a session of its own: a system wakes what is stopped when the shell that started the tests goes.
        with subprocess.Popen(
            line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
        ) as process:
            assert process.stderr is not None
            folder = Path(process.stderr.readline().strip().split("recording into ")[1])

            def wait(done: Callable[[], bool]) -> None:
                while not done():
                    assert process.poll() is None
                    assert not server.finished.wait(0.01)

            samples = folder / "samples.csv"
            wait(lambda: samples.exists() and samples.read_bytes().count(b"\n") > around)
            process.send_signal(signal.SIGSTOP)
            os.waitid(os.P_PID, process.pid, os.WSTOPPED | os.WNOWAIT)
            before, least = board._sequence, board.dropped + dropped
            wait(lambda: board._sequence > before + 1.6 * board.rate_hz and board.dropped >= least)
            after = board._sequence
            process.send_signal(signal.SIGCONT)
            # It has caught up when what was sent later is in the file.
            wait(lambda: _last_sequence(samples) > after + around)
            process.send_signal(signal.SIGINT)
            _, said = process.communicate(timeout=30)
        assert process.returncode == 0, said
    return folder, before, after


def _last_sequence(samples: Path) -> int:
    """Of the last whole line."""
    return int(samples.read_bytes().splitlines()[-2].split(b",", 1)[0])


def test_nothing_is_missed_that_the_line_kept(tmp_path: Path) -> None:
    board = Kept(a_board().loads)
    folder, before, after = stopped(board, tmp_path, 0.3)
    recording = read_recording(folder)
    block, sent = recording.samples, board.rows()
    assert recording.trial.state == "complete"
    assert block.sequence[0] < before < after < block.sequence[-1]
    assert (np.diff(block.sequence) == 1).all()
    assert (np.diff(block.board_us) == 12_500).all()
    assert block.counts.tolist() == [sent[number] for number in block.sequence.tolist()]
    assert [event.detail for event in recording.events] == []


def test_what_the_line_did_not_keep_is_a_gap_that_is_said(tmp_path: Path) -> None:
    """A thousand a second, and little room on the line: the board drops, as a real one would."""
    board = Kept(a_board().loads, rate_hz=1000.0)
    # Its STATUS, which tells what it dropped, comes each second; the first one is what later ones are held against.
    folder, before, _ = stopped(board, tmp_path, 1.1, dropped=300, buffer=4096)
    recording = read_recording(folder)
    block, sent = recording.samples, board.rows()
    steps = np.diff(block.sequence)
    gaps = np.flatnonzero(steps > 1)
    assert recording.trial.state == "complete"
    assert block.counts.tolist() == [sent[number] for number in block.sequence.tolist()]
    assert (np.diff(block.board_us) == steps * 1000).all()  # the time over a gap is the board's
    missing = int((steps - 1).sum())
    assert missing >= 300
    assert block.sequence[gaps].max() >= before
    details = [event.detail for event in recording.events]
    assert any("dropped" in detail for detail in details)
    assert not any("rate pin" in detail or "silent" in detail for detail in details), details
    assert findings(recording, basic=True)["time"]["lost_samples"] == missing
