"""Messages and their arrival to sample blocks and link events; the same for every source that speaks the wire format."""

from __future__ import annotations

import numpy as np

from drivers.clock import Unwrapper
from drivers.samples import BoardInfo, LinkEvent, SampleBlock
from drivers.wire import DT_UNIT_US, Decoder, Hello, SamplesBatch, Status


def board_info(hello: Hello) -> BoardInfo:
    """What the program keeps of a HELLO."""
    return BoardInfo(
        board_id=hello.board_id.hex(),
        protocol=f"{hello.major}.{hello.minor}",
        firmware=".".join(map(str, hello.firmware)),
        boot_id=hello.boot_id,
        reset_cause=hello.reset_cause,
        channels=hello.channels,
        converter=hello.converter,
        gain=hello.gain,
        rate_hz=hello.rate_decihertz / 10,
        baud=hello.baud,
    )


class Assembly:
    """Keeps a board's clock, counters and what the decoder skipped; one a connection that may reconnect."""

    def __init__(self, info: BoardInfo) -> None:
        self.info = info
        self.decoder = Decoder()
        self._clock = Unwrapper(info.rate_hz)
        self._counters = {"dropped": 0, "timeouts": 0, "stuck": 0, "bad_received": 0}
        self._skips = 0
        self._seen_status = False
        self._rebased = False
        self._first = True

    @property
    def last_us(self) -> int:
        """The last known time on the board's clock."""
        return self._clock.us or 0

    def fresh_decoder(self) -> None:
        """After a reconnection: what was half received is gone."""
        self.decoder = Decoder()
        self._skips = 0

    def feed(self, data: bytes, arrival_s: float) -> list[SampleBlock | LinkEvent]:
        """Blocks and events of the bytes that arrived at ``arrival_s`` (monotonic seconds)."""
        items: list[SampleBlock | LinkEvent] = []
        for message in self.decoder.feed(data):
            if isinstance(message, SamplesBatch):
                if message.counts.shape[1] == self.info.channels:
                    block = self._block(message, arrival_s)
                    late = len(message.sequence) - len(block)
                    if late:
                        items.append(self._event("fault", "event.out-of-order", count=late))
                    if self._rebased:
                        self._rebased = False
                        items.append(self._event("clock", "event.rebased", offset_us=self._clock.offset_us))
                    if len(block):
                        items.append(block)
            elif isinstance(message, Status):
                items += self._status(message)
            elif isinstance(message, Hello):
                items += self.hello(message)
        reasons = sum(self.decoder.reasons.values())
        if reasons > self._skips:
            items.append(self._event("fault", "event.skipped", count=reasons - self._skips))
            self._skips = reasons
        return items

    def hello(self, hello: Hello) -> list[SampleBlock | LinkEvent]:
        """A HELLO in the stream: a new boot re-bases the clock."""
        if hello.boot_id == self.info.boot_id:
            return []
        self.info = board_info(hello)
        self._clock.restarted()
        self._seen_status, self._rebased = False, True
        return [self._event("clock", "event.restarted", boot=hello.boot_id, cause=hello.reset_cause)]

    def _event(self, kind: str, code: str, **facts: str | int | float) -> LinkEvent:
        return LinkEvent(kind, code, dict(facts), self.last_us)  # type: ignore[arg-type]  # kinds are literals here

    def _block(self, batch: SamplesBatch, arrival_s: float) -> SampleBlock:
        last = self._clock.sequence if self._clock.sequence is not None and not self._first else -1
        self._first = False
        if self._clock.went_back(int(batch.t0_us[0]), arrival_s):
            self._clock.restarted()
            self._rebased = True
        sequence, us = self._clock.unwrap(batch.sequence, batch.t0_us, arrival_s)
        shifts = 8 + 2 * np.arange(batch.counts.shape[1], dtype=np.int64)
        status = batch.flags | (batch.channel_status << shifts).sum(axis=1)
        dt_us = batch.dt * DT_UNIT_US
        highest = np.maximum.accumulate(np.concatenate(([last], sequence)))
        new = (
            sequence > highest[:-1]
        )  # a message that came twice, or too late, is left out: a recording's rows rise
        return SampleBlock(sequence[new], us[new], status[new], batch.counts[new], dt_us[new], arrival_s)

    def _status(self, status: Status) -> list[SampleBlock | LinkEvent]:
        now = {name: int(getattr(status, name)) for name in self._counters}
        grown = {name: now[name] - self._counters[name] for name in now if now[name] > self._counters[name]}
        first, self._seen_status, self._counters = not self._seen_status, True, now
        return [] if first or not grown else [self._event("fault", "event.board-counters", what=_said(grown))]


def _said(grown: dict[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in grown.items())
