"""Which ports have a board on them, and what it says of itself."""

from __future__ import annotations

import contextlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import serial
from serial.tools import list_ports

from drivers.assembly import board_info
from drivers.errors import BoardError
from drivers.samples import BoardInfo
from drivers.serial_board import await_hello, open_port

AT_ONCE = 16


@dataclass(frozen=True)
class Found:
    """One port: the board on it, or why there is none."""

    port: str
    info: BoardInfo | None
    problem: BoardError | None


def find_boards(ports: list[str] | None = None) -> list[Found]:
    """Asks each port once, all at the same time, each for at most 3 s; None: every serial port of this computer."""
    names = ports if ports is not None else sorted(port.device for port in list_ports.comports())
    if not names:
        return []
    with ThreadPoolExecutor(max_workers=min(len(names), AT_ONCE)) as pool:
        return list(pool.map(_ask, names))


def _ask(port: str) -> Found:
    try:
        opened = open_port(port)
    except BoardError as error:
        return Found(port, None, error)
    try:
        hello, _ = await_hello(opened, port)
        return Found(port, board_info(hello), None)
    except BoardError as error:
        return Found(port, None, error)
    finally:
        with contextlib.suppress(serial.SerialException, OSError):
            opened.close()
