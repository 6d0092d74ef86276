"""The simulated board on a real line: a pseudo-terminal (POSIX) or a socket on the loopback address.

It never waits for the line: what the line does not take at its time is dropped and counted, as a real board would.
"""

from __future__ import annotations

import contextlib
import os
import select
import socket
import threading
import time
from collections.abc import Iterator

from drivers.simulated_board.board import SimulatedBoard

TICK_S = 0.005


class _Server(threading.Thread):
    """Paces a board on the host's clock and moves its bytes to and from a file descriptor."""

    def __init__(self, board: SimulatedBoard, seconds: float | None) -> None:
        super().__init__(name="simulated board", daemon=True)
        self.address = ""
        self.board, self.seconds = board, seconds
        self.finished = threading.Event()
        self._stop_now = threading.Event()

    def stop(self) -> None:
        self._stop_now.set()
        self.join()

    def _serve(self, fd: int, start_s: float) -> bool:
        """Until stopped, over, or hung up; True where the time is over."""
        while not self._stop_now.is_set():
            now = time.monotonic() - start_s
            if self.seconds is not None and now >= self.seconds:
                return True
            out = self.board.advance(now)
            readable, _, _ = select.select([fd], [], [], TICK_S)
            try:
                if readable:
                    data = os.read(fd, 4096)
                    if not data:
                        return False
                    out += self.board.receive(data)
                self._write(fd, out)
            except OSError:
                return False
        return True

    def _write(self, fd: int, out: bytes) -> None:
        if not out or self.board.faults.is_unplugged(self.board.now_s):
            return
        try:
            sent = os.write(fd, out)
        except BlockingIOError:
            sent = 0
        self.board.dropped_frames(out[sent:].count(b"\0"))


class _PtyServer(_Server):
    def __init__(self, board: SimulatedBoard, seconds: float | None) -> None:
        import pty
        import tty

        super().__init__(board, seconds)
        self._master, self._slave = pty.openpty()  # the open slave keeps the line alive between programs
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.address = os.ttyname(self._slave)

    def run(self) -> None:
        self._serve(self._master, time.monotonic())
        self.finished.set()

    def stop(self) -> None:
        super().stop()
        os.close(self._master)
        os.close(self._slave)


class _TcpServer(_Server):
    def __init__(self, board: SimulatedBoard, seconds: float | None, port: int) -> None:
        super().__init__(board, seconds)
        self._listening = socket.create_server(("127.0.0.1", port))
        self._listening.settimeout(TICK_S * 10)
        self.address = f"socket://127.0.0.1:{self._listening.getsockname()[1]}"

    def run(self) -> None:
        start, over = time.monotonic(), False
        while not self._stop_now.is_set() and not over:
            try:
                connection, _ = self._listening.accept()
            except TimeoutError:
                over = self.seconds is not None and time.monotonic() - start >= self.seconds
                continue
            with connection:
                connection.setblocking(False)
                over = self._serve(connection.fileno(), start)
        self.finished.set()

    def stop(self) -> None:
        super().stop()
        self._listening.close()


@contextlib.contextmanager
def serve_pty(board: SimulatedBoard, seconds: float | None = None) -> Iterator[_Server]:
    """Serves on a pseudo-terminal; ``address`` is its path. Stops for real at the end."""
    server = _PtyServer(board, seconds)
    server.start()
    try:
        yield server
    finally:
        server.stop()


@contextlib.contextmanager
def serve_tcp(board: SimulatedBoard, seconds: float | None = None, port: int = 0) -> Iterator[_Server]:
    """Serves on the loopback address (port 0: any free one); ``address`` is a socket:// URL. One program at a time."""
    server = _TcpServer(board, seconds, port)
    server.start()
    try:
        yield server
    finally:
        server.stop()
