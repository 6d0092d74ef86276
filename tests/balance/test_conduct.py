"""The course of a session and the watch on the places: by hand, and by a machine that tries everything."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from balance.command_line.setting_up import demo_floor
from balance.conduct import COURSES, STEADY_S, Conduct, after
from balance.placing_watch import PlacingWatch

FLOOR = demo_floor()
WEIGHT_N = 650.0


def feed(
    conduct: Conduct,
    seconds: float,
    load_n: float,
    *,
    start_s: float = 0.0,
    sway_mm: float = 4.0,
    swing_n: float = 3.0,
) -> float:
    for k in range(round(seconds * 10)):
        t = start_s + k / 10
        conduct.saw(t, load_n + swing_n * np.sin(3 * t), 60 + sway_mm * np.sin(2 * t))
    return start_s + seconds


def test_a_stand_up_a_trial_and_down_again() -> None:
    conduct = Conduct(WEIGHT_N, 120.0)
    t = feed(conduct, 3.0, 120.0)
    assert conduct.course == "sitting"
    t = feed(conduct, 2.0, 640.0, start_s=t)
    assert conduct.course == "standing up"
    assert not conduct.begin
    t = feed(conduct, 2.5, 640.0, start_s=t)
    assert conduct.begin
    conduct.began()
    t = feed(conduct, 20.0, 640.0, start_s=t)
    assert conduct.course == "recording"
    conduct.ended()
    t = feed(conduct, 10.0, 640.0, start_s=t)
    assert conduct.course == "stay"  # no second recording without sitting down
    t = feed(conduct, 1.0, 100.0, start_s=t)
    assert conduct.course == "sitting"


def test_steadiness_is_seen_within_five_seconds_of_it() -> None:
    conduct = Conduct(WEIGHT_N, None)
    t = feed(conduct, 2.0, 640.0, swing_n=150.0, sway_mm=60.0)
    start = t
    while not conduct.begin:
        t = feed(conduct, 0.1, 640.0, start_s=t)
        assert t - start < 5.0


@pytest.mark.parametrize("moving", [{"sway_mm": 40.0}, {"swing_n": 60.0}])
def test_who_moves_is_not_recorded(moving: dict[str, float]) -> None:
    conduct = Conduct(WEIGHT_N, None)
    feed(conduct, 20.0, 640.0, **moving)
    assert conduct.course == "standing up"


def test_sitting_down_ends_a_recording() -> None:
    conduct = Conduct(WEIGHT_N, None, course="recording")
    feed(conduct, 0.5, 300.0)
    assert conduct.course == "sitting"


def test_too_heavy_for_the_plates_is_no_trial() -> None:
    conduct = Conduct(None, 60.0)
    feed(conduct, 6.0, 700.0)
    assert conduct.course == "too heavy"
    assert not conduct.begin


def test_without_a_weight_the_same_by_newtons() -> None:
    conduct = Conduct(None, None)
    t = feed(conduct, 5.0, 300.0)
    assert conduct.course == "sitting"
    feed(conduct, 5.0, 500.0, start_s=t)
    assert conduct.begin


class AnyCourse(RuleBasedStateMachine):
    """Whatever is seen in whatever order: a recording begins only after three seconds of standing still, and never twice."""

    def __init__(self) -> None:
        super().__init__()
        self.conduct = Conduct(WEIGHT_N, 120.0)
        self.t_s, self.stood_s, self.recordings = 0.0, 0.0, 0

    @rule(
        load=st.sampled_from([0.0, 100.0, 380.0, 450.0, 560.0, 650.0]),
        sway=st.sampled_from([2.0, 60.0]),
        seconds=st.floats(0.1, 6.0),
    )
    def stands(self, load: float, sway: float, seconds: float) -> None:
        still = load >= 0.8 * WEIGHT_N + 5 and sway < 10
        self.stood_s = self.stood_s + seconds if still else 0.0
        self.t_s = feed(self.conduct, seconds, load, start_s=self.t_s, sway_mm=sway)

    @rule()
    def begins(self) -> None:
        if self.conduct.begin:
            assert self.stood_s >= 0.9 * STEADY_S
            self.conduct.began()
            self.recordings += 1
            assert self.conduct.course == "recording"

    @rule()
    def ends(self) -> None:
        before = self.conduct.course
        self.conduct.ended()
        assert self.conduct.course == ("stay" if before == "recording" else before)

    @invariant()
    def knows_its_course(self) -> None:
        assert self.conduct.course in {course for course, _ in COURSES}


AnyCourse.TestCase.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
TestAnyCourse = AnyCourse.TestCase


def test_what_is_not_in_the_table_cannot_happen() -> None:
    assert after("sitting", "begun") == "sitting"
    assert after("stay", "stands") == "stay"


# --- places ---


def watched(watch: PlacingWatch, seconds: float, start_s: float = 0.0, **loads: float) -> bool:
    fell = False
    foot = {"left": loads.get("left", 300.0), "right": loads.get("right", 300.0)}
    hand = {s: loads[f"{s}_hand"] for s in ("left", "right") if f"{s}_hand" in loads}
    for k in range(round(seconds * 10) + 1):
        fell |= watch.saw(start_s + k / 10, foot, 20.0, hand)
    return fell


def test_before_anybody_steps_up_there_is_nothing_to_confirm() -> None:
    watch = PlacingWatch(FLOOR.rig, FLOOR.stance)
    assert not watched(watch, 10.0, left=0.0, right=0.0)
    assert watch.is_confirmed


def test_a_lifted_foot_makes_the_places_unconfirmed_and_a_new_placing_when_confirmed() -> None:
    watch = PlacingWatch(FLOOR.rig, FLOOR.stance)
    assert not watched(watch, 1.0)
    assert not watched(watch, 0.8, start_s=2.0, left=5.0)
    assert watch.is_confirmed
    assert not watched(watch, 5.0, start_s=3.0)
    assert watched(watch, 1.2, start_s=10.0, left=5.0)
    assert not watch.is_confirmed
    assert not watched(watch, 2.0, start_s=12.0)
    assert not watch.is_confirmed
    watch.confirm()
    assert (watch.is_confirmed, watch.number) == (True, 2)
    watch.confirm()
    assert watch.number == 2


def test_confirmed_before_the_person_steps_up_stays_confirmed() -> None:
    watch = PlacingWatch(FLOOR.rig, FLOOR.stance)
    watched(watch, 1.0)
    assert watched(watch, 2.0, start_s=1.0, left=0.0, right=0.0)
    watch.confirm()
    assert not watched(watch, 5.0, start_s=5.0, left=0.0, right=0.0)
    assert not watched(watch, 5.0, start_s=10.0)
    assert watch.is_confirmed
    assert watched(watch, 2.0, start_s=20.0, right=0.0)


def test_a_tip_moved_alone_leaves_the_placing() -> None:
    crutch = FLOOR.stance.left_crutch
    assert crutch is not None
    stance = FLOOR.stance.model_copy(update={"left_crutch": crutch.model_copy(update={"own_weight_n": 9.0})})
    watch = PlacingWatch(FLOOR.rig, stance)
    assert not watched(watch, 3.0, left_hand=0.5)  # standing there unloaded
    assert watched(watch, 0.4, start_s=5.0, left_hand=-8.5)
    watch.confirm()
    assert watch.number == 1


def test_a_crutch_without_own_weight_is_never_said_to_hang() -> None:
    watch = PlacingWatch(FLOOR.rig, FLOOR.stance)
    assert not watched(watch, 3.0, left_hand=0.0, right_hand=-1.0)
    assert watch.is_confirmed
