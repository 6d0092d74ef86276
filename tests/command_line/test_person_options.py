"""What is entered of the person and the occasion stands in the header of each trial."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from balance import demo
from balance.command_line.app import app
from balance.protocols.weight_shift import with_targets
from balance.recording import read_recording
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_session import FLOOR

FILES = [
    f"--{name.split('.')[0]}={demo.path(name)}" for name in ("rig.toml", "stance.toml", "calibration.json")
]


@pytest.fixture
def board(monkeypatch: pytest.MonkeyPatch) -> None:
    """A person who steps up after 3 s and is gone after 18, behind every port."""
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(
        update={"seconds": 60.0, "arrives_s": 3.0, "leaves_s": 18.0}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    monkeypatch.setattr("drivers.serial_board.SerialBoard", lambda port: SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), 25.0))  # fmt: skip


@pytest.mark.usefixtures("board")
def test_everything_entered_stands_in_the_header(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["record", *FILES, "--port", "x", "--out", str(tmp_path), "--subject", "Q1", "--seconds", "2", "--orthosis", "left",
                                    "--posture", "knees-flexed", "--placing", "3", "--helper", "steadied", "--height-m", "1.7", "--condition", "eyes=closed",
                                    "--condition", "order=2"])  # fmt: skip
    assert done.exit_code == 0, done.stderr
    trial = json.loads((Path(done.stdout.strip().splitlines()[-1]) / "trial.json").read_text())
    assert trial["orthosis"] == {"side": "left"}
    assert trial["posture"] == {"kind": "knees flexed"}
    assert trial["placing"] == 3
    assert trial["touched"] == "steadied"
    assert trial["subject"]["height_m"] == 1.7
    assert trial["conditions"] == {"eyes": "closed", "order": "2"}


@pytest.mark.usefixtures("board")
def test_a_researcher_is_asked_for_conditions_and_repeats(tmp_path: Path) -> None:
    asked = [
        "record",
        *FILES,
        "--port",
        "x",
        "--out",
        str(tmp_path),
        "--subject",
        "Q1",
        "--seconds",
        "2",
        "--research",
    ]
    done = CliRunner().invoke(app, asked, input="eyes=closed\nnonsense\n\n0\n2\n")
    assert done.exit_code == 0, done.stderr
    folders = [Path(line) for line in done.stdout.splitlines() if line.startswith(str(tmp_path))]
    trials = [json.loads((folder / "trial.json").read_text()) for folder in folders]
    assert [one["protocol_settings"] for one in trials] == [
        {"repeat": 1, "repeats": 2},
        {"repeat": 2, "repeats": 2},
    ]
    assert {one["conditions"]["eyes"] for one in trials} == {"closed"}
    again = CliRunner().invoke(
        app, asked, input="open\n\n\n"
    )  # the name and the repeats of last time are offered
    assert again.exit_code == 0, again.stderr
    assert "eyes" in again.stderr
    last = [line for line in again.stdout.splitlines() if line.startswith(str(tmp_path))]
    assert len(last) == 2
    assert json.loads((Path(last[0]) / "trial.json").read_text())["conditions"] == {"eyes": "open"}


@pytest.mark.usefixtures("board")
def test_a_hands_free_recording_waits_for_the_stand(tmp_path: Path) -> None:
    done = CliRunner().invoke(
        app,
        [
            "record",
            *FILES,
            "--port",
            "x",
            "--out",
            str(tmp_path),
            "--subject",
            "Q1",
            "--seconds",
            "5",
            "--hands-free",
        ],
    )
    assert done.exit_code == 0, done.stderr
    assert "When ready: stand up" in done.stderr
    recording = read_recording(Path(done.stdout.strip().splitlines()[-1]))
    assert 6e6 < recording.samples.board_us[0] < 9e6
    assert len(recording.samples) == pytest.approx(400, abs=2)


@pytest.mark.usefixtures("board")
@pytest.mark.parametrize("text", ["eyes", "=closed", "eyes="])
def test_a_condition_is_a_name_and_a_value(tmp_path: Path, text: str) -> None:
    done = CliRunner().invoke(
        app, ["record", *FILES, "--port", "x", "--out", str(tmp_path), "--condition", text]
    )
    assert done.exit_code == 2
    assert "write name=value" in done.stderr


def test_targets_are_rungs_to_either_side() -> None:
    protocol = with_targets([50, 65], 2)
    assert [cue.detail for cue in protocol.cues] == ["shift left 50", "shift right 50"] * 2 + [
        "shift left 65",
        "shift right 65",
    ] * 2
    assert protocol.seconds == 7 + 8 * 9
    for arguments, words in (
        (["--targets", "50,x"], "between 10 and 100"),
        (["--targets", "5"], "between 10 and 100"),
    ):
        done = CliRunner().invoke(app, ["record", *FILES, "--protocol", "weight-shift", *arguments])
        assert done.exit_code == 2
        assert words in done.stderr
    assert "belongs to" in CliRunner().invoke(app, ["record", *FILES, "--targets", "50"]).stderr
