"""The simulated board itself: a state machine of the wire format, bytes in → bytes out. No port, no clock."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from drivers import wire
from drivers.samples import (
    CHANNEL_GOOD,
    CHANNEL_SATURATED,
    CHANNEL_STUCK,
    CHANNEL_TIMEOUT,
    COUNTS_MAX,
    COUNTS_MIN,
    FLAG_CONVERSION_MISSED,
    FLAG_FAULT,
    FLAG_FIRST,
    FLAG_SETTLING,
    FLAG_TEST_STREAM,
    FLAG_TRANSMIT_DROP,
)
from drivers.simulated_board.electronics import Converter, Electronics, Loads

Array = npt.NDArray[np.float64]

SETTLING_SAMPLES = 4
TEST_SEED = 77


@dataclass(frozen=True)
class LinkFaults:
    """What goes wrong: a channel that died or sticks, bytes lost or turned on the line, times at which the plug is out."""

    dead_channel: int | None = None
    stuck_channel: int | None = None
    lost_bytes: float = 0.0  # part of all bytes
    corrupted_bytes: float = 0.0
    unplugged_s: tuple[tuple[float, float], ...] = ()

    def is_unplugged(self, t_s: float) -> bool:
        return any(a <= t_s < b for a, b in self.unplugged_s)


@dataclass
class SimulatedBoard:
    """A board at a nominal rate over true loads. The same seed gives the same bytes."""

    loads: Loads
    rate_hz: float = 80.0
    seed: int = 1
    electronics: Electronics = field(default_factory=Electronics)
    faults: LinkFaults = field(default_factory=LinkFaults)

    def __post_init__(self) -> None:
        self.channels = len(self.loads.counts_per_newton)
        self._rng = np.random.default_rng([self.seed, 999])
        self._converters = [
            Converter(self.loads, c, self.rate_hz, self.electronics, self.seed) for c in range(self.channels)
        ]
        self._decoder = wire.Decoder()
        self._sequence = 0
        self._next_frame = 1
        self._t0_us = 0
        self._now_s = 0.0
        self._since_start = 0
        self._streaming = self._test = False
        self._frames_until_status = round(self.rate_hz)
        self._dropped_before = False
        self.dropped = 0
        self._boot = b"\0" + wire.encode(self._hello())

    @property
    def now_s(self) -> float:
        """Where the board's clock stands."""
        return self._now_s

    def _hello(self) -> wire.Hello:
        return wire.Hello(
            major=wire.MAJOR, minor=wire.MINOR, firmware=(1, 0, 0), boot_id=self.seed & 0xFFFF, reset_cause=1,
            channels=self.channels, converter=1, gain=128, rate_decihertz=round(self.rate_hz * 10), baud=500_000,
            board_id=(0x51D0 << 32 | self.seed).to_bytes(8, "big"), streaming=int(self._streaming),
        )  # fmt: skip

    def receive(self, data: bytes) -> bytes:
        """Commands from the program; the answers."""
        out = b""
        for message in self._decoder.feed(data):
            if isinstance(message, wire.Command):
                result, extra = self._obey(message)
                now = round(self._now_s * 1e6) & 0xFFFFFFFF
                token = message.argument[:8].ljust(8, b"\0") if message.kind == wire.PING else bytes(8)
                out += extra + wire.encode(
                    wire.Ack(message.request_id, message.kind, result, now, now, token)
                )
        return out

    def _obey(self, command: wire.Command) -> tuple[int, bytes]:
        kind, argument = command.kind, command.argument
        if kind in (wire.START, wire.TEST, wire.STOP):
            return self._stream(kind, argument), b""
        if kind == wire.ASK_HELLO:
            return wire.DONE, wire.encode(self._hello())
        if kind == wire.ASK_STATUS:
            return wire.DONE, self._status()
        if kind not in (wire.PING, wire.GAIN):
            return wire.UNKNOWN_COMMAND, b""
        fits = len(argument) >= 8 if kind == wire.PING else argument[:1] == b"\x80"
        return (wire.DONE if fits else wire.BAD_ARGUMENT), b""

    def _stream(self, kind: int, argument: bytes) -> int:
        if kind == wire.STOP:
            self._streaming = self._test = False
            return wire.DONE
        if kind == wire.TEST and len(argument) < 2:
            return wire.BAD_ARGUMENT
        if self._streaming:
            return wire.NOT_NOW
        self._streaming, self._test, self._since_start = True, kind == wire.TEST, 0
        self._next_frame = int(self._now_s * self.rate_hz) + 1
        return wire.DONE

    def _status(self) -> bytes:
        dead = self.faults.dead_channel
        mask = 0 if dead is None else 1 << dead
        bad = sum(self._decoder.reasons.values())
        return wire.encode(wire.Status(round(self._now_s * 1000) & 0xFFFFFFFF, self.dropped, 0, 0, bad, mask))

    def dropped_frames(self, count: int) -> None:
        """The line did not take so many messages at their time: they are gone, and counted."""
        self.dropped += count
        self._dropped_before = self._dropped_before or count > 0

    def advance(self, to_s: float) -> bytes:
        """The bytes due from now until ``to_s`` on the board's clock."""
        out, self._boot = bytearray(self._boot), b""
        last = int(to_s * self.rate_hz + 1e-9)
        if self._streaming and last >= self._next_frame:
            out += self._frames(np.arange(self._next_frame, last + 1) / self.rate_hz)
            self._next_frame = last + 1
        self._now_s = to_s
        return self._faulty(bytes(out))

    def _frames(self, t_s: Array) -> bytearray:
        out = bytearray()
        t0_us = np.rint(t_s * 1e6).astype(np.int64)
        channels = []
        for converter in self._converters:
            times, counts, fresh = converter.latest(t_s)
            dt = np.clip(np.rint((times * 1e6 - t0_us) / wire.DT_UNIT_US), -32768, 32767).astype(np.int64)
            status = np.where(
                (counts <= COUNTS_MIN) | (counts >= COUNTS_MAX), CHANNEL_SATURATED, CHANNEL_GOOD
            )
            channels.append((status, dt, counts, fresh))
        for channel, state in (
            (self.faults.dead_channel, CHANNEL_TIMEOUT),
            (self.faults.stuck_channel, CHANNEL_STUCK),
        ):
            if channel is not None and channel < self.channels:
                channels[channel][0][:] = state
        status, dt, counts = (np.stack([c[k] for c in channels], axis=1).tolist() for k in range(3))
        missed = np.logical_not(np.stack([c[3] for c in channels], axis=1).all(axis=1)).tolist()
        for i in range(len(t_s)):
            flags = FLAG_CONVERSION_MISSED if missed[i] else 0
            flags |= FLAG_SETTLING if self._since_start < SETTLING_SAMPLES else 0
            flags |= FLAG_FIRST if self._since_start == 0 else 0
            flags |= FLAG_FAULT if any(status[i]) else 0
            flags |= FLAG_TRANSMIT_DROP if self._dropped_before else 0
            row = counts[i]
            if self._test:
                flags, row = (
                    flags | FLAG_TEST_STREAM,
                    [(self._sequence * TEST_SEED + c) % 1_000_000 for c in range(self.channels)],
                )
            self._dropped_before = False
            out += wire.encode_samples(self._sequence, int(t0_us[i]), flags, status[i], dt[i], row)
            self._sequence += 1
            self._since_start += 1
            self._frames_until_status -= 1
            if self._frames_until_status == 0:
                self._frames_until_status = round(self.rate_hz)
                self._now_s = float(t_s[i])
                out += self._status()
        return out

    def _faulty(self, data: bytes) -> bytes:
        if not data or (self.faults.lost_bytes == 0 and self.faults.corrupted_bytes == 0):
            return data
        raw = np.frombuffer(data, dtype=np.uint8).copy()
        hit = self._rng.random(len(raw)) < self.faults.corrupted_bytes
        raw[hit] ^= self._rng.integers(1, 256, int(hit.sum()), dtype=np.uint8)
        return raw[self._rng.random(len(raw)) >= self.faults.lost_bytes].tobytes()
