"""CRC-32 (reflected 0x04C11DB7): the check value of "123456789" as published for the common polynomials."""

from __future__ import annotations

import csv
import zlib
from pathlib import Path

from drivers import wire

DATA = Path(__file__).parent / "data"


def test_crc32_check_value() -> None:
    with (DATA / "crc_check_values.csv").open() as file:
        published = {r["name"]: int(r["check_123456789"], 16) for r in csv.DictReader(file)}
    assert zlib.crc32(b"123456789") == published["CRC-32/ISO-HDLC"] == 0xCBF43926
    framed = wire.cobs_decode(wire.frame(b"123456789")[:-1])
    assert framed is not None
    assert framed[-4:] == (0xCBF43926).to_bytes(4, "little")
