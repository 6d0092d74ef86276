"""The budget of each result adds up to the uncertainty that is printed; what would help most is named; before a trial, too."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from balance.analysis import findings
from balance.command_line.setting_up import demo_floor
from balance.foreseen import foresee
from balance.recording.reading import read_recording
from tests.command_line.test_commands import FILES, bandstand

FLOOR = demo_floor()
RECORDING = next(
    p for p in sorted((Path(__file__).parents[2] / "recordings" / "R7T").glob("*/*")) if p.is_dir()
)


def test_each_budget_adds_up() -> None:
    found = findings(read_recording(RECORDING), budgets=True)
    assert {"load.total_n", "load.crutch_pct", "load_line.body_on_left.mean_mm", "moment.left.ankle_mean_nm"} <= set(found["budget"])  # fmt: skip
    for path, table in found["budget"].items():
        assert sum(entry["share_pct"] for entry in table["entries"]) == pytest.approx(100)
        block: object = found
        *parents, key = path.split(".")
        for name in parents:
            block = block[name]
        assert isinstance(block, dict)
        assert table["value"] == block[key]
        printed = block["uncertainty_mm"] if key == "mean_mm" else block[f"{key}_u"]
        assert table["uncertainty"] == pytest.approx(printed, rel=1e-9)
        quadrature = math.sqrt(
            sum((e["sensitivity"] * e["standard_uncertainty"]) ** 2 for e in table["entries"])
        )
        assert quadrature == pytest.approx(table["uncertainty"], rel=0.1)  # but for what is correlated


def test_the_command_prints_it() -> None:
    done = bandstand("analyse", RECORDING, "--budget")
    assert "body_on_left.mean_mm: " in done.stdout
    assert "standard uncertainty" in done.stdout
    (data,) = json.loads(bandstand("analyse", RECORDING, "--budget", "--format", "json").stdout)
    entry = data["budget"]["load.total_n"]["entries"][0]
    assert {"source", "standard_uncertainty", "unit", "sensitivity", "share_pct"} <= set(entry)
    assert "budget" not in json.loads(bandstand("analyse", RECORDING, "--format", "json").stdout)[0]


def test_what_cannot_be_is_said_before_the_trial(tmp_path: Path) -> None:
    assert all(one.possible for one in foresee(FLOOR.rig, FLOOR.stance, FLOOR.calibration, 627.6))
    by_eye = FLOOR.stance.left_foot.model_copy(update={"placement_uncertainty_mm": 12.0})
    stance = FLOOR.stance.model_copy(update={"left_foot": by_eye})
    left, right = foresee(FLOOR.rig, stance, FLOOR.calibration, 627.6)
    assert not left.possible
    assert right.possible
    assert "mark where the foot stands" in left.sentence
    text = Path(FILES[3]).read_text().replace("[left_foot]", "[left_foot]\nplacement_uncertainty_mm = 12.0")
    (tmp_path / "stance.toml").write_text(text)
    files = [*FILES]
    files[3] = str(tmp_path / "stance.toml")
    done = bandstand("record", "--port", "/dev/no-such-port", "--out", tmp_path, *files, expect=2)
    assert "cannot be reached" in done.stderr


def test_foreseen_is_what_a_trial_then_has() -> None:
    """Within a tenth: the stand is another, the errors are the same."""
    found = findings(read_recording(RECORDING))
    trial = read_recording(RECORDING).trial
    left, _ = foresee(trial.rig, trial.stance, trial.calibration, trial.body_weight_n, trial.body_weight_u_n)
    assert left.u_mm == pytest.approx(found["load_line"]["body_on_left"]["uncertainty_mm"], rel=0.1)
