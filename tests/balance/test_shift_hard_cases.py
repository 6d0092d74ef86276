"""Weight shifts in hard cases: what is no load on the orthosis is not told as such; rests, steps and ramps are what they are."""

from __future__ import annotations

import numpy as np
import pytest

from balance import shifts as ws

RATE_HZ = 100.0
Knots = list[tuple[float, float]]


def a_course(
    left_bw: Knots, right_bw: Knots | None = None, seconds: float = 40.0, crutch: Knots | None = None
) -> ws.Course:
    """Straight lines between (seconds, % of body weight) knots; right: the rest of 100 where not given. Not noisy."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    left = np.interp(t, *zip(*left_bw, strict=True))
    hands = np.zeros_like(t) if crutch is None else np.interp(t, *zip(*crutch, strict=True))
    right = 100 - left - hands if right_bw is None else np.interp(t, *zip(*right_bw, strict=True))
    nothing = np.zeros(len(t), dtype=bool)
    return ws.Course(
        t, RATE_HZ, [(0, len(t))], 100 * left / (left + right), {"left": left, "right": right}, hands,
        {"left": nothing, "right": nothing}, {"left": np.full(len(t), np.nan), "right": np.full(len(t), np.nan)}, ~nothing,
    )  # fmt: skip


def judged(course: ws.Course, cues: tuple[str, ...] = ()) -> tuple[list[dict], dict]:
    baseline = ws.find_baseline(course, None)
    assert baseline is not None
    movements = ws.find_movements(course, baseline)
    return [ws.describe(course, m, baseline, True) for m in movements], ws.levels(
        course, movements, baseline, list(cues)
    )


def test_a_push_on_the_crutches_is_no_load_on_the_orthosis() -> None:
    """Orthosis foot 45 %, other foot 4 %, crutches 51 % of body weight: 92 % of both feet's load, and not half of the weight."""
    left = [(0, 50), (8, 50), (9, 45), (15, 45), (16, 50), (40, 50)]
    right = [(0, 50), (8, 50), (9, 4), (15, 4), (16, 50), (40, 50)]
    hands = [(0, 0), (8, 0), (9, 51), (15, 51), (16, 0), (40, 0)]
    (shift,), levels = judged(a_course([*left], [*right], crutch=[*hands]))
    assert shift["side"] == "left"
    assert shift["hold_share_pct"] == pytest.approx(91.8, abs=0.5)
    assert shift["body_weight_pct"] == pytest.approx(45, abs=0.5)
    assert shift["crutch_pct"] == pytest.approx(51, abs=0.5)
    assert levels["left"] == "not reached"


def test_five_points_more_than_before_are_not_a_load_taken() -> None:
    """55/4/41 from a baseline of 50: more than half of the weight, but only 5 points more than before."""
    left = [(0, 50), (8, 50), (9, 55), (15, 55), (16, 50), (40, 50)]
    right = [(0, 50), (8, 50), (9, 4), (15, 4), (16, 50), (40, 50)]
    hands = [(0, 0), (8, 0), (9, 41), (15, 41), (16, 0), (40, 0)]
    (shift,), levels = judged(a_course(left, right, crutch=hands))
    assert shift["body_weight_pct"] == pytest.approx(55, abs=0.5)
    assert levels["left"] == "not reached"


def test_two_long_holds_with_a_rest_between_are_two_shifts() -> None:
    knots = [(0, 50), (6, 50), (7, 80), (14, 80), (15, 57), (19, 57), (20, 84), (27, 84), (28, 50), (40, 50)]
    shifts, levels = judged(a_course(knots))
    assert [s["side"] for s in shifts] == ["left", "left"]
    assert [s["hold_share_pct"] for s in shifts] == pytest.approx([80, 84], abs=1)
    assert levels["left"] == "near-full load held"


def test_a_step_at_70_on_the_way_to_93_is_one_shift() -> None:
    knots = [(0, 50), (6, 50), (6.5, 70), (7.2, 70), (7.7, 93), (13, 93), (14, 50), (40, 50)]
    (shift,), _ = judged(a_course(knots))
    assert shift["hold_share_pct"] == pytest.approx(93, abs=1)
    assert shift["peak_share_pct"] == pytest.approx(93, abs=0.5)


def test_a_ramp_that_is_never_held_has_no_hold() -> None:
    knots = [(0, 50), (6, 50), (6.8, 95), (7.6, 50), (40, 50)]
    (shift,), levels = judged(a_course(knots))
    assert shift["peak_share_pct"] == pytest.approx(95, abs=0.5)
    assert shift["hold_s"] is None  # half a second at the tip spans 14 points, more than a hold's 10
    assert shift["body_weight_pct"] is None
    assert levels["left"] == "reached, not held"


def test_movement_in_the_first_second_is_no_baseline() -> None:
    knots = [(0, 70), (0.8, 50), (9, 50), (10, 80), (15, 80), (16, 50), (40, 50)]
    course = a_course(knots)
    baseline = ws.find_baseline(course, None)
    assert baseline is not None
    assert baseline.quiet
    assert baseline.share_left == pytest.approx(50, abs=0.5)
    (shift,), _ = judged(course)
    assert shift["start_s"] == pytest.approx(9.2, abs=0.3)


def test_a_rest_beside_the_middle_becomes_the_new_baseline() -> None:
    """Standing at 40/60 after a shift is a rest: the next movement counts from there, and coming back to the first is no shift."""
    knots = [
        (0, 50),
        (6, 50),
        (7, 80),
        (11, 80),
        (12, 40),
        (16, 40),
        (17, 50),
        (24, 50),
        (25, 78),
        (30, 78),
        (31, 50),
        (40, 50),
    ]
    shifts, _ = judged(a_course(knots))
    assert [s["side"] for s in shifts] == ["left", "right", "left"]
    assert [s["hold_share_pct"] for s in shifts if s["side"] == "left"] == pytest.approx([80, 78], abs=1)
