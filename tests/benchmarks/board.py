"""The board and its line: reconnection, and what the firmware leaves of its processor."""

from __future__ import annotations

import numpy as np

from tests.benchmarks.__main__ import show


def reconnect() -> None:
    """Unplugged and plugged in again at random moments."""
    from tests.faults.ports import replugged

    took, _ = replugged(20)
    show(
        "readings again after a replug, 20 times",
        f"p50 {np.median(took):.2f} s, p95 {np.percentile(took, 95):.2f} s",
        "p95 ≤ 3 s",
        "",
    )


def firmware() -> None:
    """On the simulated microcontroller, with the stream on."""
    from tests.firmware.test_on_the_microcontroller import a_board, started

    for kind in ("small", "large"):
        board = a_board(kind)
        started(board, 10.0)
        show(f"firmware, {board.channels} channels at 80/s: spare processor", f"{100 * board.spare:.0f} %", "≥ 50 %", f"longest clock pulse {1e6 * board.longest_clock_s:.1f} µs of 60")  # fmt: skip
        board.close()
