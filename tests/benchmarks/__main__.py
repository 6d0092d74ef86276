"""``python -m tests.benchmarks``: speed and memory, each beside a baseline measured in the same run."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from balance.command_line.setting_up import demo_floor
from balance.monitor import Monitor
from balance.recording.reading import read_samples
from drivers import wire
from drivers.samples import SampleBlock, concatenate
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_recording import a_block, a_trial
from tests.drivers.test_sources import a_board, drain

FLOOR = demo_floor()


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """The best of some runs."""
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def show(name: str, value: str, target: str, baseline: str) -> None:
    print(f"| {name} | {value} | {target} | {baseline} |")


def decode() -> None:
    rng = np.random.default_rng(1)
    counts = rng.integers(-(2**23), 2**23, (20_000, 10)).tolist()
    data = b"".join(wire.encode_samples(i, i * 1000, 0, [0] * 10, [-5] * 10, c) for i, c in enumerate(counts))
    chunks = [data[i : i + 4096] for i in range(0, len(data), 4096)]

    def ours() -> None:
        decoder = wire.Decoder()
        for chunk in chunks:
            decoder.feed(chunk)

    def byte_by_byte() -> None:
        decoder = wire.Decoder()
        for i in range(0, len(data) // 10):
            decoder.feed(data[i : i + 1])

    ours_s, naive_s = seconds(ours), seconds(byte_by_byte, 1) * 10
    show(
        "decode, 10 channels, messages/s",
        f"{20_000 / ours_s:,.0f}",
        "≥ 100,000",
        f"{20_000 / naive_s:,.0f} fed byte by byte",
    )


def stretched(block: SampleBlock, rate_hz: float) -> SampleBlock:
    us = np.rint(np.arange(len(block)) * 1e6 / rate_hz).astype(np.int64)
    return SampleBlock(np.arange(len(block)), us, block.status, block.counts)


def live() -> None:
    source = SimulatedSource(a_board(), 60.0)
    source.open()
    block = concatenate(drain(source)[0])[8:]
    for rate, block_s, target in ((80.0, 0.1, "≥ 200 ×"), (80.0, 1.0, "≥ 200 ×"), (1000.0, 0.02, "≥ 20 ×")):
        samples = stretched(block, rate)
        size = round(rate * block_s)

        def run(samples: SampleBlock = samples, rate: float = rate, size: int = size) -> None:
            monitor = Monitor(FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=rate, body_weight_n=627.6)
            for i in range(0, len(samples), size):
                monitor.feed(samples[i : i + size])

        taken = seconds(run, 5)
        show(
            f"live chain with uncertainty, {rate:g}/s, in blocks of {block_s:g} s",
            f"{len(samples) / rate / taken:.0f} × real time",
            target,
            "1 × is real time",
        )


def uncertainty() -> None:
    """The time spent in working out uncertainties and probabilities, ten times a second, over that of all the rest of the chain."""
    from unittest.mock import patch

    from balance import monitor as live_chain
    from balance.uncertainty import Sensitivities

    source = SimulatedSource(a_board(), 60.0)
    source.open()
    samples = stretched(concatenate(drain(source)[0])[8:], 1000.0)
    spent, inside = [0.0], [False]

    def timed(function: Callable[..., object]) -> Callable[..., object]:
        def run(*arguments: object, **named: object) -> object:
            if inside[0]:
                return function(*arguments, **named)
            inside[0], start = True, time.perf_counter()
            try:
                return function(*arguments, **named)
            finally:
                inside[0] = False
                spent[0] += time.perf_counter() - start

        return run

    methods = {name: timed(getattr(Sensitivities, name)) for name in ("__init__", "points", "covariance_mm2", "u2", "total", "body_weight")}  # fmt: skip
    functions = {name: timed(getattr(live_chain, name)) for name in ("line_uncertainty", "against_the_feet_mm2", "probability_over")}  # fmt: skip
    parts, rest_s = [], []
    with patch.multiple(Sensitivities, **methods), patch.multiple(live_chain, **functions):
        for _ in range(25):
            spent[0], start = 0.0, time.perf_counter()
            monitor = Monitor(FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=1000.0, body_weight_n=627.6)
            for i in range(0, len(samples), 20):
                monitor.feed(samples[i : i + 20])
            rest_s.append(time.perf_counter() - start - spent[0])
            parts.append(spent[0] / rest_s[-1])
    show("uncertainty on top of the live chain at 1 kHz × 10, median of 25", f"{100 * np.median(parts):.0f} %", "≤ 30 %", f"{1000 * np.median(rest_s):.0f} ms for the rest of {len(samples)} samples")  # fmt: skip


def budget() -> None:
    from balance.analysis import findings
    from balance.recording.reading import Recording

    source = SimulatedSource(a_board(), 80.0)
    source.open()
    samples = stretched(concatenate(drain(source)[0])[8:6008], 100.0)
    trial = a_trial().model_copy(update={"rate_hz": 100.0, "state": "complete"})
    recording = Recording(Path(), "x", trial, samples, [])
    findings(recording, budgets=True)
    plain, with_budget = (
        seconds(lambda: findings(recording), 5),
        seconds(lambda: findings(recording, budgets=True), 5),
    )
    show("a budget of 60 s at 100 Hz", f"{1000 * (with_budget - plain):.1f} ms", "≤ 50 ms", f"{1000 * plain:.0f} ms for the findings without")  # fmt: skip


def day() -> None:
    """Twelve trials of 60 s at 100 Hz: the check, and the report's page."""
    import contextlib
    import io

    from balance.command_line.report import write_page
    from balance.day.reading import read_day
    from balance.day.standing_check import standing_check
    from balance.recording import Recorder

    source = SimulatedSource(a_board(), 80.0)
    source.open()
    samples = stretched(concatenate(drain(source)[0])[8:6008], 100.0)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "B1" / "2026-03-02"
        for k in range(12):
            protocol = "weight shift" if k == 11 else "quiet standing"
            trial = a_trial().model_copy(update={"rate_hz": 100.0, "protocol": protocol, "started": f"2026-03-02T10:{k:02d}:00+01:00", "placing": k + 1})  # fmt: skip
            recorder = Recorder(folder / f"{k + 1:02d}-{protocol.replace(' ', '-')}", trial)
            recorder.put(samples)
            recorder.close()
        read = seconds(lambda: read_day(folder), 2)
        check = seconds(lambda: standing_check(read_day(folder)), 2)
        with contextlib.redirect_stderr(io.StringIO()):
            page = seconds(lambda: write_page(folder), 2)
    show(
        "standing check of 12 trials of 60 s at 100 Hz",
        f"{check:.1f} s",
        "≤ 2 s",
        f"{read:.1f} s to read and analyse them",
    )
    show(
        "report of 12 trials of 60 s at 100 Hz",
        f"{page:.1f} s",
        "≤ 6 s",
        f"{read:.1f} s to read and analyse them",
    )


def csv_read() -> None:
    import pandas as pd

    trial = a_trial()
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "samples.csv"
        block = a_block(288_000, dt=False)
        table = np.column_stack([block.sequence, block.board_us, block.status, block.counts])
        head = "sequence,board_us,status," + ",".join(f"ch{i}" for i in range(10))
        pd.DataFrame(table).to_csv(path, index=False, header=head.split(","))
        ours = seconds(lambda: read_samples(path, trial, torn=False), 2)
        base = seconds(lambda: pd.read_csv(path), 2)
    show(
        "1 h of CSV at 80/s, 10 channels, read",
        f"{ours:.2f} s",
        "≤ 0.5 s",
        f"{base:.2f} s pandas alone, without checks",
    )


def analyse_hour() -> None:
    from balance.analysis import findings
    from balance.recording.reading import Recording

    source = SimulatedSource(a_board(), 60.0)
    source.open()
    block = concatenate(drain(source)[0])[8:]
    many = np.tile(block.counts, (1 + 360_000 // len(block), 1))[:360_000]
    n = len(many)
    samples = SampleBlock(np.arange(n), np.arange(n) * 10_000, np.zeros(n, dtype=np.int64), many)
    trial = a_trial().model_copy(update={"rate_hz": 100.0, "state": "complete"})
    recording = Recording(Path(), "x", trial, samples, [])
    show("1 h at 100/s through the findings", f"{seconds(lambda: findings(recording), 1):.1f} s", "≤ 3 s", "")


def latency() -> None:
    block = stretched(_a_minute(), 80.0)
    monitor = Monitor(FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=80.0, body_weight_n=627.6)
    times = []
    for i in range(2000):
        start = time.perf_counter()
        monitor.feed(block[i : i + 1])
        times.append((time.perf_counter() - start) * 1000)
    times.sort()
    show(
        "a sample's lines after its block, 80/s",
        f"p50 {times[1000]:.2f} ms, p99 {times[1980]:.1f} ms",
        "p50 ≤ 0.5 ms",
        "",
    )


def _a_minute() -> SampleBlock:
    source = SimulatedSource(a_board(), 60.0)
    source.open()
    return concatenate(drain(source)[0])[8:]


def frames_lost() -> None:
    from drivers.serial_board import SerialBoard
    from drivers.simulated_board.board import SimulatedBoard
    from drivers.simulated_board.lines import serve_pty

    board = SimulatedBoard(a_board().loads, rate_hz=1000.0)
    with serve_pty(board) as server:
        source = SerialBoard(server.address)
        source.open()
        blocks: list[SampleBlock] = []
        end = time.monotonic() + 60
        while time.monotonic() < end:
            blocks += [item for item in source.read() if isinstance(item, SampleBlock)]
        source.stop()
        source.close()
    whole = concatenate(blocks)
    lost = int(whole.sequence[-1] - whole.sequence[0]) + 1 - len(whole)
    show(
        "samples lost, 1000/s × 10 channels, 60 s, pseudo-terminal",
        f"{lost} of {len(whole)}",
        "0",
        f"{board.dropped} dropped by the board",
    )


def help_time() -> None:
    line = [sys.executable, "-m", "balance", "--help"]
    ours = seconds(lambda: subprocess.run(line, capture_output=True, check=True), 5)
    base = seconds(
        lambda: subprocess.run([sys.executable, "-c", "import typer"], capture_output=True, check=True), 5
    )
    show("bandstand --help, warm", f"{ours:.2f} s", "≤ 0.3 s", f"{base:.2f} s import typer")


def main() -> None:
    from tests.benchmarks.board import firmware, reconnect
    from tests.benchmarks.line import ceilings, under_load
    from tests.benchmarks.study import measures, study
    from tests.benchmarks.window import first_frame, key_to_screen, memory, refresh, to_repaint

    print("| what | measured | target | baseline |\n|---|---|---|---|")
    for bench in (
        decode,
        live,
        uncertainty,
        csv_read,
        analyse_hour,
        budget,
        day,
        latency,
        refresh,
        to_repaint,
        key_to_screen,
        memory,
        first_frame,
        frames_lost,
        help_time,
        measures,
        study,
        reconnect,
        firmware,
        ceilings,
        under_load,
    ):
        bench()


if __name__ == "__main__":
    main()
