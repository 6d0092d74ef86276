"""Faults of the board and its line: a ten-second stream of a simulated board, as messages, and what may happen to it on its way."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np

from balance.analysis import findings
from balance.live_state import Described
from balance.protocols import ALL
from balance.reading import Snapshot
from balance.recording import read_recording
from balance.session import Session
from balance.trial import Subject
from drivers import wire
from drivers.assembly import Assembly, board_info
from drivers.errors import WrongBoard
from drivers.samples import FLAG_SETTLING, BoardInfo, LinkEvent, SampleBlock, channel_status
from tests.balance.test_session import FLOOR
from tests.drivers.test_sources import a_board

SECONDS, RATE_HZ, CHANNELS = 10.0, 80.0, 10
LUMP_S = 0.05  # what arrives together
Chunk = tuple[float, bytes]  # seconds, bytes


@dataclass(frozen=True)
class Stream:
    """Messages with the seconds at which they left the board; the first is HELLO."""

    at_s: list[float]
    frames: list[bytes]

    def with_frames(self, frames: list[bytes]) -> Stream:
        return Stream(self.at_s, frames)


@cache
def clean() -> Stream:
    """HELLO and 800 SAMPLES with STATUS between."""
    board = a_board()
    frames, at = [], []
    data = board.advance(0.0) + board.receive(wire.encode(wire.Command(wire.START, 1)))
    for step in range(1, round(SECONDS / LUMP_S) + 1):
        data += board.advance(step * LUMP_S)
        pieces = data.split(b"\0")
        data = pieces.pop()
        whole = [piece + b"\0" for piece in pieces if piece]
        frames += whole
        at += [step * LUMP_S] * len(whole)
    return Stream(at, frames)


@cache
def truth() -> dict[int, tuple[int, ...]]:
    """Sequence → counts, as the board sent them, but for those before the converters had settled: a trial begins after them."""
    rows = {}
    for message in wire.Decoder().feed(b"".join(clean().frames)):
        if isinstance(message, wire.SamplesBatch):
            settled = (message.flags & FLAG_SETTLING) == 0
            numbers, counts = message.sequence[settled].tolist(), message.counts[settled].tolist()
            rows |= {number: tuple(c) for number, c in zip(numbers, counts, strict=True)}
    return rows


def lumps(stream: Stream) -> list[Chunk]:
    """What arrives together, as a port hands it over."""
    out: dict[float, bytearray] = {}
    for at, frame in zip(stream.at_s, stream.frames, strict=True):
        out.setdefault(at, bytearray()).extend(frame)
    return [(at, bytes(data)) for at, data in out.items()]


class Line:
    """A source over chunks that were made beforehand; opens on the first HELLO, as a port's reader does."""

    def __init__(self, chunks: list[Chunk]) -> None:
        self._chunks = iter(chunks)
        self._assembly: Assembly | None = None
        self._stopped = False
        self.skipped = 0

    def open(self) -> BoardInfo:
        decoder, seen = wire.Decoder(), b""
        for at, data in self._chunks:
            seen += data
            for message in decoder.feed(data):
                if isinstance(message, wire.Hello):
                    if message.major != wire.MAJOR:
                        raise WrongBoard(port="faulty")
                    self._assembly = Assembly(board_info(message))
                    self._first = self._assembly.feed(seen, at)
                    return self._assembly.info
        raise WrongBoard(port="faulty")

    def read(self) -> list[SampleBlock | LinkEvent]:
        assert self._assembly is not None
        if self._first:
            items, self._first = self._first, []
            return items
        chunk = None if self._stopped else next(self._chunks, None)
        if chunk is None:
            self.skipped = self._assembly.decoder.skipped
            return [LinkEvent("ended", "event.ended", {}, self._assembly.last_us)]
        at, data = chunk
        return self._assembly.feed(data, at) if data else []

    def stop(self) -> None:
        self._stopped = True

    def close(self) -> None:
        self._stopped = True


@dataclass
class Outcome:
    """What became of one run."""

    lost: int = 0
    wrong: int = 0  # rows whose counts no board sent, unless their status says so
    implausible: int = 0  # live totals that were neither right nor absent
    said: set[str] = field(default_factory=set)


def run(chunks: list[Chunk], out: Path, sequence_shift: int = 0) -> Outcome:
    """Records what comes through; every row of the file, and every live total, is held against what was sent. sequence_shift: where a
    board's counter began."""
    expected = truth()
    described = Described(subject=Subject(code="F1", body_weight_n=627.6))
    line = Line(chunks)
    session = Session(line, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described, out=out)
    seen: list[Snapshot] = []
    session.open()
    folder = session.begin_trial(ALL["free"])
    watch = session._watch_person  # the live totals, where the session itself takes note of them

    def noted(snapshot: Snapshot) -> None:
        seen.append(snapshot)
        watch(snapshot)

    session._watch_person = noted
    session.start()
    assert session.finished.wait(60)
    session.stop()
    recording = read_recording(folder)
    assert recording.trial.state == "complete"
    outcome = Outcome(said={event.detail for event in recording.events} | set(session.latest().messages))
    block = recording.samples
    assert (np.diff(block.sequence) > 0).all()
    assert (np.diff(block.board_us) > 0).all()
    good = [channel_status(block.status, c) == 0 for c in range(CHANNELS)]
    offset = sequence_shift
    for i, number in enumerate(block.sequence.tolist()):
        sent = expected.get(number - offset)
        for c in range(CHANNELS):
            if good[c][i] and (sent is None or int(block.counts[i, c]) != sent[c]):
                outcome.wrong += 1
    outcome.lost = len(expected) - len(block)
    outcome.implausible = sum(abs(s.total_n - 627.6) > 30 for s in seen)
    findings(recording, basic=True)
    return outcome


Fault = Callable[[Stream, np.random.Generator], list[Chunk]]


def in_a_new_folder(chunks: list[Chunk]) -> Outcome:
    """As ``run``; the counter's beginning is read off the first message."""
    found = wire.Decoder().feed(b"".join(data for _, data in chunks[:8]))
    start = next(int(m.sequence[0]) for m in found if isinstance(m, wire.SamplesBatch))
    with tempfile.TemporaryDirectory() as scratch:
        return run(chunks, Path(scratch), start if start > 60_000 else 0)


# --- what may happen; each gives the chunks that arrive. The HELLO at the beginning is spared where a board must be found first. ---


def _bytes_hit(
    stream: Stream, rng: np.random.Generator, hit: Callable[[bytearray, int], None], times: int
) -> list[Chunk]:
    chunks = lumps(stream)
    for _ in range(times):
        which = int(rng.integers(2, len(chunks)))
        at, data = chunks[which]
        changed = bytearray(data)
        if changed:
            hit(changed, int(rng.integers(len(changed))))
        chunks[which] = (at, bytes(changed))
    return chunks


def bit_flips(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    def flip(data: bytearray, at: int) -> None:
        data[at] ^= 1 << int(rng.integers(8))

    return _bytes_hit(stream, rng, flip, 20)


def dropped_bytes(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    def drop(data: bytearray, at: int) -> None:
        del data[at]

    return _bytes_hit(stream, rng, drop, 20)


def inserted_bytes(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    def insert(data: bytearray, at: int) -> None:
        data.insert(at, int(rng.integers(256)))

    return _bytes_hit(stream, rng, insert, 20)


def bursts(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    def burst(data: bytearray, at: int) -> None:
        data[at : at + 30] = rng.bytes(len(data[at : at + 30]))

    return _bytes_hit(stream, rng, burst, 5)


def lost_messages(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    gone = set(rng.integers(3, len(stream.frames), 25).tolist())
    return lumps(stream.with_frames([b"" if i in gone else f for i, f in enumerate(stream.frames)]))


def doubled_messages(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    twice = set(rng.integers(3, len(stream.frames), 25).tolist())
    return lumps(stream.with_frames([f * 2 if i in twice else f for i, f in enumerate(stream.frames)]))


def messages_out_of_order(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    frames = list(stream.frames)
    for i in rng.integers(3, len(frames) - 1, 15).tolist():
        frames[i], frames[i + 1] = frames[i + 1], frames[i]
    return lumps(stream.with_frames(frames))


def rubbish_before_hello(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    return [(0.0, rng.bytes(int(rng.integers(1, 3000))) + b"\0"), *lumps(stream)]


def stalls(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    """The computer does not listen for 5 s; then everything is there at once."""
    start = float(rng.uniform(0.5, SECONDS - 5.5))
    late = Stream([start + 5.0 if start < at < start + 5.0 else at for at in stream.at_s], stream.frames)
    return lumps(late)


def unplugged(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    """Nothing for a while, cut in the middle of a message."""
    start = float(rng.uniform(1.0, 6.0))
    end = start + float(rng.uniform(0.2, 2.0))
    chunks = [(at, data) for at, data in lumps(stream) if not start <= at < end]
    return [(at, data[: len(data) // 2] if start - LUMP_S <= at < start else data) for at, data in chunks]


def resets(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    """The board boots in mid-message: half a frame, a delimiter, HELLO with another boot, a clock and counter from nought."""
    at_frame = int(rng.integers(100, 700))
    boot = _hello(boot_id=int(rng.integers(2, 60000)))
    before = Stream(
        stream.at_s[:at_frame], [*stream.frames[: at_frame - 1], stream.frames[at_frame - 1][:17]]
    )
    again = [(at + stream.at_s[at_frame] + 0.4, data) for at, data in lumps(clean())[:30]]
    again[0] = (again[0][0], b"\0" + boot + again[0][1].split(b"\0", 2)[2])
    return [*lumps(before), *again]


def _hello(**changes: object) -> bytes:
    (hello,) = [m for m in wire.Decoder().feed(clean().frames[0]) if isinstance(m, wire.Hello)]
    values = {name: getattr(hello, name) for name in wire.Hello.__slots__} | changes
    return wire.encode(wire.Hello(**values))


def rewritten(change: Callable[[wire.SamplesBatch], wire.SamplesBatch], stream: Stream) -> list[Chunk]:
    """Every SAMPLES with other fields, as a board would have sent it."""
    return lumps(stream.with_frames([_rewritten(change, frame) for frame in stream.frames]))


def _rewritten(change: Callable[[wire.SamplesBatch], wire.SamplesBatch], frame: bytes) -> bytes:
    (message,) = wire.Decoder().feed(frame)
    if not isinstance(message, wire.SamplesBatch):
        return frame
    m = change(message)
    head = (int(m.sequence[0]), int(m.t0_us[0]), int(m.flags[0]))
    return wire.encode_samples(*head, m.channel_status[0].tolist(), m.dt[0].tolist(), m.counts[0].tolist())


def wraps(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    """Time turns over at 2³² µs and the counter at 65,536, somewhere in the trial."""
    t_shift = 2**32 - round(float(rng.uniform(0.5, 9.5)) * 1e6)
    s_shift = 2**16 - int(rng.integers(5, 790))
    return rewritten(lambda m: wire.SamplesBatch((m.sequence + s_shift) % 2**16, (m.t0_us + t_shift) % 2**32, m.flags, m.channel_status, m.dt, m.counts), stream)  # fmt: skip


def drifting_clock(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
    """A ceramic resonator half a per cent off."""
    factor = 1 + float(rng.uniform(-0.005, 0.005))
    return rewritten(lambda m: wire.SamplesBatch(m.sequence, np.rint(m.t0_us * factor).astype(np.int64), m.flags, m.channel_status, m.dt, m.counts), stream)  # fmt: skip


def one_cell(status: int, counts: int | None) -> Fault:
    """One converter is dead, stuck or saturated for some seconds, and comes back."""

    def fault(stream: Stream, rng: np.random.Generator) -> list[Chunk]:
        cell, start = int(rng.integers(8)), int(rng.integers(50, 400))

        def change(m: wire.SamplesBatch) -> wire.SamplesBatch:
            if not start <= int(m.sequence[0]) < start + 250:
                return m
            states, values = m.channel_status.copy(), m.counts.copy()
            states[0, cell] = status
            if counts is not None:
                values[0, cell] = counts
            return wire.SamplesBatch(m.sequence, m.t0_us, m.flags | 1, states, m.dt, values)

        return rewritten(change, stream)

    return fault


def stream_items() -> Iterator[tuple[str, Fault, int]]:
    """(name, fault, the most rows that it may cost)."""
    yield "bits flipped, 20 in 10 s", bit_flips, 25
    yield "bytes dropped, 20 in 10 s", dropped_bytes, 42
    yield "bytes put in, 20 in 10 s", inserted_bytes, 42
    yield "bursts of 30 bytes, 5 in 10 s", bursts, 15
    yield "messages lost, 25 in 10 s", lost_messages, 25
    yield "messages doubled, 25 in 10 s", doubled_messages, 0
    yield "messages out of order, 15 in 10 s", messages_out_of_order, 15
    yield "rubbish before HELLO", rubbish_before_hello, 0
    yield "the computer stalls for 5 s", stalls, 0
    yield "unplugged for 0.2 to 2 s", unplugged, 166
    yield "time and counter turn over", wraps, 0
    yield "the board's clock 0.5 % off", drifting_clock, 0
    yield "a cell saturated for 3 s", one_cell(1, 0x7FFFFF), 0
    yield "a converter dead for 3 s", one_cell(2, None), 0
    yield "a converter stuck for 3 s", one_cell(3, 12345), 0
