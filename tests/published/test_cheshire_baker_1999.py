"""COBS: Cheshire & Baker 1999, IEEE/ACM Transactions on Networking 7(2):159–172; vectors as in common test suites."""

from __future__ import annotations

import csv
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
