"""What can be wrong with a port, each made to happen: busy, forbidden, gone. Each is a sentence with its remedy."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from balance.words import say
from drivers.errors import BoardError, NoPermission, PortBusy, PortNotFound, WrongVersion
from drivers.serial_board import SerialBoard, await_hello, open_port
from drivers.simulated_board.lines import serve_tcp
from drivers.wire import STOP, Command, Hello, encode
from tests.drivers.test_sources import a_board

pytestmark = pytest.mark.skipif(
    os.name != "posix", reason="pseudo-terminals and permissions as POSIX has them"
)


@pytest.fixture
def line() -> Iterator[str]:
    """The name of a pseudo-terminal that nobody serves."""
    import pty

    master, slave = pty.openpty()
    yield os.ttyname(slave)
    os.close(master)
    os.close(slave)


def sentence(error: BoardError) -> str:
    return say(error.code, **error.facts)


def test_a_busy_port(line: str) -> None:
    held = open_port(line)
    try:
        with pytest.raises(PortBusy) as caught:
            SerialBoard(line).open()
    finally:
        held.close()
    assert "another program" in sentence(caught.value)


def test_a_forbidden_port(line: str) -> None:
    """As another user than the port's owner; the superuser may open everything."""
    Path(line).chmod(0o600)
    if os.geteuid() != 0:
        Path(line).chmod(0)
    before = os.geteuid()
    if before == 0:
        os.seteuid(65534)
    try:
        with pytest.raises(NoPermission) as caught:
            SerialBoard(line).open()
    finally:
        os.seteuid(before)
    assert "dialout" in sentence(caught.value)


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX names")
def test_a_name_that_is_no_port() -> None:
    for name in ("/dev/no-such-port", "/tmp", "nonsense://x", "socket://127.0.0.1:1", ""):
        with pytest.raises(BoardError) as caught:
            SerialBoard(name).open()
        assert sentence(caught.value)
    with pytest.raises(PortNotFound):
        SerialBoard("/dev/no-such-port").open()


class OldBoard:
    """A scripted port: a board of another major version."""

    def __init__(self) -> None:
        self.out = b"\0" + encode(Hello(2, 0, (1, 0, 0), 1, 1, 4, 1, 128, 800, 500_000, bytes(8), 0))
        self.in_waiting = 0

    def read(self, count: int) -> bytes:
        data, self.out = self.out[:count], self.out[count:]
        self.in_waiting = len(self.out)
        return data

    def write(self, data: bytes) -> int:
        return len(data)


def test_another_version_is_refused_by_name() -> None:
    with pytest.raises(WrongVersion) as caught:
        await_hello(OldBoard(), "made up")
    assert "2.0" in sentence(caught.value)


def test_a_port_that_goes_away_is_lost_and_said() -> None:
    with serve_tcp(a_board()) as server:
        board = SerialBoard(server.address)
        board.open()
    events = []
    for _ in range(100):
        events += [item for item in board.read() if not hasattr(item, "counts")]
        if events:
            break
    board.close()
    assert events[0].kind == "lost"
    assert say(events[0].code, **events[0].facts)


def test_a_program_that_did_not_look_accuses_no_line() -> None:
    """Stopped or asleep for three seconds: what came meanwhile still waits. A line that is then silent is said to be so."""
    now_s = [0.0]
    with serve_tcp(a_board()) as server:
        board = SerialBoard(server.address, clock=lambda: now_s[0])
        board.open()
        kinds: list[str] = []

        def read_until(done: Callable[[], bool]) -> None:
            for _ in range(2000):
                kinds.extend("block" if hasattr(item, "counts") else item.kind for item in board.read())
                if done():
                    return
            pytest.fail("it never came")

        read_until(lambda: "block" in kinds)
        now_s[0] += 3.0
        seen = len(kinds)
        read_until(lambda: "block" in kinds[seen:])
        assert set(kinds) == {"block"}
        server.board.receive(encode(Command(STOP, 9)))

        def silent() -> bool:
            now_s[0] += 0.05
            return "lost" in kinds

        read_until(silent)
        board.stop()
        board.close()
