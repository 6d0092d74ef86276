"""`bandstand live --terminal`, as somebody at a terminal sees it, on the firmware's binary behind a socket."""

from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from balance.command_line.terminal_view import column
from drivers.simulated_board.lines import serve_tcp
from tests.command_line.test_commands import FILES
from tests.firmware.test_end_to_end import FLOOR, a_person, board_under

pytestmark = [
    pytest.mark.real_time,
    pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals"),
]
GRAVITY = 9.80665
PICTURES = 8
CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    """Of 80 × 24: our side of it, and the program's."""
    import fcntl
    import pty
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    yield ours, theirs
    os.close(ours)
    os.close(theirs)


def pictures(shown: bytes) -> list[list[str]]:
    """The whole pictures, one after the other, as lines; each is drawn over the one before by going up."""
    pieces = re.split(r"(?:\x1b\[2K\x1b\[1A)+\x1b\[2K", shown.decode("utf-8", "replace"))
    return [[line.rstrip("\r") for line in CONTROL.sub("", piece).split("\n")] for piece in pieces[:-1]]


def test_live_in_the_terminal_shows_what_the_person_does(terminal: tuple[int, int], tmp_path: Path) -> None:
    import termios

    ours, theirs = terminal
    person = a_person()
    board = board_under(person)
    before = termios.tcgetattr(theirs)
    shown = b""
    with serve_tcp(board, 60.0) as server:
        line = [
            sys.executable,
            "-m",
            "balance",
            "live",
            "--terminal",
            "--no-tones",
            "--port",
            server.address,
            *FILES,
        ]
        line += ["--body-weight-n", str(person.body_weight_n), "--out", str(tmp_path)]
        with subprocess.Popen(line, stdin=theirs, stdout=theirs, stderr=subprocess.PIPE) as process:
            while sum("from the heel edge" in "\n".join(one) for one in pictures(shown)) < PICTURES:
                assert process.poll() is None
                shown += os.read(ours, 65536)
            os.write(ours, b"q")
            _, said = process.communicate(timeout=30)
    shown_s = board.now_s
    board.close()
    assert (process.returncode, said) == (0, b"")
    assert termios.tcgetattr(theirs) == before

    seen = [one for one in pictures(shown) if "from the heel edge" in "\n".join(one)]
    truth = person.truth(np.arange(0.0, shown_s, 0.02))
    body_ap_mm = truth.cop_mm["body"][:, 0]
    for rows in seen:
        assert len(rows) <= 24
        assert max(map(len, rows)) <= 80
        text = "\n".join(rows)
        assert "link ok, 80 readings a second" in text
        for side in ("left", "right"):
            load = re.search(rf"{side} leg +(\d+) kg (\d+) % of body weight", text)
            place = re.search(rf"body line {side}: .*?(\d+) mm from the heel edge \(± (\d+)\)", text)
            assert load
            assert place
            true_kg = truth.load_n[side] / GRAVITY
            assert true_kg.min() - 1 <= int(load[1]) <= true_kg.max() + 1
            true_pct = 100 * truth.load_n[side] / person.body_weight_n
            assert true_pct.min() - 1 <= int(load[2]) <= true_pct.max() + 1
            foot = FLOOR.stance.left_foot if side == "left" else FLOOR.stance.right_foot
            ap_mm = foot.heel_edge_ap_mm + int(place[1]) * np.cos(np.radians(foot.toe_out_deg))
            assert body_ap_mm.min() - 1 <= ap_mm <= body_ap_mm.max() + 1
            lane = rows[rows.index(f"{side} shoe") + 1]
            assert abs(lane.index("#") - column(ap_mm)) <= 1
