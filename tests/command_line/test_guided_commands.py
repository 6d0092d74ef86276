"""The path from a board to an accepted rig, its verification, the daily minute and the shoes, as a new user walks it: the commands
on a simulated board whose masses come and go by a scenario, and whose faults no file knows."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from balance import demo
from balance.command_line import guided
from balance.command_line.app import app
from balance.command_line.setting_up import demo_floor
from balance.command_line.simulated_trial import board_of
from balance.files import FileProblem, as_toml
from balance.guiding.plates import marks_of
from balance.simulated_person import Scenario, SimulatedPerson
from balance.simulated_person.loads import PersonLoads
from balance.stance import read_stance
from drivers.simulated_board.source import SimulatedSource

FLOOR = demo_floor()
RIG = str(demo.path("rig.toml"))
KNOWN = str(demo.path("calibration.json"))


class Bench:
    """Masses one after the other; a scenario in the making."""

    def __init__(self, **hidden: object) -> None:
        self.loads: list[dict[str, float]] = []
        self.hidden, self.t_s = hidden, 6.0

    def put(self, kg: float, seconds: float = 5.0, pause: float = 0.5, **where: float) -> None:
        self.loads.append({"start_s": self.t_s, "end_s": self.t_s + seconds, "mass_kg": kg, **where})
        self.t_s += seconds + pause

    def source(self) -> SimulatedSource:
        scenario = Scenario.model_validate(
            {"schema": 1, "mass_kg": 70.0, "seconds": self.t_s + 60, "arrives_s": self.t_s + 50, "load": self.loads,
             "hidden": self.hidden}
        )  # fmt: skip
        person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 1)
        board = board_of(PersonLoads(person, FLOOR.calibration), scenario, 80.0, 1)
        return SimulatedSource(board, scenario.seconds)


def on(bench: Bench, monkeypatch: pytest.MonkeyPatch, *arguments: str) -> Result:
    """A command on the bench's board; nobody is there to press a key."""
    monkeypatch.setattr(guided, "board", lambda port: bench.source())
    return CliRunner().invoke(app, [*arguments])


def cell_bench(channels: Sequence[int] = FLOOR.rig.channels, **hidden: object) -> Bench:
    bench = Bench(**hidden)
    for channel in channels:
        for kg in (10.0, 20.0, 30.0, 20.0, 10.0):
            bench.put(kg, pause=0.0, channel=channel)
        bench.t_s += 5.0
    return bench


def mark_bench(**hidden: object) -> Bench:
    bench = Bench(**hidden)
    for ap, ml in marks_of(FLOOR.rig):
        bench.put(20.0, ap_mm=ap, ml_mm=ml)
    return bench


def verified(bench: Bench, monkeypatch: pytest.MonkeyPatch, calibration: str) -> tuple[int, dict[str, Any]]:
    done = on(bench, monkeypatch, "verify-rig", "--rig", RIG, "--calibration", calibration, "--mass-kg", "20", "--format", "json")  # fmt: skip
    assert "All steps are done." in done.stderr
    return done.exit_code, json.loads(done.stdout)


def test_from_counts_to_an_accepted_rig_that_verifies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One cell's gain is not what any file says: calibrating finds the true one, and the rig then agrees with the masses."""
    out, page = tmp_path / "calibration.json", tmp_path / "page.html"
    hidden = {"gain": [{"channel": 2, "factor": 1.04}]}
    done = on(cell_bench(**hidden), monkeypatch, "calibrate", "--rig", RIG, "--masses", "10,20,30", "--mass-uncertainty-kg", "0.002",
              "--out", str(out), "--report", str(page))  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert "accepted" in done.stdout
    assert "Put 30 kg on the left heel cell (channel 0)" in done.stderr
    assert "Lift the crutch with the left crutch cell (channel 8)" in done.stderr
    assert not out.with_name("calibration.json.steps").exists()
    assert "<svg" in page.read_text()
    found = json.loads(out.read_text())
    assert found["board_id"]
    assert found["gain"] == 128
    old = FLOOR.calibration.of(2).newton_per_count
    new = next(c["newton_per_count"] for c in found["channels"] if c["channel"] == 2)
    assert new == pytest.approx(old / 1.04, rel=6e-3)  # friction and creep are as cells have them
    status, data = verified(mark_bench(**hidden), monkeypatch, str(out))
    assert status == 0
    assert data["agrees"]
    assert data["causes"] == []


@pytest.mark.parametrize(
    ("hidden", "named"),
    [
        ({"gain": [{"channel": 2, "factor": 1.08}]}, "left forefoot cell (channel 2) shows"),
        ({"swapped": [4, 6]}, "(channel 4) and the right forefoot cell (channel 6) are swapped"),
        (
            {"drifting": [{"channel": 5, "n_in_10_min": 30.0}]},
            "zero of the right heel cell (channel 5) moved",
        ),
    ],
)
def test_each_hidden_fault_is_found_and_the_answer_is_no(hidden: dict[str, object], named: str, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    status, data = verified(mark_bench(**hidden), monkeypatch, KNOWN)
    assert status == 1
    assert any(named in cause for cause in data["causes"])


def test_calibrating_with_swapped_plugs_says_so_and_goes_on_when_they_are_right(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    out, rig = tmp_path / "calibration.json", tmp_path / "rig.toml"
    two = FLOOR.rig.model_copy(update={"cells": [FLOOR.rig.cells[2], FLOOR.rig.cells[6]]})
    rig.write_text(as_toml(two))
    command = ("calibrate", "--rig", str(rig), "--masses", "10,20,30", "--out", str(out))
    done = on(cell_bench([2], swapped=[2, 6]), monkeypatch, *command)
    assert done.exit_code == 2
    assert "The load shows on channel 6, not on channel 2" in done.stderr
    assert "Stopped after step 1 of 13. The steps that are done are kept" in done.stderr
    assert not out.exists()
    again = on(cell_bench([2, 6]), monkeypatch, *command)
    assert again.exit_code == 0, again.stderr
    assert "goes on" not in again.stderr  # a zero alone is read anew: the plugs may be others now
    out.with_name("calibration.json.steps").write_text("{}")
    refused = on(cell_bench([2]), monkeypatch, *command)
    assert isinstance(refused.exception, FileProblem)
    assert "another job" in str(refused.exception)


def test_the_plates_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    for ap, ml in marks_of(FLOOR.rig):
        bench.put(20.0, ap_mm=ap, ml_mm=ml)
    out = tmp_path / "plates.json"
    done = on(bench, monkeypatch, "calibrate", "--plates", "--rig", RIG, "--masses", "20", "--mass-uncertainty-kg", "0.002",
              "--out", str(out), "--report", str(tmp_path / "page.html"))  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert "rank 4, condition" in done.stdout
    found = json.loads(out.read_text())
    assert len(found["places"]) == 16
    for channel in found["channels"]:
        true = FLOOR.calibration.of(channel["channel"]).newton_per_count
        assert channel["newton_per_count"] == pytest.approx(true, rel=0.025)  # marks good for 2 mm


@pytest.mark.parametrize("right_kg", [68.0, 66.0])
def test_the_daily_minute(right_kg: float, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    bench.put(68.0, 9.0, 2.0, ap_mm=60.0, ml_mm=-115.0)
    bench.put(right_kg, 9.0, 2.0, ap_mm=60.0, ml_mm=115.0)
    done = on(bench, monkeypatch, "verify-rig", "--daily", "--rig", RIG, "--calibration", KNOWN)
    assert done.exit_code == (0 if right_kg == 68.0 else 1), done.stderr
    assert ("they agree" if right_kg == 68.0 else "Do not measure with this rig") in done.stdout


def test_the_shoes_are_pressed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    for sign in (-1, 1):
        for ap, ml in ((170.0, 128.0), (-50.0, 102.0)):
            for _ in range(3):
                bench.put(9.0, 2.5, 1.5, ap_mm=ap, ml_mm=sign * ml)
    out, shoe = tmp_path / "stance.toml", tmp_path / "shoe.toml"
    done = on(bench, monkeypatch, "place", "--press", "both", "--stance", str(demo.path("stance.toml")), "--out", str(out),
              "--shoe", str(shoe), "--rig", RIG, "--calibration", KNOWN)  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert shoe.exists()
    for foot in (read_stance(out).left_foot, read_stance(out).right_foot):
        assert foot.heel_edge_ap_mm == pytest.approx(-50, abs=2)
        assert foot.usable_length_mm == pytest.approx((220**2 + 26**2) ** 0.5, abs=3)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["calibrate"], "Say which points"),
        (["calibrate", "--rig", RIG, "--masses", "5000,10000"], "kilograms, not grams"),
        (["calibrate", "--rig", RIG, "--masses", "20,10"], "rising totals"),
        (["calibrate", "--rig", RIG, "--masses", "5;10"], "rising totals"),
        (["calibrate", "--rig", RIG, "--masses", "10"], "At least two different masses"),
        (["calibrate", "--rig", RIG, "--person", "71"], "standard uncertainty"),
        (["verify-rig", "--rig", RIG, "--calibration", KNOWN], "--mass-kg 20, or --daily"),
        (
            ["place", "--press", "left", "--stance", str(demo.path("stance.toml"))],
            "--rig and --calibration are needed",
        ),
    ],
)
def test_what_is_missing_or_wrong_is_said(arguments: list[str], words: str) -> None:
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 2
    assert words in done.stderr


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("60,-115,196.1,1,2,3,4,5,6,7,8,9,10", "no row without load"),
        ("0,0,0,0,0,0,0,0,0,0,0,0,0\n60,-115,196.1,9000,9000,9000,9000,0,0,0,0,0,0", "1 loaded places; at least 2"),
        ("0,0,0,0,0,0,0,0,0,0,0,0,0\n60,-115,196.1,9000,9000,9000,9000,0,0,0,0,0,0\n60,-115,98.05,4500,4500,4500,4500,0,0,0,0,0,0", "cannot be told apart"),
        ("0,0,0,0,0,0,0,0,0,0,0,0,0\n60,-115,nan,9,9,9,9,0,0,0,0,0,0", "applied_n"),
    ],
)  # fmt: skip
def test_a_table_of_places_that_cannot_serve_is_refused(tmp_path: Path, rows: str, words: str) -> None:
    file = tmp_path / "placed.csv"
    file.write_text("ap_mm,ml_mm,applied_n," + ",".join(f"counts{c}" for c in range(10)) + "\n" + rows + "\n")
    done = CliRunner().invoke(app, ["calibrate", "--from-plates", str(file), "--rig", RIG])
    assert done.exit_code != 0
    shown = (
        done.stderr
        if done.exception is None or isinstance(done.exception, SystemExit)
        else str(done.exception)
    )
    assert words in shown
