"""The wire format, version 1, pure: bytes in → messages out, messages in → bytes out. No port, no clock.

A message is COBS(payload + CRC-32 of the payload, little-endian) and one 0x00 (COBS: Cheshire & Baker 1999; the CRC
is zlib's). The payload is little-endian, its byte 0 the type.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass, field

import numpy as np

from drivers.samples import IntArray

MAJOR, MINOR = 1, 0
MAX_PAYLOAD = 96
MAX_CHANNELS = 14
MAX_FRAME = 110  # payload, CRC, COBS overhead and room for a minor version's longer tail; longer is noise
HELLO, SAMPLES, STATUS, ACK = 0x02, 0x05, 0x04, 0x03
ASK_HELLO, START, STOP, PING, GAIN, ASK_STATUS, TEST = 0x81, 0x82, 0x83, 0x84, 0x85, 0x86, 0x87
COMMANDS = (ASK_HELLO, START, STOP, PING, GAIN, ASK_STATUS, TEST)
DONE, UNKNOWN_COMMAND, BAD_ARGUMENT, NOT_NOW = 0, 1, 2, 3
DT_UNIT_US = 4

_HELLO = struct.Struct("<BBBBBHBBBBHI8sB")
_STATUS = struct.Struct("<IIIIIH")
_ACK = struct.Struct("<BBBII8s")
_SAMPLES_HEAD = struct.Struct("<HIB")
_CHANNEL_BYTES = 6


@dataclass(frozen=True, slots=True)
class Hello:
    """What a board says of itself, at boot and on request."""

    major: int
    minor: int
    firmware: tuple[int, int, int]
    boot_id: int
    reset_cause: int
    channels: int
    converter: int
    gain: int
    rate_decihertz: int
    baud: int
    board_id: bytes
    streaming: int


@dataclass(frozen=True, slots=True, eq=False)
class SamplesBatch:
    """k SAMPLES messages of m channels, in order: sequence, t0_us, flags (k,); channel, status, dt, counts (k, m)."""

    sequence: IntArray
    t0_us: IntArray
    flags: IntArray
    channel_status: IntArray
    dt: IntArray  # units of 4 µs after t0_us
    counts: IntArray


@dataclass(frozen=True, slots=True)
class Status:
    """A board's counters."""

    uptime_ms: int
    dropped: int
    timeouts: int
    stuck: int
    bad_received: int
    dead_mask: int


@dataclass(frozen=True, slots=True)
class Ack:
    """The answer to every command."""

    request_id: int
    command: int
    result: int
    t_received_us: int
    t_sent_us: int
    token: bytes


@dataclass(frozen=True, slots=True)
class Command:
    """What the program asks of a board; ``argument`` as the type needs: token, gain, rate."""

    kind: int
    request_id: int
    argument: bytes = b""


Message = Hello | SamplesBatch | Status | Ack | Command


# --- COBS ---


def cobs_encode(data: bytes) -> bytes:
    """``data`` without zero bytes: one byte longer, and one more for each full run of 254."""
    out = bytearray()
    runs = data.split(b"\0")
    for number, whole in enumerate(runs, start=1):
        run, last = whole, number == len(runs)
        while len(run) > 254 or (len(run) == 254 and not last):
            out += b"\xff" + run[:254]
            run = run[254:]
        if len(run) == 254:  # at the end a full run needs no code after it
            out += b"\xff" + run
        else:
            out.append(len(run) + 1)
            out += run
    return bytes(out)


def cobs_decode(frame: bytes) -> bytes | None:
    """The data of a frame without its delimiter; None where it is malformed."""
    out = bytearray()
    at, size = 0, len(frame)
    if size == 0:
        return None
    while at < size:
        code = frame[at]
        if code == 0 or at + code > size:
            return None
        block = frame[at + 1 : at + code]
        if 0 in block:
            return None
        out += block
        at += code
        if code < 255 and at < size:
            out.append(0)
    return bytes(out)


# --- encoding ---


def frame(payload: bytes) -> bytes:
    """A payload as it goes over the line, with its delimiter."""
    return cobs_encode(payload + zlib.crc32(payload).to_bytes(4, "little")) + b"\0"


def encode(message: Hello | Status | Ack | Command) -> bytes:
    """A message as bytes for the line."""
    if isinstance(message, Hello):
        body = _HELLO.pack(
            message.major, message.minor, *message.firmware, message.boot_id, message.reset_cause, message.channels,
            message.converter, message.gain, message.rate_decihertz, message.baud, message.board_id, message.streaming,
        )  # fmt: skip
        return frame(bytes([HELLO]) + body)
    if isinstance(message, Status):
        body = _STATUS.pack(
            message.uptime_ms,
            message.dropped,
            message.timeouts,
            message.stuck,
            message.bad_received,
            message.dead_mask,
        )
        return frame(bytes([STATUS]) + body)
    if isinstance(message, Ack):
        body = _ACK.pack(
            message.request_id,
            message.command,
            message.result,
            message.t_received_us,
            message.t_sent_us,
            message.token,
        )
        return frame(bytes([ACK]) + body)
    return frame(bytes([message.kind, message.request_id]) + message.argument)


def encode_samples(
    sequence: int, t0_us: int, flags: int, status: list[int], dt: list[int], counts: list[int]
) -> bytes:
    """One SAMPLES message; dt in units of 4 µs, counts 24 bit."""
    body = bytearray([SAMPLES])
    body += _SAMPLES_HEAD.pack(sequence & 0xFFFF, t0_us & 0xFFFFFFFF, flags)
    for channel, (s, d, c) in enumerate(zip(status, dt, counts, strict=True)):
        body.append(channel | s << 4)
        body += struct.pack("<h", d) + (c & 0xFFFFFF).to_bytes(3, "little")
    return frame(bytes(body))


# --- decoding ---


@dataclass
class Decoder:
    """Bytes to messages; whole, one by one or in pieces gives the same. decoded + skipped + pending = fed bytes."""

    decoded: int = 0
    skipped: int = 0
    reasons: dict[str, int] = field(default_factory=dict)
    _buffer: bytes = b""
    _overlong: bool = False

    @property
    def rest(self) -> bytes:
        """What has come of a message that is not complete."""
        return self._buffer

    @property
    def pending(self) -> int:
        return len(self._buffer)

    def feed(self, data: bytes) -> list[Message]:
        """Messages that are complete now; runs of SAMPLES of equal length come as one batch."""
        pieces = (self._buffer + data).split(b"\0")
        self._buffer = pieces.pop()
        messages: list[Message] = []
        run: list[bytes] = []
        for piece in pieces:
            if self._overlong:
                self._skip(len(piece) + 1, "too long")
                self._overlong = False
                continue
            payload = self._payload(piece)
            if payload is None:
                continue
            self.decoded += len(piece) + 1
            if payload[0] == SAMPLES:
                if run and len(run[0]) != len(payload):
                    messages.append(_batch(run))
                    run = []
                run.append(payload)
                continue
            if run:
                messages.append(_batch(run))
                run = []
            messages.append(_message(payload))
        if run:
            messages.append(_batch(run))
        if len(self._buffer) > MAX_FRAME:
            self._skip(len(self._buffer), "too long")
            self._buffer, self._overlong = b"", True
        return messages

    def _skip(self, size: int, reason: str) -> None:
        self.skipped += size
        self.reasons[reason] = self.reasons.get(reason, 0) + 1

    def _payload(self, piece: bytes) -> bytes | None:
        size = len(piece) + 1
        if not piece:
            self.skipped += 1  # a lone delimiter: a board sends one before its first message
            return None
        if len(piece) > MAX_FRAME:
            self._skip(size, "too long")
            return None
        data = cobs_decode(piece)
        if data is None:
            self._skip(size, "malformed")
            return None
        if len(data) < 5 or zlib.crc32(data[:-4]) != int.from_bytes(data[-4:], "little"):
            self._skip(size, "checksum")
            return None
        payload = data[:-4]
        problem = _problem(payload)
        if problem:
            self._skip(size, problem)
            return None
        return payload


def _problem(payload: bytes) -> str | None:
    """Why a payload whose checksum is right cannot be used."""
    kind, size = payload[0], len(payload) - 1
    if kind == SAMPLES:
        channels, rest = divmod(size - _SAMPLES_HEAD.size, _CHANNEL_BYTES)
        if channels < 1 or channels > MAX_CHANNELS or rest:
            return "wrong length"
        numbers = [payload[8 + 6 * c] & 15 for c in range(channels)]
        return None if numbers == list(range(channels)) else "channels out of order"
    least = {HELLO: _HELLO.size, STATUS: _STATUS.size, ACK: _ACK.size}.get(kind)
    if least is None:
        least = 1 if kind in COMMANDS or kind >= 0x80 else None
    if least is None:
        return "unknown type"
    return None if size >= least else "wrong length"


def _message(payload: bytes) -> Message:
    kind, body = payload[0], payload[1:]
    if kind == HELLO:
        a = _HELLO.unpack_from(body)
        return Hello(a[0], a[1], (a[2], a[3], a[4]), *a[5:])
    if kind == STATUS:
        return Status(*_STATUS.unpack_from(body))
    if kind == ACK:
        return Ack(*_ACK.unpack_from(body))
    return Command(kind, body[0], body[1:])


def _batch(payloads: list[bytes]) -> SamplesBatch:
    raw = np.frombuffer(b"".join(payloads), dtype=np.uint8).reshape(len(payloads), -1).astype(np.int64)
    channels = raw[:, 8:].reshape(len(raw), -1, _CHANNEL_BYTES)
    counts = channels[:, :, 3] | channels[:, :, 4] << 8 | channels[:, :, 5] << 16
    dt = channels[:, :, 1] | channels[:, :, 2] << 8
    return SamplesBatch(
        sequence=raw[:, 1] | raw[:, 2] << 8,
        t0_us=raw[:, 3] | raw[:, 4] << 8 | raw[:, 5] << 16 | raw[:, 6] << 24,
        flags=raw[:, 7],
        channel_status=channels[:, :, 0] >> 4 & 3,
        dt=(dt ^ 0x8000) - 0x8000,
        counts=(counts ^ 0x800000) - 0x800000,
    )
