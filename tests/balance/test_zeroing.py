"""Zeros: when one is read, when it is refused, and what a plate's own weight is not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from balance.zeroing import Zero, Zeros
from drivers.samples import CHANNEL_STUCK, FLAG_SETTLING
from tests.balance.test_self_checks import FLOOR, standing, with_force, with_status

QUIET = standing(3.0, kg=0.0)


def asked(zeros: Zeros, loads: dict[str, float]) -> Zero | str:
    return zeros.read(FLOOR.calibration, 80.0, loads, 20.0)


def fed(block: object = QUIET, zeros: Zeros | None = None) -> Zeros:
    zeros = zeros or Zeros(FLOOR.rig)
    zeros.feed(block)
    return zeros


def test_the_mean_of_empty_cells_and_how_well_it_is_known() -> None:
    zero = asked(fed(), {"left": 0.1, "right": -0.2})
    assert isinstance(zero, Zero)
    for channel in FLOOR.rig.channels:
        column = QUIET.counts[:, channel]
        assert zero.counts[channel] == pytest.approx(column.mean())
        assert zero.u_counts[channel] == pytest.approx(column.std(ddof=1) / len(column) ** 0.5)
    assert zero.channels == 10


@pytest.mark.parametrize(
    ("block", "words"),
    [
        (QUIET[:40], "needs 2 s of readings"),
        (with_status(QUIET, 4, CHANNEL_STUCK), "reports a fault"),
        (replace(QUIET, status=QUIET.status | FLAG_SETTLING), "has not settled"),
        (with_force(QUIET, 4, np.linspace(0, 8, 240)), "right heel moves by 2.3 N"),
    ],
)
def test_what_is_no_zero_is_refused_with_the_reason(block: object, words: str) -> None:
    refusal = asked(fed(block), {})
    assert isinstance(refusal, str)
    assert words in refusal


def test_the_plates_own_weight_is_taken_when_asked_twice_at_the_beginning_only() -> None:
    zeros = fed()
    first = asked(zeros, {"left": 34.0})
    assert isinstance(first, str)
    assert "34 N stand on the left plate" in first
    assert "ask for the zero again within 10 s" in first
    later = replace(QUIET, board_us=QUIET.board_us + 4_000_000, sequence=QUIET.sequence + 320)
    zero = asked(fed(later, zeros), {"left": 34.0})
    assert isinstance(zero, Zero)
    zeros.take(zero, FLOOR.calibration)
    for seconds in (8, 12):
        again = replace(QUIET, board_us=QUIET.board_us + seconds * 1_000_000)
        refusal = asked(fed(again, zeros), {"left": 34.0})
        assert isinstance(refusal, str)
        assert "Everybody off" in refusal


def test_a_second_question_that_comes_late_is_a_first_one() -> None:
    zeros = fed()
    assert isinstance(asked(zeros, {"left": 34.0}), str)
    late = replace(QUIET, board_us=QUIET.board_us + 30_000_000)
    assert isinstance(asked(fed(late, zeros), {"left": 34.0}), str)


def test_a_recording_that_cannot_be_told_is_said_and_the_zero_counts(tmp_path: Path) -> None:
    zeros = fed()
    zero = asked(zeros, {})
    assert isinstance(zero, Zero)
    _, said = zeros.take(zero, FLOOR.calibration)
    assert said == ["zero taken"]
    zeros.closed(tmp_path / "gone")
    known, said = zeros.take(zero, FLOOR.calibration)
    assert "could not be noted" in said[-1]
    assert known.of(0).zero_counts == zero.counts[0]
