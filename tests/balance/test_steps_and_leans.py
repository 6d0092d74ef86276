"""Crutch load and lean: what was made to happen is found, and what the hands did is not told as the orthosis'."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from balance.analysis import analyse_recording
from balance.command_line.setting_up import Floor, demo_floor
from balance.command_line.simulated_trial import board_of, record_simulated
from balance.findings_words import summary_lines
from balance.simulated_person import Scenario, SimulatedPerson
from balance.simulated_person.loads import PersonLoads
from tests.command_line.test_commands import _nulls

FLOOR = demo_floor()


def found(out: Path, floor: Floor = FLOOR, **described: Any) -> dict[str, Any]:
    scenario = Scenario.model_validate({"schema": 1, "mass_kg": 70.0, "left_crutch_pct": 9.0, "right_crutch_pct": 9.0, "sway_ap_mm": 2.0, "sway_ml_mm": 2.0, **described})  # fmt: skip
    person = SimulatedPerson(floor.rig, floor.stance, scenario, 4)
    board = board_of(PersonLoads(person, floor.calibration), scenario, 80.0, 4)
    result = analyse_recording(record_simulated(floor, scenario, person, board, out, scenario.seconds))
    named = {key for entry in result["quality"] for key in entry.get("keys", [])}
    assert [path for path in _nulls(result) if path not in named] == []
    return result


def test_lighter_hands_are_a_relief_with_its_interval(tmp_path: Path) -> None:
    lighter = {
        "start_s": 26.2,
        "ramp_s": 1.0,
        "hold_s": 30.0,
        "left_crutch_pct": 3.0,
        "right_crutch_pct": 4.0,
    }
    result = found(tmp_path, protocol="crutch load", seconds=40.0, move=[lighter])
    first, nearer, light = result["crutch_steps"]
    assert [s["step"] for s in result["crutch_steps"]] == ["tips as they are", "tips nearer", "lighter hands"]
    assert first["crutch_pct"] == pytest.approx(18.0, abs=0.5)
    assert first["left_crutch_kg"] == pytest.approx(6.3, abs=0.2)
    assert first["left_crutch_weight_pct"] == pytest.approx(9.0, abs=0.3)
    assert light["crutch_pct"] == pytest.approx(7.0, abs=0.4)
    low, high = light["relief_ci95"]
    assert 10 < low < light["relief_pct"] < high < 12
    assert abs(nearer["relief_pct"]) < 0.1
    assert first["body_on_left_mm"] is not None
    assert 0 <= first["over_feet_pct_time"] <= 100
    assert nearer["body_on_left_mm"] is None
    assert "tips-moved" in [entry["code"] for entry in result["quality"]]
    words = "\n".join(summary_lines(result))
    assert f"lighter hands: crutches {light['crutch_pct']:.1f} %" in words
    assert f"relief {light['relief_pct']:+.1f} points" in words


def test_a_line_ahead_of_the_feet_is_seen_in_every_step(tmp_path: Path) -> None:
    result = found(tmp_path, protocol="crutch load", seconds=12.0, line_pct=90.0)
    (step,) = result["crutch_steps"]
    assert step["over_feet_pct_time"] < 5
    assert step["ahead_pct_time"] > 95


LEAN = {"start_s": 6.5, "ramp_s": 1.0, "hold_s": 20.0, "line_pct": 75.0}


@pytest.mark.parametrize(
    ("move", "more"),
    [
        ({**LEAN, "left_crutch_pct": 4.0, "right_crutch_pct": 4.0}, True),  # onto the shells, off the hands
        ({**LEAN, "left_crutch_pct": 16.0, "right_crutch_pct": 16.0}, False),  # forward onto the hands
        (
            {**LEAN, "line_pct": 53.0, "left_crutch_pct": 4.0, "right_crutch_pct": 4.0},
            False,
        ),  # lighter hands alone
    ],
)
def test_more_on_the_orthosis_only_if_all_three_changed(
    tmp_path: Path, move: dict[str, float], more: bool
) -> None:
    result = found(tmp_path, protocol="lean", seconds=18.0, line_pct=53.0, move=[move])
    block = result["lean"]
    for side in ("left", "right"):
        assert block["more_on_orthosis"][side]["more"] is more
        low, high = block[side]["used_pct"]
        assert low == pytest.approx(53, abs=4)
        assert high == pytest.approx(move["line_pct"], abs=5)
    words = "\n".join(summary_lines(result))
    assert ("more load went through the orthosis" in words) == more
    assert ("the hands may have done it" in words) == (not more)


def test_without_a_lean_nothing_is_compared(tmp_path: Path) -> None:
    result = found(tmp_path, protocol="lean", seconds=5.5)
    assert result["lean"]["more_on_orthosis"] == {"left": None, "right": None}
    assert "no-lean" in [entry["code"] for entry in result["quality"]]
    assert result["lean"]["least_margin_mm"] is not None
