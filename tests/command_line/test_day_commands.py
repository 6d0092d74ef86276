"""Notes of a session, and the session as one file."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from balance.command_line.app import app
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
