"""COBS (Cheshire & Baker 1999, IEEE/ACM ToN 7(2):159–172), CRC-32 check value, 24-bit two's complement decoding."""

from __future__ import annotations

import csv
import zlib
from pathlib import Path

import pytest

from drivers import wire

DATA = Path(__file__).parent / "data"


def _cobs() -> list[tuple[bytes, bytes]]:
    with (DATA / "cobs_vectors.csv").open() as file:
        rows = list(csv.DictReader(file))
    return [(bytes.fromhex(r["raw_hex"]), bytes.fromhex(r["cobs_hex_no_delimiter"])) for r in rows]


def test_there_are_vectors() -> None:
    assert len(_cobs()) >= 14


@pytest.mark.parametrize(("raw", "coded"), _cobs())
def test_cobs_vectors(raw: bytes, coded: bytes) -> None:
    assert wire.cobs_encode(raw) == coded
    assert wire.cobs_decode(coded) == raw


@pytest.mark.parametrize("bad", [b"\x05\x11\x22\x33", b"\x00\x11", b"\x03\x11\x00", b""])
def test_malformed_frames_are_refused(bad: bytes) -> None:
    assert wire.cobs_decode(bad) is None


def test_crc32_check_value() -> None:
    with (DATA / "crc_check_values.csv").open() as file:
        published = {r["name"]: int(r["check_123456789"], 16) for r in csv.DictReader(file)}
    assert zlib.crc32(b"123456789") == published["CRC-32/ISO-HDLC"] == 0xCBF43926
    framed = wire.cobs_decode(wire.frame(b"123456789")[:-1])
    assert framed is not None
    assert framed[-4:] == (0xCBF43926).to_bytes(4, "little")


@pytest.mark.parametrize(
    ("word", "counts"),
    [(0, 0), (1, 1), (0x7FFFFF, 8388607), (0x800000, -8388608), (0xFFFFFF, -1), (0x800001, -8388607), (0x123456, 1193046), (0xFEDCBA, -74566)],
)  # fmt: skip
def test_converter_coding(word: int, counts: int) -> None:
    """24-bit two's complement as bridge converters send it; derived values."""
    data = wire.encode_samples(0, 0, 0, [0], [0], [word])
    batch = wire.Decoder().feed(data)[0]
    assert isinstance(batch, wire.SamplesBatch)
    assert batch.counts.tolist() == [[counts]]
