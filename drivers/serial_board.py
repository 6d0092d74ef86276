"""A board on a serial port, or behind a pyserial URL (socket://, rfc2217://): open, identify, stream, reconnect."""

from __future__ import annotations

import contextlib
import errno
import sys
import threading
import time
from collections.abc import Callable

import serial

from drivers.assembly import Assembly, board_info
from drivers.errors import BoardError, NoPermission, PortBusy, PortNotFound, WrongBoard, WrongVersion
from drivers.samples import BoardInfo, LinkEvent, SampleBlock
from drivers.wire import ASK_HELLO, MAJOR, START, STOP, Command, Decoder, Hello, encode

BAUD = 500_000
READ_S = 0.05  # a read waits no longer for its first byte
HELLO_S, ASK_EVERY_S = 3.0, 0.5  # opening resets many boards: they need their time
SILENCE_S = 0.5  # without a message: a lost link
RETRY_S = 0.3
MAX_READ = 65_536


def open_port(port: str) -> serial.Serial:
    """The open port. Raises BoardError with what to do."""
    try:
        opened: serial.Serial = serial.serial_for_url(
            port, do_not_open=True, baudrate=BAUD, timeout=READ_S, write_timeout=1.0
        )
        if "://" not in port and sys.platform != "win32":
            opened.exclusive = True
        opened.open()
    except (serial.SerialException, OSError, ValueError) as error:
        raise _port_error(port, error) from None
    return opened


def _port_error(port: str, error: Exception) -> BoardError:
    code, text = getattr(error, "errno", None), str(error)
    if code in (errno.EACCES, errno.EPERM) and "Access is denied" not in text:
        return NoPermission(port=port)
    busy = ("exclusively lock", "busy", "Access is denied", "PermissionError")
    if code == errno.EBUSY or any(word in text for word in busy):
        return PortBusy(port=port)
    return PortNotFound(port=port, reason=text.splitlines()[0][:120] if text else type(error).__name__)


def await_hello(
    port: serial.Serial, name: str, stopped: threading.Event | None = None, *, ask: bool = True
) -> tuple[Hello, bytes]:
    """The board's HELLO, and the bytes after it. Raises WrongBoard after 3 s, WrongVersion for another major."""
    decoder, synced, deadline = Decoder(), False, time.monotonic() + HELLO_S
    asked, request = -1.0, 0
    while time.monotonic() < deadline and not (stopped is not None and stopped.is_set()):
        if ask and time.monotonic() - asked >= ASK_EVERY_S:
            asked, request = time.monotonic(), request + 1
            _write(port, name, encode(Command(ASK_HELLO, request)))
        data = _read(port, name)
        if not synced:  # what stands before the first delimiter may be half a message
            start = data.find(b"\0")
            synced, data = start >= 0, data[start + 1 :] if start >= 0 else b""
        for message in decoder.feed(data):
            if isinstance(message, Hello):
                if message.major != MAJOR:
                    raise WrongVersion(
                        port=name, found=f"{message.major}.{message.minor}", known=f"{MAJOR}.x"
                    )
                return message, decoder.rest
    raise WrongBoard(port=name)


def _read(port: serial.Serial, name: str) -> bytes:
    try:
        data = port.read(1)
        if data and (waiting := port.in_waiting):
            data += (
                _all_of_a_socket(port) if name.startswith("socket://") else port.read(min(waiting, MAX_READ))
            )
        return bytes(data)
    except (serial.SerialException, OSError, TypeError) as error:
        raise _port_error(name, error) from None


def _all_of_a_socket(port: serial.Serial) -> bytes:
    """pyserial says of a socket only that there is something, not how much: without a timeout it hands over what there is."""
    port.timeout = 0
    try:
        return bytes(port.read(MAX_READ))
    finally:
        port.timeout = READ_S


def _write(port: serial.Serial, name: str, data: bytes) -> None:
    try:
        port.write(data)
    except (serial.SerialException, OSError) as error:
        raise _port_error(name, error) from None


class SerialBoard:
    """A Source on a serial port. ``read`` is for one thread; ``stop`` may come from any."""

    def __init__(self, port: str, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.port = port
        self._clock = clock
        self._serial: serial.Serial | None = None
        self._assembly: Assembly | None = None
        self._stopped = threading.Event()
        self._lost = False
        self._ended = False
        self._last_s = 0.0
        self._looked_s = 0.0
        self._retry_s = 0.0

    def open(self) -> BoardInfo:
        """Connect, identify, start the stream."""
        hello, rest = self._connect()
        self._assembly = Assembly(board_info(hello))
        self._begin(rest)
        return self._assembly.info

    def _connect(self) -> tuple[Hello, bytes]:
        self._serial = open_port(self.port)
        try:
            return await_hello(self._serial, self.port, self._stopped)
        except BoardError:
            self._drop()
            raise

    def _begin(self, rest: bytes) -> None:
        assert self._serial is not None
        assert self._assembly is not None
        self._assembly.fresh_decoder()
        self._assembly.decoder.feed(rest)
        _write(self._serial, self.port, encode(Command(START, 1)))
        self._last_s = self._looked_s = self._clock()
        self._lost = False

    def _drop(self) -> None:
        if self._serial is not None:
            link = getattr(self._serial, "_socket", None)
            with contextlib.suppress(serial.SerialException, OSError):
                self._serial.close()
            # pyserial leaves a socket open whose other end has gone: one more file each time.
            if link is not None:
                link.close()
        self._serial = None

    def read(self) -> list[SampleBlock | LinkEvent]:
        """Blocks and events since the last call; reconnects by itself."""
        if self._ended or self._assembly is None:
            return []
        if self._stopped.is_set():
            self._ended = True
            return [LinkEvent("ended", "event.ended", {}, self._assembly.last_us)]
        if self._lost:
            return self._reconnect()
        try:
            assert self._serial is not None
            data = _read(self._serial, self.port)
        except BoardError as error:
            return [self._lose("event.port-gone", {"port": self.port, "reason": str(error)})]
        now = self._clock()
        before = self._assembly.decoder.decoded
        items = self._assembly.feed(data, now) if data else []
        if self._assembly.decoder.decoded > before:
            self._last_s = now
        elif now - self._last_s > SILENCE_S:
            items.append(self._lose("event.silent", {"port": self.port}))
        return items

    def _lose(self, code: str, facts: dict[str, str | int | float]) -> LinkEvent:
        assert self._assembly is not None
        self._drop()
        self._lost = True
        self._retry_s = self._clock()
        return LinkEvent("lost", code, facts, self._assembly.last_us)

    def _reconnect(self) -> list[SampleBlock | LinkEvent]:
        assert self._assembly is not None
        if (
            self._stopped.wait(min(max(self._retry_s - self._clock(), 0.0), 0.1))
            or self._clock() < self._retry_s
        ):
            return []
        try:
            hello, rest = self._connect()
            if hello.board_id.hex() != self._assembly.info.board_id:
                self._drop()
                self._retry_s = self._clock() + RETRY_S
                facts: dict[str, str | int | float] = {"port": self.port, "board": hello.board_id.hex()}
                return [LinkEvent("fault", "event.other-board", facts, self._assembly.last_us)]
            items = self._assembly.hello(hello)
            self._begin(rest)
        except BoardError:
            self._drop()
            self._retry_s = self._clock() + RETRY_S
            return []
        return [
            *items,
            LinkEvent("reconnected", "event.reconnected", {"port": self.port}, self._assembly.last_us),
        ]

    def stop(self) -> None:
        """``read`` ends soon."""
        self._stopped.set()

    def close(self) -> None:
        """Tells the board to stop where the port still works, and lets go of it."""
        self._stopped.set()
        if self._serial is not None:
            with contextlib.suppress(BoardError):
                _write(self._serial, self.port, encode(Command(STOP, 2)))
        self._drop()
