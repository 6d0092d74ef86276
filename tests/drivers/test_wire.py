"""The wire format: any split gives the same messages, every corrupted one is rejected, the next good one is found."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers import wire

HELLO = wire.Hello(1, 0, (1, 2, 3), 77, 1, 2, 1, 128, 800, 500_000, b"\x01\x02\x03\x04\x05\x06\x07\x08", 0)
MESSAGES = [
    HELLO,
    wire.Status(1, 2, 3, 4, 5, 6),
    wire.Ack(1, 0x82, 0, 10, 20, bytes(8)),
    wire.Command(wire.PING, 3, b"12345678"),
]

sample = st.tuples(
    st.integers(0, 65535), st.integers(0, 2**32 - 1), st.integers(0, 127),
    st.lists(st.tuples(st.integers(0, 3), st.integers(-32768, 32767), st.integers(-(2**23), 2**23 - 1)), min_size=1, max_size=14),
)  # fmt: skip


def _encode(s: tuple) -> bytes:
    status, dt, counts = (list(x) for x in zip(*s[3], strict=True))
    return wire.encode_samples(s[0], s[1], s[2], status, dt, counts)


def _flat(messages: list) -> list:
    out = []
    for m in messages:
        if isinstance(m, wire.SamplesBatch):
            for i in range(len(m.sequence)):
                out.append(
                    (
                        int(m.sequence[i]),
                        int(m.t0_us[i]),
                        int(m.flags[i]),
                        m.channel_status[i].tolist(),
                        m.dt[i].tolist(),
                        m.counts[i].tolist(),
                    )
                )
        else:
            out.append(m)
    return out


@pytest.mark.parametrize("message", MESSAGES)
def test_round_trip(message: wire.Hello) -> None:
    assert wire.Decoder().feed(wire.encode(message)) == [message]


@settings(deadline=None, max_examples=100)
@given(
    st.lists(sample, min_size=1, max_size=8),
    st.lists(st.integers(0, 600), max_size=12),
    st.binary(max_size=40),
)
def test_any_split_gives_the_same(samples: list, cuts: list[int], noise: bytes) -> None:
    data = noise + b"\0" + b"".join(_encode(s) for s in samples) + wire.encode(HELLO) + b"\x05\x07"
    whole = wire.Decoder()
    expected = _flat(whole.feed(data))
    pieces = wire.Decoder()
    found, last = [], 0
    for cut in [*sorted(min(c, len(data)) for c in cuts), len(data)]:
        found += pieces.feed(data[last:cut])
        last = cut
    assert _flat(found) == expected
    assert len(expected) >= len(samples) + 1
    for decoder in (whole, pieces):
        assert decoder.decoded + decoder.skipped + decoder.pending == len(data)


@settings(deadline=None, max_examples=100)
@given(sample, st.data())
def test_a_corrupted_message_is_rejected_and_the_next_found(s: tuple, data: st.DataObject) -> None:
    good = _encode(s)
    at = data.draw(st.integers(0, len(good) - 2))
    flip = data.draw(st.integers(1, 255))
    bad = bytearray(good)
    bad[at] ^= flip
    decoder = wire.Decoder()
    found = _flat(decoder.feed(bytes(bad) + good + good))
    one = _flat(wire.Decoder().feed(good))[0]
    # A byte that became a delimiter cuts the message in two; all pieces are rejected, the good ones are found.
    assert found == [one, one]


def test_endless_noise_keeps_a_small_buffer() -> None:
    decoder = wire.Decoder()
    for _ in range(100):
        decoder.feed(b"\x55" * 1000)
        assert decoder.pending <= wire.MAX_FRAME
    assert _flat(decoder.feed(b"\0" + wire.encode(HELLO))) == [HELLO]
    assert decoder.decoded + decoder.skipped + decoder.pending == 100_000 + 1 + len(wire.encode(HELLO))


def test_unknown_types_and_longer_tails_are_passed_over() -> None:
    decoder = wire.Decoder()
    longer = wire.cobs_decode(wire.encode(HELLO)[:-1])
    assert longer is not None
    found = decoder.feed(wire.frame(b"\x42abc") + wire.frame(longer[:-4] + b"\x09"))
    assert found == [HELLO]
    assert decoder.reasons == {"unknown type": 1}


def test_no_undetected_small_errors() -> None:
    payload = wire.cobs_decode(_encode((7, 8, 0, [(0, -3, 1234), (0, 5, -77)]))[:-1])
    assert payload is not None
    rng = np.random.default_rng(1)
    for _ in range(500):
        bad = bytearray(payload)
        for bit in rng.choice(len(payload) * 8, rng.integers(1, 5), replace=False):
            bad[bit // 8] ^= 1 << int(bit % 8)
        assert wire.Decoder().feed(wire.cobs_encode(bytes(bad)) + b"\0") == []
