"""The line: what each baud carries beside what the program decodes; and, with a core kept busy by somebody else, how late a centre of
pressure is and whether a frame is lost."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from balance.live_state import Described
from balance.monitor import Monitor
from balance.protocols import ALL
from balance.reading import Reading
from balance.session import Session
from drivers import wire
from drivers.samples import SampleBlock
from drivers.serial_board import SerialBoard
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.lines import serve_tcp
from tests.benchmarks.__main__ import FLOOR, seconds, show
from tests.drivers.test_sources import a_board

BAUDS = (115_200, 230_400, 500_000, 1_000_000)
BITS_A_BYTE = 10
SECONDS = 20.0
MESSAGES = 20_000


def ceilings() -> None:
    """Whole messages, with checksum, stuffing and delimiter, and a STATUS each second."""
    status = len(wire.encode(wire.Status(0, 0, 0, 0, 0, 0)))
    decoded = {channels: decoded_a_second(channels) for channels in (6, 10)}
    for baud in BAUDS:
        rates = []
        for channels in (6, 10):
            with_dt = len(wire.encode_samples(0, 0, 0, [0] * channels, [0] * channels, [0] * channels))
            without = len(wire.frame(bytes(wire.MAX_PAYLOAD))) - wire.MAX_PAYLOAD + 8 + 4 * channels
            rates += [(baud // BITS_A_BYTE - status) // size for size in (with_dt, without)]
        show(
            f"{baud} baud: SAMPLES a second that the line carries",
            f"6 channels {rates[0]}, 10 channels {rates[2]}; without dt {rates[1]}, {rates[3]}",
            "80",
            f"decoded: {decoded[6] / rates[0]:.0f} and {decoded[10] / rates[2]:.0f} times as many",
        )
    show("decoded a second, 6 channels, 10 channels", f"{decoded[6]:,.0f}, {decoded[10]:,.0f}", "", "")


def decoded_a_second(channels: int) -> float:
    """Messages, handed over in lumps of 4,096 bytes."""
    counts = np.random.default_rng(1).integers(-(2**23), 2**23, (MESSAGES, channels)).tolist()
    good, dt = [0] * channels, [-5] * channels
    data = b"".join(wire.encode_samples(i, i * 1000, 0, good, dt, row) for i, row in enumerate(counts))

    def work() -> None:
        decoder = wire.Decoder()
        for start in range(0, len(data), 4096):
            decoder.feed(data[start : start + 4096])
        assert decoder.skipped == decoder.pending == 0

    return MESSAGES / seconds(work)


class Timed(Monitor):
    """Notes when each sample's points were there."""

    done_s: dict[int, float]

    def feed(self, block: SampleBlock) -> Reading:
        reading = super().feed(block)
        now_s = time.monotonic()
        self.done_s.update(dict.fromkeys(reading.sequence.tolist(), now_s))
        return reading


def serve() -> None:
    """The board, in a process of its own: says its address, serves until its input ends, then when each frame was handed to the line, on the
    machine's one monotonic clock."""
    board = SimulatedBoard(a_board().loads)
    handed_s: dict[int, float] = {}
    with serve_tcp(board) as server:
        hand_over = server._write

        def noted(fd: int, out: bytes) -> None:
            now_s = time.monotonic()
            hand_over(fd, out)
            for number in range(board._sequence - 1, -1, -1):
                if number in handed_s:
                    break
                handed_s[number] = now_s

        server._write = noted
        print(server.address, flush=True)
        sys.stdin.read()
    print(json.dumps(handed_s))


@contextlib.contextmanager
def busy(cores: int) -> Iterator[None]:
    """So many processes that go round in a circle."""
    running = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(cores)]
    try:
        yield
    finally:
        for process in running:
            process.kill()
            process.wait()


def one_run(out: Path | None) -> tuple[np.ndarray, int, int]:
    """Delays, ms; frames lost; frames sent while it ran. out: where it is recorded."""
    line = [sys.executable, "-c", "from tests.benchmarks.line import serve; serve()"]
    with subprocess.Popen(line, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        board = SerialBoard(process.stdout.readline().strip())
        session = Session(board, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(), out=out)
        session.open()
        monitor = Timed(FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=80.0, body_weight_n=627.6)
        monitor.done_s = {}
        session._monitor = monitor
        if out is not None:
            session.begin_trial(ALL["free"])
        session.start()
        session.finished.wait(SECONDS)
        session.stop()
        said, _ = process.communicate()
    handed_s = {int(number): at for number, at in json.loads(said).items()}
    first, last = min(monitor.done_s), max(monitor.done_s)
    sent = [number for number in handed_s if first <= number <= last]
    lost = len(set(sent) - set(monitor.done_s))
    delays = np.array([monitor.done_s[n] - handed_s[n] for n in sent if n in monitor.done_s]) * 1000
    return delays[80:], lost, len(sent)


def under_load() -> None:
    for cores in (0, 1):
        for recorded in (False, True):
            with busy(cores), tempfile.TemporaryDirectory() as scratch:
                delays, lost, sent = one_run(Path(scratch) if recorded else None)
            show(
                f"bytes to the centre of pressure, 80/s × 10 channels, {cores} of the cores kept busy, "
                + ("recorded" if recorded else "not recorded"),
                f"p50 {np.median(delays):.2f} ms, p99 {np.percentile(delays, 99):.1f} ms, most {delays.max():.0f} ms; {lost} of {sent} frames lost",
                "0 lost",
                "",
            )
