"""The real binary on a simulated microcontroller, with converters on oscillators of their own: every reading, its time, and every fault."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from drivers import wire
from drivers.samples import (
    FLAG_CONVERSION_MISSED,
    FLAG_FAULT,
    FLAG_FIRST,
    FLAG_RECEIVE_ERROR,
    FLAG_SETTLING,
    FLAG_TEST_STREAM,
)
from tests.firmware.build import built
from tests.firmware.microcontroller import CHIPS, Microcontroller

STEP, APART = (
    7,
    1_000_000,
)  # counts from one conversion to the next, and between channels: each reading tells which it is


@pytest.fixture(params=["small", "large"])
def board(request: pytest.FixtureRequest) -> Iterator[Microcontroller]:
    made = a_board(request.param)
    yield made
    made.close()


def a_board(kind: str, seed: int = 1) -> Microcontroller:
    """Converters from −14 to +16 % of 80 a second, in any phase; the counts climb by ``STEP``, from below zero on odd channels."""
    rng = np.random.default_rng(seed)
    channels = CHIPS[kind][1]
    rates = (80 * (1 + rng.uniform(-0.14, 0.16, channels))).tolist()
    counts = [(-1) ** c * (c % 7) * APART + STEP * np.arange(4000) for c in range(channels)]
    return Microcontroller(kind, counts, rates, [float(rng.uniform(0, 1 / r)) for r in rates])


def messages(data: bytes) -> list[wire.Message]:
    decoder = wire.Decoder()
    found = decoder.feed(data)
    assert decoder.skipped <= 1, decoder.reasons  # the lone delimiter after a boot
    return found


def samples(found: list[wire.Message]) -> wire.SamplesBatch:
    batches = [m for m in found if isinstance(m, wire.SamplesBatch)]
    parts = {
        name: np.concatenate([getattr(b, name) for b in batches]) for name in wire.SamplesBatch.__slots__
    }
    return wire.SamplesBatch(**parts)


def started(board: Microcontroller, seconds: float = 3.0) -> wire.SamplesBatch:
    board.run(0.1)
    board.send(wire.encode(wire.Command(wire.START, 1)))
    return samples(messages(board.run(0.1 + seconds)))


def conversion(counts: np.ndarray, channel: int) -> np.ndarray:
    """Which conversion a channel's counts are."""
    numbers, rest = np.divmod(counts - (-1) ** channel * (channel % 7) * APART, STEP)
    assert (rest == 0).all(), "counts that no converter gave"
    return np.asarray(numbers)


def test_boots_with_a_delimiter_and_says_what_it_is(board: Microcontroller) -> None:
    data = board.run(0.1)
    assert data[0] == 0
    (hello,) = messages(data)
    assert isinstance(hello, wire.Hello)
    assert (hello.major, hello.minor, hello.channels, hello.converter, hello.gain) == (
        1,
        0,
        board.channels,
        1,
        128,
    )
    assert (hello.rate_decihertz, hello.baud, hello.streaming) == (800, 500_000, 0)


def test_every_reading_is_a_conversion_with_its_own_time(board: Microcontroller) -> None:
    got = started(board)
    assert np.array_equal(got.sequence, np.arange(len(got.sequence)))
    assert np.diff(got.t0_us) == pytest.approx(12_500, abs=4)
    for c in range(board.channels):
        number = conversion(got.counts[:, c], c)
        assert (np.diff(number) >= 0).all()
        fresh = np.diff(number, prepend=number[0]) > 0
        at_us = got.t0_us + 4 * got.dt[:, c]
        late_us = at_us - 1e6 * board.conversion_s(c, number)
        late_us = late_us[fresh]
        # The board's clock began at its own boot; a line without a pin-change interrupt is looked at each millisecond. A conversion lasts
        # 10,800 to 14,500 µs.
        assert np.ptp(late_us) < 1100
        assert abs(float(np.median(late_us))) < 1500
        age_us = got.t0_us - at_us
        assert age_us.max() < 1.1e6 / board.rates_hz[c] + 1100


def test_what_was_not_new_is_flagged(board: Microcontroller) -> None:
    got = started(board)
    numbers = np.stack([conversion(got.counts[:, c], c) for c in range(board.channels)], axis=1)
    old = (np.diff(numbers, axis=0) == 0).any(axis=1)
    assert np.array_equal((got.flags[1:] & FLAG_CONVERSION_MISSED) > 0, old)
    assert 0 < old.sum() < len(old) / 2


def test_the_first_messages_are_settling(board: Microcontroller) -> None:
    got = started(board)
    assert [bool(f & FLAG_FIRST) for f in got.flags[:3]] == [True, False, False]
    settling = ((got.flags & FLAG_SETTLING) > 0).tolist()
    assert settling == sorted(settling, reverse=True)
    assert 3 <= sum(settling) <= 6  # four conversions of the slowest converter


def test_half_of_the_processor_is_spare(board: Microcontroller) -> None:
    started(board)
    assert board.spare >= 0.5
    assert board.longest_clock_s < 10e-6  # a converter turns off at 60


def test_commands_are_answered(board: Microcontroller) -> None:
    board.run(0.1)
    asked = [
        (wire.PING, b"12345678", wire.DONE), (wire.PING, b"1", wire.BAD_ARGUMENT), (wire.ASK_HELLO, b"", wire.DONE), (wire.ASK_STATUS, b"", wire.DONE),
        (wire.GAIN, b"\x40", wire.DONE), (wire.GAIN, b"\x07", wire.BAD_ARGUMENT), (wire.GAIN, b"\x80", wire.DONE), (0x99, b"", wire.UNKNOWN_COMMAND),
        (wire.START, b"", wire.DONE), (wire.START, b"", wire.NOT_NOW), (wire.STOP, b"", wire.DONE), (wire.TEST, b"", wire.BAD_ARGUMENT),
    ]  # fmt: skip
    acks, decoder = [], wire.Decoder()
    for number, (kind, argument, _) in enumerate(asked):
        board.send(wire.encode(wire.Command(kind, number, argument)))
        acks += [m for m in decoder.feed(board.run(board.now_s + 0.02)) if isinstance(m, wire.Ack)]
    assert [(a.request_id, a.command, a.result) for a in acks] == [
        (n, k, r) for n, (k, _, r) in enumerate(asked)
    ]
    assert acks[0].token == b"12345678"
    assert all(0 <= a.t_sent_us - a.t_received_us < 2000 for a in acks)
    assert acks[1].t_received_us - acks[0].t_received_us == pytest.approx(20_000, abs=700)


def test_another_gain_reaches_the_converter_and_settles(board: Microcontroller) -> None:
    started(board, 0.5)
    board.send(wire.encode(wire.Command(wire.GAIN, 2, b"\x40")))
    found = messages(board.run(board.now_s + 0.5))
    got = samples(found)
    assert 3 <= ((got.flags & FLAG_SETTLING) > 0).sum() <= 6
    for c in range(board.channels):
        conversion(got.counts[:, c], c)  # still whole readings, with 27 pulses each
    board.send(wire.encode(wire.Command(wire.ASK_HELLO, 3)))
    (hello,) = [m for m in messages(board.run(board.now_s + 0.05)) if isinstance(m, wire.Hello)]
    assert (hello.gain, hello.streaming) == (64, 1)


def test_the_made_up_stream(board: Microcontroller) -> None:
    board.run(0.1)
    board.send(wire.encode(wire.Command(wire.TEST, 1, (2000).to_bytes(2, "little"))))
    got = samples(messages(board.run(2.1)))
    assert len(got.sequence) == pytest.approx(400, abs=3)  # 200 a second
    assert ((got.flags & FLAG_TEST_STREAM) > 0).all()
    expected = (got.sequence[:, None] * 77 + np.arange(board.channels)) % 1_000_000
    assert np.array_equal(got.counts, expected)


def test_a_dead_converter_and_its_return(board: Microcontroller) -> None:
    board.run(0.1)
    board.send(wire.encode(wire.Command(wire.START, 1)))
    board.run(1.0)
    board.die(2)
    found = messages(board.run(2.5))
    got = samples(found)
    assert got.channel_status[-1].tolist() == [2 if c == 2 else 0 for c in range(board.channels)]
    assert got.flags[-1] & FLAG_FAULT
    status = [m for m in found if isinstance(m, wire.Status)][-1]
    assert (status.timeouts, status.dead_mask) == (1, 1 << 2)
    board.die(2, dead=False)
    found = messages(board.run(4.2))
    assert (samples(found).channel_status[-1] == 0).all()
    assert [m for m in found if isinstance(m, wire.Status)][-1].dead_mask == 0


def test_a_converter_that_died_while_nobody_asked_is_dead_hours_later() -> None:
    """Ages are signed differences of a counter that turns over after 4.8 h: once timed out stays so until the converter answers."""
    board = a_board("small")
    board.run(0.5)
    board.die(3)
    found = messages(board.run(2.05))
    assert [m.dead_mask for m in found if isinstance(m, wire.Status)] == [
        1 << 3
    ] * 2  # also while nothing is streamed
    board.close()


@pytest.mark.parametrize("hours", [0.5, 2.4, 3.0, 4.0, 4.8, 6.0, 12.0])
def test_a_dead_channel_by_the_stream_alone(hours: float) -> None:
    """The same code on the host, with hours between: never good, its age at the end of what can be said."""
    import ctypes

    lib = ctypes.CDLL(str(built() / "protocol.so"))
    stream, payload = ctypes.create_string_buffer(4096), ctypes.create_string_buffer(96)
    second = 250_000
    lib.stream_samples.restype = ctypes.c_uint8
    lib.stream_init(stream, 6)
    lib.stream_converted(stream, 2, ctypes.c_int32(77), ctypes.c_uint32(10))
    now = 0
    for _ in range(round(hours * 3600)):
        now += second
        lib.stream_look(stream, ctypes.c_uint32(now % 2**32))
    lib.stream_start(stream, ctypes.c_uint32(now % 2**32), 800, False)
    assert lib.stream_samples(stream, payload) == 44
    (batch,) = wire.Decoder().feed(wire.frame(payload.raw[:44]))
    assert isinstance(batch, wire.SamplesBatch)
    assert batch.channel_status.tolist() == [[2] * 6]
    assert batch.dt.tolist() == [[-32768] * 6]


def test_slow_converters_settle_by_their_own_conversions() -> None:
    rates = [10.0] * 6
    board = Microcontroller("small", [np.arange(100) * 3] * 6, rates, [0.001 * c for c in range(6)])
    board.run(0.05)
    board.send(wire.encode(wire.Command(wire.START, 1)))
    got = samples(messages(board.run(1.5)))
    board.close()
    assert 24 <= ((got.flags & FLAG_SETTLING) > 0).sum() <= 34  # 0.3 to 0.4 s at 80 messages a second


def test_stuck_and_saturated_converters() -> None:
    rates = [80.0] * 6
    counts = [
        np.arange(4000),
        np.full(1, 5),
        np.full(1, 0x7FFFFF),
        np.full(1, -0x800000),
        np.arange(4000),
        np.arange(4000),
    ]
    board = Microcontroller("small", counts, rates, [0.001 + c * 1e-3 for c in range(6)])
    found = messages(board.run(0.1) + b"")
    board.send(wire.encode(wire.Command(wire.START, 1)))
    found = messages(board.run(3.2))
    got = samples(found)
    board.close()
    assert got.channel_status[-1].tolist() == [0, 3, 1, 1, 0, 0]
    assert got.counts[-1, 2:4].tolist() == [0x7FFFFF, -0x800000]
    early = got.channel_status[5].tolist()
    assert early == [0, 0, 1, 1, 0, 0]  # stuck is said after half a second
    assert [m for m in found if isinstance(m, wire.Status)][-1].stuck == 3


def test_nothing_connected_at_all() -> None:
    board = Microcontroller(
        "small", [np.zeros(1)] * 6, [80.0] * 6, [1e6] * 6
    )  # the first conversion comes in eleven days
    board.run(0.1)
    board.send(wire.encode(wire.Command(wire.START, 1)))
    found = messages(board.run(2.1))
    board.close()
    assert (samples(found).channel_status[-1] == 2).all()
    assert [m for m in found if isinstance(m, wire.Status)][-1].dead_mask == 0b111111


def test_a_reset_in_the_middle_of_a_message(board: Microcontroller) -> None:
    """At 25 moments: what was half sent is dropped by the decoder, and the board says that it is another boot."""
    rng = np.random.default_rng(3)
    decoder, boots = wire.Decoder(), []
    for _ in range(25):
        board.send(wire.encode(wire.Command(wire.START, 1)))
        data = board.run(board.now_s + 0.25 + float(rng.uniform(0, 0.0125)))
        board.reset()
        data += board.run(board.now_s + 0.15)
        for message in decoder.feed(data):
            if isinstance(message, wire.Hello):
                boots.append(message.boot_id)
            elif isinstance(message, wire.SamplesBatch):
                settled = (
                    message.flags & FLAG_SETTLING
                ) == 0  # a converter that was being read gives one value of two halves
                for c in range(board.channels):
                    conversion(message.counts[settled, c], c)
    assert len(boots) == 26
    assert boots[1:] == [b + 1 for b in boots[:-1]]
    assert sum(decoder.reasons.values()) <= 25


def test_the_watchdog_wakes_a_board_that_hangs(board: Microcontroller) -> None:
    board.run(0.5)
    board.hang()
    data = board.run(1.2)
    board.unhang()
    hellos = [m for m in wire.Decoder().feed(data + board.run(2.0)) if isinstance(m, wire.Hello)]
    assert 1 <= len(hellos) <= 4  # it runs into the same place until that is mended
    hello = hellos[-1]
    assert hello.reset_cause & 8  # as the chip says: the watchdog
    assert hello.streaming == 0


def test_line_errors_are_counted_and_said(board: Microcontroller) -> None:
    started(board, 0.3)
    board.send(wire.encode(wire.Command(wire.PING, 1, b"12345678"))[:-3] + b"\x11\x22\x00")
    board.send(b"\x05\x06\x07\x00" + b"\xff" * 400 + b"\x00")
    board.send(wire.encode(wire.Command(wire.PING, 9, b"abcdefgh")))
    found = messages(board.run(board.now_s + 1.5))
    (ack,) = [m for m in found if isinstance(m, wire.Ack)]
    assert (ack.request_id, ack.token) == (9, b"abcdefgh")
    assert [m for m in found if isinstance(m, wire.Status)][-1].bad_received == 3
    assert not (
        samples(found).flags & FLAG_RECEIVE_ERROR
    ).any()  # whole bytes, wrong contents: no error of the line


def test_uptime_and_sequence_go_on(board: Microcontroller) -> None:
    found = messages(board.run(0.1) + b"")
    board.send(wire.encode(wire.Command(wire.START, 1)))
    found = messages(board.run(6.05))
    assert [m.uptime_ms for m in found if isinstance(m, wire.Status)] == [1000, 2000, 3000, 4000, 5000, 6000]
    assert [m.dropped for m in found if isinstance(m, wire.Status)] == [0] * 6
