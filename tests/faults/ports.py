"""A board that is unplugged and plugged in again while it is read."""

from __future__ import annotations

import time

import numpy as np

from drivers.samples import LinkEvent, SampleBlock
from drivers.serial_board import SerialBoard
from drivers.simulated_board.lines import serve_tcp
from tests.drivers.test_sources import a_board


def replugged(times: int, seed: int = 1) -> tuple[list[float], list[LinkEvent]]:
    """Seconds from each replug to the first block, and the link's events. Silences of 0.1 to 1.5 s, at random moments of the stream.

    The board starts anew each time and calls it the same boot, as one that cannot count its boots does.
    """
    rng, took, events = np.random.default_rng(seed), list[float](), list[LinkEvent]()
    with serve_tcp(a_board()) as server:
        port = int(server.address.rsplit(":", 1)[1])
        board = SerialBoard(server.address)
        board.open()
        _read_until(board, events, time.monotonic() + 1.3)
    try:
        for _ in range(times):
            _read_until(board, events, time.monotonic() + float(rng.uniform(0.1, 1.5)))
            with serve_tcp(a_board(), port=port):
                start = time.monotonic()
                while not any(isinstance(item, SampleBlock) for item in _noted(board, events)):
                    assert time.monotonic() - start < 20
                took.append(time.monotonic() - start)
                _read_until(board, events, time.monotonic() + float(rng.uniform(1.2, 1.6)))
    finally:
        board.stop()
        board.close()
    return took, events


def _noted(board: SerialBoard, events: list[LinkEvent]) -> list[SampleBlock | LinkEvent]:
    items = board.read()
    events += [item for item in items if isinstance(item, LinkEvent)]
    return items


def _read_until(board: SerialBoard, events: list[LinkEvent], end_s: float) -> None:
    while time.monotonic() < end_s:
        _noted(board, events)
