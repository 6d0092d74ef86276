"""24-bit two's complement as bridge converters send it; vectors derived from the definition, no published source."""

from __future__ import annotations

import pytest

from drivers import wire


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
