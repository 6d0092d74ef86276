"""The firmware's C protocol, compiled for the host, and drivers/wire.py encode and decode each other, whole and damaged."""

from __future__ import annotations

import ctypes
import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers import wire
from tests.firmware.build import built

MESSAGES = 100_000  # in the one run over all kinds


class Command(ctypes.Structure):
    _fields_ = (
        ("kind", ctypes.c_uint8),
        ("request_id", ctypes.c_uint8),
        ("length", ctypes.c_uint8),
        ("argument", ctypes.c_uint8 * 96),
    )


class Receiver(ctypes.Structure):
    _fields_ = (
        ("frame", ctypes.c_uint8 * 102),
        ("length", ctypes.c_uint8),
        ("overlong", ctypes.c_bool),
        ("bad", ctypes.c_uint32),
    )


@cache
def protocol() -> ctypes.CDLL:
    lib = ctypes.CDLL(str(built() / "protocol.so"))
    lib.frame_of.restype, lib.frame_of.argtypes = (
        ctypes.c_uint8,
        [ctypes.c_char_p, ctypes.c_uint8, ctypes.c_char_p],
    )
    lib.receive.restype = ctypes.c_bool
    lib.receive.argtypes = [ctypes.POINTER(Receiver), ctypes.c_uint8, ctypes.POINTER(Command)]
    lib.crc32_more.restype, lib.crc32_more.argtypes = ctypes.c_uint32, [ctypes.c_uint32, ctypes.c_uint8]
    return lib


def c_frame(payload: bytes) -> bytes:
    out = ctypes.create_string_buffer(102)
    length = protocol().frame_of(payload, len(payload), out)
    return out.raw[:length]


def c_receive(data: bytes, receiver: Receiver) -> Iterator[tuple[int, int, bytes]]:
    command = Command()
    for byte in data:
        if protocol().receive(ctypes.byref(receiver), byte, ctypes.byref(command)):
            yield command.kind, command.request_id, bytes(command.argument[: command.length])


def test_the_checksum_by_its_check_value() -> None:
    crc = 0
    for byte in b"123456789":
        crc = protocol().crc32_more(crc, byte)
    assert crc == 0xCBF43926


@settings(max_examples=300, deadline=None)
@given(st.binary(min_size=1, max_size=96))
def test_any_payload_makes_the_same_frame(payload: bytes) -> None:
    assert c_frame(payload) == wire.frame(payload)


commands = st.builds(
    wire.Command, st.sampled_from(wire.COMMANDS), st.integers(0, 255), st.binary(max_size=12)
)


@settings(max_examples=300, deadline=None)
@given(st.lists(commands, max_size=5), st.binary(max_size=300))
def test_commands_after_any_noise(wanted: list[wire.Command], noise: bytes) -> None:
    data = noise + b"\0" + b"".join(map(wire.encode, wanted))
    got = list(c_receive(data, Receiver()))
    assert got[len(got) - len(wanted) :] == [(c.kind, c.request_id, c.argument) for c in wanted]


@settings(max_examples=300, deadline=None)
@given(commands, st.data())
def test_a_damaged_command_is_none(wanted: wire.Command, data: st.DataObject) -> None:
    """Up to four flipped bits, a byte lost, doubled or put in: never another command; counted where it ends as a frame."""
    frame = bytearray(wire.encode(wanted))
    kind = data.draw(st.sampled_from(["bits", "lost", "doubled", "inserted"]))
    at = data.draw(st.integers(0, len(frame) - 2))
    if kind == "bits":
        for bit in data.draw(st.sets(st.integers(0, 8 * (len(frame) - 1) - 1), min_size=1, max_size=4)):
            frame[bit // 8] ^= 1 << bit % 8
    elif kind == "lost":
        del frame[at]
    elif kind == "doubled":
        frame.insert(at, frame[at])
    else:
        frame.insert(at, data.draw(st.integers(0, 255)))
    receiver = Receiver()
    got = list(c_receive(bytes(frame), receiver))
    assert got in (
        [],
        [(wanted.kind, wanted.request_id, wanted.argument)],
    )  # a lost byte may be restored by nobody: a put-in 0 may
    if not got:
        assert receiver.bad >= 1


def test_a_hundred_thousand_messages_of_all_kinds() -> None:
    """Made in C, decoded by the program, in lumps that fit nothing."""
    rng = np.random.default_rng(1)
    kinds = rng.choice(
        [wire.HELLO, wire.STATUS, wire.ACK, wire.SAMPLES], MESSAGES, p=[0.02, 0.05, 0.05, 0.88]
    )
    sizes = {wire.HELLO: 29, wire.STATUS: 23, wire.ACK: 20, wire.SAMPLES: 44}
    out = bytearray()
    for kind in kinds.tolist():
        payload = bytearray([kind]) + rng.bytes(sizes[kind] - 1)
        if kind == wire.SAMPLES:
            for c in range(6):
                payload[8 + 6 * c] = c | (payload[8 + 6 * c] & 0x30)
        out += c_frame(bytes(payload))
    decoder, seen = wire.Decoder(), 0
    for start in range(0, len(out), 4099):
        for message in decoder.feed(bytes(out[start : start + 4099])):
            seen += len(message.sequence) if isinstance(message, wire.SamplesBatch) else 1
    assert (seen, decoder.skipped, decoder.pending) == (MESSAGES, 0, 0)


def test_an_overlong_frame_is_dropped_whole() -> None:
    receiver = Receiver()
    good = wire.encode(wire.Command(wire.PING, 7, b"12345678"))
    got = list(c_receive(b"\x05" * 5000 + b"\0" + good, receiver))
    assert got == [(wire.PING, 7, b"12345678")]
    assert receiver.bad == 1


def test_lone_delimiters_are_nobodys_fault() -> None:
    receiver = Receiver()
    assert list(c_receive(b"\0\0\0", receiver)) == []
    assert receiver.bad == 0


@pytest.mark.parametrize("kind", [wire.HELLO, 0x06])
def test_what_only_a_board_sends_is_no_command(kind: int) -> None:
    receiver = Receiver()
    assert list(c_receive(wire.frame(bytes([kind, 1])), receiver)) == []


def test_a_capture_of_the_firmware_reads_as_it_did() -> None:
    """1.2 s of the six-channel board (boot, START, PING, a STATUS), kept for ever: what was once written can be read."""
    here = Path(__file__).parent
    known = json.loads((here / "capture.json").read_text())
    decoder = wire.Decoder()
    found = decoder.feed((here / "capture.bin").read_bytes())
    assert [type(m).__name__ for m in found] == known["messages"]
    batches = [m for m in found if isinstance(m, wire.SamplesBatch)]
    counts, dt, flags = (
        np.concatenate([getattr(b, name) for b in batches]) for name in ("counts", "dt", "flags")
    )
    sequence, t0_us = (np.concatenate([getattr(b, name) for b in batches]) for name in ("sequence", "t0_us"))
    assert [int(sequence[0]), int(sequence[-1])] == known["sequence"]
    assert [int(t0_us[0]), int(t0_us[-1])] == known["t0_us"]
    assert (counts[0].tolist(), counts[-1].tolist(), int(counts.sum()), int(dt.sum())) == (
        known["first"],
        known["last"],
        known["sum"],
        known["dt_sum"],
    )
    assert flags.tolist() == known["flags"]
    assert decoder.skipped == 1
