"""Notes of a session, and the session as one file."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from balance.command_line.app import app
from balance.noting import Noting
from tests.balance.day.a_day import AFTER, SHIFT, add


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    day = tmp_path / "R7T" / "2026-03-02"
    add(day, AFTER, "10:00")
    add(day, SHIFT, "10:10")
    return day


def noted(day: Path) -> dict[str, object]:
    return dict(json.loads((day / "session.json").read_text()))


def test_adjustments_are_appended_and_the_old_ones_stay(day: Path) -> None:
    assert (
        run(
            "note",
            day,
            "--adjustment",
            "alignment angle",
            "--side",
            "left",
            "--from",
            "5",
            "--to",
            "8",
            "--unit",
            "deg",
            "--at",
            "2026-03-02T10:30+01:00",
        ).exit_code
        == 0
    )
    assert (
        run("note", day, "--adjustment", "heel wedge", "--to", "5", "--unit", "mm", "--temporary").exit_code
        == 0
    )
    first, second = noted(day)["adjustments"]
    assert first == {
        "when": "2026-03-02T10:30+01:00",
        "side": "left",
        "what": "alignment angle",
        "from": 5.0,
        "to": 8.0,
        "unit": "deg",
    }
    assert second["temporary"] is True
    assert run("check", day).stdout.count("not since the adjustment at") > 3


def test_a_recording_is_set_aside_with_a_reason_and_kept(day: Path) -> None:
    assert "needs a --reason" in run("note", day, "--set-aside", "01-quiet-standing").stderr
    assert "no such recording" in run("note", day, "--set-aside", "09-x", "--reason", "a hand").stderr
    assert (
        run("note", day, "--set-aside", "01-quiet-standing", "--reason", "a hand on the bar").exit_code == 0
    )
    assert (day / "01-quiet-standing" / "samples.csv").exists()
    assert "body line over the feet: not measured" in run("check", day).stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "Nothing to note"),
        (["--adjustment", "shoe", "--at", "half past ten"], "not a time"),
        (["--does-not-apply", "luck"], "no item of the standing check"),
    ],
)
def test_what_cannot_be_noted_is_said(day: Path, arguments: list[str], words: str) -> None:
    done = run("note", day, *arguments)
    assert done.exit_code == 2
    assert words in done.stderr
    assert not (day / "session.json").exists()


def test_limits_names_and_items(day: Path) -> None:
    assert (
        run(
            "note",
            day,
            "--crutch-limit-pct",
            "20",
            "--examiner",
            "E. <i>",
            "--place",
            "room 3",
            "--does-not-apply",
            "load taken",
        ).exit_code
        == 0
    )
    assert noted(day) == {
        "schema": 1,
        "adjustments": [],
        "placings": [],
        "crutch_limit_pct": 20.0,
        "does_not_apply": ["load taken"],
        "examiner": "E. <i>",
        "place": "room 3",
        "set_aside": [],
        "corrected": [],
    }
    assert "load taken, left: does not apply" in run("check", day).stdout


def test_a_session_leaves_as_one_file_and_overwrites_nothing(day: Path) -> None:
    done = run("pack", day)
    assert done.exit_code == 0
    path = Path(done.stdout.strip())
    assert path.name == "R7T-2026-03-02.zip"
    with zipfile.ZipFile(path) as archive:
        names = archive.namelist()
        assert "R7T/2026-03-02/01-quiet-standing/samples.csv" in names
        assert (
            archive.read("R7T/2026-03-02/02-weight-shift/trial.json")
            == (day / "02-weight-shift" / "trial.json").read_bytes()
        )
    again = run("pack", day)
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert run("pack", day.parent / "none").exit_code == 2


def test_joint_centres_are_typed_into_the_recording_and_stand_in_the_report(day: Path) -> None:
    assert (
        run(
            "note", day, "--recording", "01-quiet-standing", "--knee-ahead-mm", "12", "--hip-ahead-mm", "-8"
        ).exit_code
        == 0
    )
    posture = json.loads((day / "01-quiet-standing" / "trial.json").read_text())["posture"]
    assert posture == {"kind": "own", "knee_offset_mm": 12.0, "hip_offset_mm": -8.0}
    page = Path(run("report", day).stdout.strip()).read_text()
    assert "Joint centres" in page
    assert "+12" in page
    assert run("note", day, "--recording", "01-quiet-standing").exit_code == 2


def test_both_sides_of_a_weight_shift_are_compared(day: Path) -> None:
    (shift,) = [
        one
        for one in json.loads(run("analyse", day, "--format", "json").stdout)
        if one["protocol"] == "weight shift"
    ]
    sides = shift["shift_sides"]
    held = [s["body_weight_pct"] for s in shift["shifts"] if s["side"] == "left"]
    assert sides["left_pct"] == pytest.approx(sum(held) / len(held))
    assert sides["difference_pct"] == pytest.approx(sides["left_pct"] - sides["right_pct"])
    assert sides["ci95"] is None  # one hold to the right only
    assert "holds: left" in run("analyse", day).stdout


def test_what_is_corrected_stays_logged(day: Path) -> None:
    assert run("note", day, "--adjustment", "heel wedge", "--to", "5", "--unit", "mm").exit_code == 0
    assert run("note", day, "--correct", "1", "--side", "left", "--to", "6").exit_code == 0
    (entry,), (logged,) = noted(day)["adjustments"], noted(day)["corrected"]
    assert (entry["what"], entry["side"], entry["to"], entry["unit"]) == ("heel wedge", "left", 6.0, "mm")
    assert logged["entry"] == "adjustments.1"
    assert logged["was"]["to"] == 5.0
    assert run("note", day, "--withdraw", "1").exit_code == 0
    assert noted(day)["adjustments"] == []
    assert [one["was"]["to"] for one in noted(day)["corrected"]] == [5.0, 6.0]
    assert "There is no adjustment 1" in run("note", day, "--correct", "1", "--to", "7").stderr
    assert run("note", day, "--examiner", "E. One").exit_code == 0
    assert run("note", day, "--examiner", "E. Two").exit_code == 0
    assert (noted(day)["examiner"], noted(day)["corrected"][-1]["was"]) == ("E. Two", "E. One")


def test_an_adjustment_noted_by_a_key_is_described_later(day: Path) -> None:
    noting = Noting()
    noting.closed(day / "01-quiet-standing")
    noting.adjusted(temporary=True)
    assert (
        run(
            "note", day, "--correct", "1", "--adjustment", "heel wedge", "--to", "5", "--unit", "mm"
        ).exit_code
        == 0
    )
    (entry,) = noted(day)["adjustments"]
    assert (entry["what"], entry["temporary"], entry.get("note")) == ("heel wedge", True, None)


def test_a_recording_set_aside_can_be_taken_back(day: Path) -> None:
    name = "01-quiet-standing"
    assert "was not set aside" in run("note", day, "--take-back", name).stderr
    assert run("note", day, "--set-aside", name, "--reason", "a hand on the bar").exit_code == 0
    assert run("note", day, "--take-back", name).exit_code == 0
    assert noted(day)["set_aside"] == []
    assert noted(day)["corrected"][0]["was"][0]["reason"] == "a hand on the bar"


def test_a_recordings_header_is_corrected_and_its_samples_are_not(day: Path) -> None:
    folder = day / "01-quiet-standing"
    before, samples = json.loads((folder / "trial.json").read_text()), (folder / "samples.csv").read_bytes()
    assert (
        run(
            "note", day, "--recording", folder.name, "--posture", "knees-flexed", "--body-weight-n", "801"
        ).exit_code
        == 0
    )
    trial = json.loads((folder / "trial.json").read_text())
    assert trial["posture"]["kind"] == "knees flexed"
    assert trial["subject"]["body_weight_n"] == 801
    assert trial["subject"]["code"] == before["subject"]["code"]
    assert {one["entry"]: one["was"] for one in trial["corrected"]}["subject"] == before["subject"]
    assert (folder / "samples.csv").read_bytes() == samples
    assert "Of which recording" in run("note", day, "--posture", "own").stderr
