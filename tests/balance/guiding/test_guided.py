"""Guided jobs on a simulated board with a helper who does what each step says; and with one who does not."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balance.calibrating.result import calibrate
from balance.calibrating.together import CannotTell, calibrate_together, solve
from balance.calibration import Calibration
from balance.command_line.setting_up import demo_floor
from balance.files import FileProblem
from balance.guiding.cells import CellJob, Masses
from balance.guiding.daily import DailyJob
from balance.guiding.guide import Guide, Taken
from balance.guiding.kept import keep, kept
from balance.guiding.plates import PlateJob, masses_on_marks, person_on_marks
from balance.guiding.pressing import PressJob
from balance.placing import pressed_stance
from balance.rig import SIDES
from balance.steadiness import drift_counts, movement, noise_counts
from balance.verifying.causes import causes
from balance.verifying.places import measure, verification
from drivers.samples import LinkEvent, SampleBlock
from drivers.simulated_board.electronics import Electronics
from tests.balance.guiding.helper import GRAVITY, QUIET, Rigged, walk

FLOOR = demo_floor()
RIG, KNOWN = FLOOR.rig, FLOOR.calibration
TWO_CELLS = RIG.model_copy(update={"cells": [RIG.cells[0], RIG.cells[8]]})  # a foot's and a crutch's
MASSES = Masses((5.0, 10.0, 20.0), 0.002)


def obeys(rigged: Rigged, job: CellJob):
    def obey(key: str) -> None:
        load = next(one for one in job.loads if one.key == key)
        rigged.on_cell(load.channel, load.mass_kg)

    return obey


def loads_of(rigged: Rigged, job: PlateJob):
    keys = [step.key for step in job.steps]

    def obey(key: str) -> None:
        if key.startswith("zero"):
            rigged.nothing()
        else:
            load = job.loads[keys.index(key) - 1]
            rigged.on_plate(load.ap_mm, load.ml_mm, load.applied_n / GRAVITY)

    return obey


# --- the criterion ---


@given(st.floats(25.0, 1e4), st.integers(0, 2**32 - 1))
@settings(max_examples=50)
def test_white_noise_of_any_size_stands_and_its_size_is_found(noise: float, seed: int) -> None:
    """The median of |x| of a normal x is 0.6745 SD; a difference of two has √2 times their SD."""
    counts = np.random.default_rng(seed).normal(0, noise, 240)
    assert movement(counts) < 1
    assert noise_counts(counts) == pytest.approx(noise, rel=0.45)


@pytest.mark.parametrize("shape", ["drift", "step", "swing"])
def test_what_moves_by_more_than_noise_does_not_stand(shape: str) -> None:
    t = np.linspace(0, 1, 240)
    signal = {"drift": 400 * t, "step": 400.0 * (t > 0.5), "swing": 400 * np.sin(20 * t)}[shape]
    counts = signal + np.random.default_rng(1).normal(0, 50, 240)
    assert movement(counts) > 1
    found = drift_counts(counts)
    assert (found is not None) == (shape == "drift")
    assert found is None or found == pytest.approx(400, rel=0.15)


def test_a_load_may_creep_by_a_little_of_itself() -> None:
    counts = 1e6 + np.linspace(0, 300, 240)
    assert movement(counts) > 1
    assert movement(counts, load_counts=1e6) < 1


# --- calibration, one cell after the other ---


def test_a_calibration_that_is_obeyed_finds_the_true_gains() -> None:
    rigged = Rigged(RIG, KNOWN, gain={0: 1.07, 8: 0.9})
    job = CellJob(TWO_CELLS, Masses((5.0, 10.0, 20.0), 0.002, runs=2))
    guide, alarms = walk(rigged, job.steps, obeys(rigged, job))
    assert guide.is_done
    assert not alarms
    done = calibrate(job.points(guide.taken, GRAVITY), TWO_CELLS)
    assert done.accepted
    for channel in (0, 8):
        true = 1 / rigged.counts_per_newton[channel]
        assert done.calibration.of(channel).newton_per_count == pytest.approx(true, rel=2e-4)
        row = next(r for r in done.data["channels"] if r["channel"] == channel)
        assert row["repeatability_pct"] < 0.02
        assert row["hysteresis_pct"] < 0.02
        assert len([p for p in done.calibration.of(channel).points if p.applied_n == 0]) >= 6
    assert done.calibration.shared_gain_uncertainty == pytest.approx(0.002 / 10)


def test_the_dwell_measures_the_creep_of_the_cell() -> None:
    job = CellJob(
        TWO_CELLS.model_copy(update={"cells": [RIG.cells[0]]}), dataclasses.replace(MASSES, dwell=True)
    )
    rigged = Rigged(RIG, KNOWN)
    creeping = dataclasses.replace(QUIET, creep_pct=0.4, creep_tau_s=60.0)
    guide, _ = walk(rigged, job.steps, obeys(rigged, job), electronics=creeping, patience_s=250)
    assert guide.is_done
    done = calibrate(job.points(guide.taken, GRAVITY))
    late = [p for p in done.calibration.of(0).points if p.seconds is not None and p.seconds >= 180]
    assert len(late) == 1
    # of the whole 0.4 % what is left at about 2 s until about 185 s: 0.4·(e^(−2/60) − e^(−185/60))
    assert done.data["channels"][0]["creep_pct"] == pytest.approx(0.37, abs=0.03)


def test_a_load_on_the_wrong_cell_is_not_taken_and_both_channels_are_named() -> None:
    rigged = Rigged(RIG, KNOWN, swapped=(0, 8))
    job = CellJob(TWO_CELLS, MASSES)
    guide, alarms = walk(rigged, job.steps, obeys(rigged, job), patience_s=15)
    assert len(guide.taken) == 1
    assert "channel 8, not on channel 0" in alarms[-1]
    assert "swapped" in alarms[-1]


def test_a_wrong_mass_is_not_taken_by_itself_but_by_a_key() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = CellJob(TWO_CELLS, MASSES)
    obey = obeys(rigged, job)

    def mistaken(key: str) -> None:
        obey(key)
        if key.startswith("0 20"):
            rigged.on_cell(0, 15.0)

    guide, alarms = walk(rigged, job.steps, mistaken, patience_s=15)
    assert guide.step is not None
    assert guide.step.key.startswith("0 20")
    assert "15.00 kg, where 20 kg was expected" in alarms[-1]
    assert guide.take()
    assert guide.taken[-1].key.startswith("0 20")
    guide.redo()
    assert guide.step.key.startswith("0 20")


def test_a_cell_that_drifts_never_stands_and_is_named() -> None:
    rigged = Rigged(RIG, KNOWN, drift_n_s={0: 0.05})
    job = CellJob(TWO_CELLS, MASSES)
    guide, alarms = walk(rigged, job.steps, obeys(rigged, job), patience_s=15)
    assert not guide.taken
    assert not guide.take()
    assert "channel 0 wanders evenly" in alarms[-1]


def test_a_mass_left_behind_is_no_zero() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = CellJob(TWO_CELLS, MASSES)
    obey = obeys(rigged, job)

    def forgetful(key: str) -> None:
        obey(key)
        if "zero" in key and key.startswith("0,8"):
            rigged.on_cell(0, 5.0)

    guide, alarms = walk(rigged, job.steps, forgetful, patience_s=15)
    assert guide.step is not None
    assert guide.step.key.startswith("0,8")
    assert "25 % of the largest load is still on it" in guide.words
    assert not alarms  # the last mass simply still stands there


def test_a_lost_board_spoils_the_reading_that_runs_and_nothing_that_was_taken() -> None:
    guide = Guide(CellJob(TWO_CELLS, MASSES).steps, asks=False)
    rng = np.random.default_rng(1)

    def block(number: int) -> SampleBlock:
        at = np.arange(80) + 80 * number
        counts = rng.integers(-50, 50, (80, 10))
        return SampleBlock(at, at * 12_500, np.zeros(80, dtype=np.int64), counts)

    assert not guide.feed(block(0))
    assert not guide.feed(block(1))
    guide.happened(LinkEvent("lost", "event.silent", {"port": "COM3"}, 0))
    assert "COM3" in guide.words
    assert not guide.feed(block(2))  # anew: three seconds from here
    assert not guide.feed(block(3))
    assert guide.feed(block(4))
    guide.happened(LinkEvent("lost", "event.silent", {"port": "COM3"}, 0))
    assert len(guide.taken) == 1


def test_a_converter_fault_on_the_cell_is_never_a_reading() -> None:
    guide = Guide(CellJob(TWO_CELLS, MASSES).steps, asks=False)
    at = np.arange(400)
    stuck = SampleBlock(at, at * 12_500, np.full(400, 3 << 8), np.full((400, 10), 7))
    assert not guide.feed(stuck)
    assert "channel 0 reports a fault" in guide.words


def test_somebody_there_is_asked_before_the_first_zero() -> None:
    guide = Guide(CellJob(TWO_CELLS, MASSES).steps, asks=True)
    at = np.arange(400)
    quiet = SampleBlock(at, at * 12_500, np.zeros(400, dtype=np.int64), np.full((400, 10), 7))
    assert not guide.feed(quiet)
    assert guide.can_take
    assert guide.take()


# --- done steps are kept ---


def test_done_steps_go_on_where_they_stopped_and_only_in_the_same_job(tmp_path: Path) -> None:
    rigged = Rigged(RIG, KNOWN)
    job = CellJob(TWO_CELLS, MASSES)
    whole, _ = walk(rigged, job.steps, obeys(rigged, job))
    file = tmp_path / "calibration.json.steps"
    keep(file, "2026-03-02", job.steps, whole.taken[:4])
    back = kept(file, "2026-03-02", job.steps)
    assert back == []  # within a cell nobody knows which plugs were pulled: it begins again at its zero
    keep(file, "2026-03-02", job.steps, whole.taken[:9])
    back = kept(file, "2026-03-02", job.steps)
    assert [t.key for t in back] == [t.key for t in whole.taken[:6]]
    assert all((a.parts == b.parts).all() for a, b in zip(back, whole.taken, strict=False))
    rest, _ = walk(rigged, job.steps, obeys(rigged, job), guide=Guide(job.steps, back, asks=False))
    assert calibrate(job.points(rest.taken, GRAVITY)).accepted
    for day, steps in (("2026-03-03", job.steps), ("2026-03-02", job.steps[:-1])):
        with pytest.raises(FileProblem, match="another job"):
            kept(file, day, steps)
    assert kept(tmp_path / "none.steps", "2026-03-02", job.steps) == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"day": "2026-03-02", "steps": [], "taken": [{"key": 1}]}'])
def test_a_file_of_steps_that_is_none_is_refused(tmp_path: Path, text: str) -> None:
    file = tmp_path / "x.steps"
    file.write_text(text)
    with pytest.raises(FileProblem, match="another job"):
        kept(file, "2026-03-02", CellJob(TWO_CELLS, MASSES).steps)


# --- the plates on: gains together, verification ---


def test_gains_solved_together_are_the_true_ones_within_what_they_say() -> None:
    rigged = Rigged(RIG, KNOWN, gain={0: 1.08, 5: 0.93})
    job = PlateJob(RIG, masses_on_marks(RIG, [20.0], 0.002, GRAVITY))
    guide, alarms = walk(rigged, job.steps, loads_of(rigged, job))
    assert guide.is_done
    assert not alarms
    data = calibrate_together(job.placed(guide.taken), RIG)
    assert data["accepted"]
    known = Calibration.model_validate(data["calibration"])
    for channel in range(8):
        true = 1 / rigged.counts_per_newton[channel]
        assert known.of(channel).newton_per_count == pytest.approx(true, rel=1e-3)
    assert all(plate["rank"] == 4 for plate in data["plates"])


def test_a_person_gives_the_scale_though_they_stand_on_no_place() -> None:
    """Of a person's rows only the balance of force counts: their true place may be anywhere."""
    rigged = Rigged(RIG, KNOWN)
    job = PlateJob(
        RIG, [*masses_on_marks(RIG, [10.0], 0.05, GRAVITY), *person_on_marks(RIG, 71.2, 0.02, GRAVITY)]
    )
    obey = loads_of(rigged, job)
    rng = np.random.default_rng(2)
    keys = [s.key for s in job.steps]

    def elsewhere(key: str) -> None:
        obey(key)
        load = None if key.startswith("zero") else job.loads[keys.index(key) - 1]
        if load is not None and load.person:
            rigged.on_plate(load.ap_mm + rng.normal(0, 20), load.ml_mm + rng.normal(0, 10), 71.2)

    guide, _ = walk(rigged, job.steps, elsewhere)
    assert guide.is_done
    (left, _) = solve(job.placed(guide.taken), RIG)
    assert left.off_pct < 0.1
    true = 1 / rigged.counts_per_newton[:4]
    assert np.abs(left.slopes / true - 1).max() < 3 * (np.sqrt(np.diag(left.covariance)) / true).max()


def test_places_that_cannot_tell_the_cells_apart_are_refused_with_the_rank() -> None:
    rigged = Rigged(RIG, KNOWN)
    marks = masses_on_marks(RIG, [5.0, 10.0, 20.0], 0.002, GRAVITY)[:3]  # all in the middle of one plate
    job = PlateJob(RIG, marks)
    guide, _ = walk(
        rigged, job.steps, loads_of(rigged, job), electronics=dataclasses.replace(QUIET, noise_n=0.0)
    )
    placed = job.placed(guide.taken)
    exact = [dataclasses.replace(p, counts=tuple(round(c, 3) for c in p.counts)) for p in placed]
    with pytest.raises(CannotTell, match=r"told apart|hardly tell"):
        solve(exact, RIG)
    with pytest.raises(CannotTell, match="1 loaded places"):
        solve(placed[:7], RIG)


@pytest.mark.parametrize(
    ("hidden", "named"),
    [
        ({}, None),
        ({"gain": {2: 1.05}}, "left forefoot cell (channel 2) shows 5.0 % too much"),
        ({"swapped": (4, 6)}, "(channel 4) and the right forefoot cell (channel 6) are swapped"),
    ],
)
def test_a_guided_verification_finds_what_is_hidden(hidden: dict, named: str | None) -> None:
    rigged = Rigged(RIG, KNOWN, **hidden)
    job = PlateJob(RIG, masses_on_marks(RIG, [20.0], None, GRAVITY), KNOWN)
    guide, _ = walk(rigged, job.steps, loads_of(rigged, job))
    assert guide.is_done
    zeroed = KNOWN.with_zeros(job.zeros(guide.taken))
    places = measure([p for p in job.placed(guide.taken) if p.applied_n], RIG, zeroed)
    assert max(map(abs, job.drifted_n(guide.taken).values())) < 0.1
    assert verification(places)["agrees"] == (named is None)
    found = [cause.sentence for cause in causes(places, RIG)]
    assert any(named in sentence for sentence in found) if named else not found


def test_the_zero_afterwards_shows_a_cell_that_drifts() -> None:
    """Friction hides a slow drift from a reading of three seconds, not from the zero at the end."""
    rigged = Rigged(RIG, KNOWN, drift_n_s={5: 20 / 600})
    job = PlateJob(RIG, masses_on_marks(RIG, [20.0], None, GRAVITY), KNOWN)
    guide, _ = walk(rigged, job.steps, loads_of(rigged, job), electronics=Electronics())
    drifted = job.drifted_n(guide.taken)
    assert [channel for channel, moved in drifted.items() if abs(moved) > 1.0] == [5]


def test_a_load_on_the_other_plate_is_said() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = PlateJob(RIG, masses_on_marks(RIG, [20.0], None, GRAVITY), KNOWN)

    def mirrored(key: str) -> None:
        loads_of(rigged, job)(key)
        if key != "zero":
            load = job.loads[0]
            rigged.on_plate(load.ap_mm, -load.ml_mm, 20.0)

    guide, alarms = walk(rigged, job.steps, mirrored, patience_s=15)
    assert len(guide.taken) == 1
    assert "on another plate" in alarms[-1]


# --- the daily minute ---


@pytest.mark.parametrize(("gain", "agrees"), [(1.0, True), (1.03, False)])
def test_the_daily_minute_sees_a_plate_that_is_off(gain: float, agrees: bool) -> None:
    rigged = Rigged(RIG, KNOWN, gain=dict.fromkeys((4, 5, 6, 7), gain))
    job = DailyJob(RIG, KNOWN)

    def obey(key: str) -> None:
        rigged.nothing() if key == "zero" else rigged.on_plate(60.0, -115.0 if key == "left" else 115.0, 68.0)

    guide, _ = walk(rigged, job.steps, obey)
    found = job.result(guide.taken)
    assert found.left_n / GRAVITY == pytest.approx(68, abs=0.05)
    assert found.agrees == agrees
    assert found.difference == pytest.approx(
        1 / gain - 1 if gain < 1 else -(gain - 1) / (1 + (gain - 1) / 2), abs=1e-3
    )
    assert ("Do not measure" in found.sentence) == (not agrees)


def test_one_foot_on_each_plate_is_no_daily_reading() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = DailyJob(RIG, KNOWN)

    def both(key: str) -> None:
        if key != "zero":
            rigged.on_plate(60.0, -115.0, 34.0)
            left = dict(rigged.force_n)
            rigged.on_plate(60.0, 115.0, 34.0)
            rigged.force_n = {c: rigged.force_n[c] + left[c] for c in left}

    guide, _ = walk(rigged, job.steps, both, patience_s=20)
    assert len(guide.taken) == 1


# --- the shoe, pressed ---


def test_presses_give_heel_edge_axis_and_usable_length() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = PressJob(RIG, KNOWN, SIDES)
    rng = np.random.default_rng(4)
    true = {("left", "heel"): (-50.0, -100.0), ("left", "rocker"): (170.0, -125.0),
            ("right", "heel"): (-48.0, 102.0), ("right", "rocker"): (172.0, 128.0)}  # fmt: skip

    def obey(key: str) -> None:
        if key == "zero" or "let go" in key:
            rigged.nothing()
        else:
            side, end, _ = key.split()
            ap, ml = true[side, end]
            rigged.on_plate(ap + rng.normal(0, 0.5), ml + rng.normal(0, 0.5), 9.0)

    guide, _ = walk(rigged, job.steps, obey)
    assert guide.is_done
    presses = job.presses(guide.taken)
    assert len(presses) == 12
    stance = pressed_stance(FLOOR.stance, presses)
    for side in SIDES:
        foot = stance.foot(side)
        heel, rocker = true[side, "heel"], true[side, "rocker"]
        assert foot.heel_edge_ap_mm == pytest.approx(heel[0], abs=3 * foot.placement_uncertainty_mm)
        assert foot.usable_length_mm == pytest.approx(np.hypot(rocker[0] - heel[0], rocker[1] - heel[1]), abs=3 * foot.length_uncertainty_mm)  # fmt: skip
        assert 0.5 < foot.placement_uncertainty_mm < 4


def test_a_light_press_is_not_taken() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = PressJob(RIG, KNOWN, ["left"])
    guide, _ = walk(rigged, job.steps, lambda key: rigged.on_plate(170.0, -125.0, 4.0 if key != "zero" else 0.0), patience_s=10)  # fmt: skip
    assert len(guide.taken) == 1
    assert "press harder" in guide.words


def test_noisy_cheap_cells_can_be_calibrated_too() -> None:
    rigged = Rigged(RIG, KNOWN)
    job = CellJob(TWO_CELLS, MASSES)
    guide, _ = walk(rigged, job.steps, obeys(rigged, job), electronics=Electronics())
    assert guide.is_done
    done = calibrate(job.points(guide.taken, GRAVITY), TWO_CELLS)
    assert done.accepted
    assert Taken("x", np.ones((3, 2)), 0.0).counts.tolist() == [1.0, 1.0]
