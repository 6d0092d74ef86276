"""The standing check: which trial answers which question, in what words, with which status; nothing is summed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from balance.command_line.app import app
from balance.day.notes import Notes, read_notes, write_notes
from balance.day.reading import Day, read_day
from balance.day.standing_check import is_met, standing_check
from balance.files import FileProblem
from balance.recording import read_recording
from balance.verdict import normal_below
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add, adjusted, note

ITEMS = [
    "body line in the band", "foot point in the band", "body line over the feet", "nothing else carries load",
    "crutch share within its limit", "load taken", "ankle moment within what was entered", "other postures over the support",
]  # fmt: skip


def checked(day: Path) -> list[dict[str, Any]]:
    return standing_check(read_day(day))


def of(items: list[dict[str, Any]], item: str, side: str | None = None) -> dict[str, Any]:
    (one,) = [i for i in items if i["item"] == item and i["side"] == side]
    return one


def test_the_items_stand_in_their_order_and_say_which_trial_answered(tmp_path: Path) -> None:
    add(tmp_path / "d", AFTER, "10:00")
    add(tmp_path / "d", SHIFT, "10:10")
    items = checked(tmp_path / "d")
    assert list(dict.fromkeys(i["item"] for i in items)) == ITEMS
    assert [i["side"] for i in items if i["item"] == "load taken"] == ["left", "right"]
    body = of(items, "body line in the band", "left")
    assert body["result"] == "met"
    assert body["recording"].endswith("d/01-quiet-standing")
    block = read_day(tmp_path / "d").found[0].findings["load_line"]["body_on_left"]
    assert body["numbers"]["mean_pct"] == block["mean_pct"]
    assert body["numbers"]["probability_inside"] == block["probability_inside"]
    assert (
        body["why"]
        == f"{block['mean_mm']:.0f} mm ± {-(-2 * block['uncertainty_mm'] // 1):.0f} is inside 115 to 153"
    )
    assert of(items, "load taken", "left")["recording"].endswith("02-weight-shift")
    assert of(items, "load taken", "left")["result"] == "met"
    assert of(items, "crutch share within its limit")["result"] == "does not apply"


def test_only_trials_since_the_last_adjustment_answer(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00")
    add(day, SHIFT, "10:10")
    note(day, adjustments=[adjusted("10:42"), adjusted("09:00")])
    items = checked(day)
    assert of(items, "body line in the band", "left")["result"] == "not measured"
    assert of(items, "body line in the band", "left")["why"] == "not since the adjustment at 10:42"
    assert of(items, "load taken", "right")["why"] == "not since the adjustment at 10:42"
    assert not is_met(items)
    first, second = add(day, BEFORE, "11:00"), add(day, AFTER, "11:05")
    one = of(checked(day), "body line in the band", "left")
    assert one["recording"].endswith(second.name)
    assert [e["recording"].rsplit("/", 1)[-1] for e in one["earlier"]] == [first.name]
    assert one["earlier"][0]["result"] == "undecided"


def test_the_newest_recording_s_own_log_counts_where_there_is_no_session_file(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00")
    add(day, SHIFT, "11:00", adjustments=[adjusted("10:30")])
    items = checked(day)
    assert of(items, "body line over the feet")["why"] == "not since the adjustment at 10:30"
    assert of(items, "load taken", "left")["result"] == "met"


def test_no_orthosis_and_said_to_not_apply(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00", orthosis={"side": "none"})
    note(day, does_not_apply=["load taken"], crutch_limit_pct=10.0)
    items = checked(day)
    for item in (
        "body line in the band",
        "foot point in the band",
        "ankle moment within what was entered",
        "other postures over the support",
    ):
        assert of(items, item)["result"] == "does not apply"
    assert {of(items, "load taken", s)["result"] for s in ("left", "right")} == {"does not apply"}
    crutches = of(items, "crutch share within its limit")
    assert crutches["result"] == "met"
    assert is_met(items)


@pytest.mark.parametrize(("limit", "result"), [(20.0, "met"), (1.0, "not met")])
def test_the_crutch_limit_is_decided_with_the_uncertainty(tmp_path: Path, limit: float, result: str) -> None:
    add(tmp_path / "d", AFTER, "10:00")
    note(tmp_path / "d", crutch_limit_pct=limit)
    one = of(checked(tmp_path / "d"), "crutch share within its limit")
    assert one["result"] == result
    p = normal_below((limit - one["numbers"]["crutch_pct"]) / one["numbers"]["crutch_pct_u"])
    assert (p >= 0.95) == (result == "met")


def test_a_limit_at_the_very_share_is_undecided(tmp_path: Path) -> None:
    add(tmp_path / "d", AFTER, "10:00")
    share = read_day(tmp_path / "d").found[0].findings["load"]["crutch_pct"]
    note(tmp_path / "d", crutch_limit_pct=share)
    assert of(checked(tmp_path / "d"), "crutch share within its limit")["result"] == "undecided"


def test_other_postures_are_asked_for_each_orthosis_side(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00")
    assert of(checked(day), "other postures over the support")["result"] == "not measured"
    add(day, AFTER, "10:05", posture={"kind": "knees flexed"})
    items = [i for i in checked(day) if i["item"] == "other postures over the support"]
    assert [(i["side"], i["posture"], i["result"]) for i in items] == [
        ("left", "knees flexed", "met"),
        ("right", "knees flexed", "met"),
    ]
    assert of(checked(day), "body line in the band", "left")["recording"].endswith("01-quiet-standing")
    note(day, does_not_apply=["other postures over the support"])
    assert of(checked(day), "other postures over the support")["result"] == "does not apply"


def test_a_hand_makes_the_body_line_undecided_and_says_so(tmp_path: Path) -> None:
    add(tmp_path / "d", AFTER, "10:00", touched="held")
    items = checked(tmp_path / "d")
    body = of(items, "body line in the band", "left")
    assert body["result"] == "undecided"
    assert "hand was on the person" in body["why"]
    assert of(items, "body line over the feet")["result"] == "undecided"
    assert of(items, "foot point in the band", "left")["result"] in ("met", "undecided")


def test_a_weight_that_something_else_carries_is_found(tmp_path: Path) -> None:
    trial = read_recording(AFTER).trial
    assert trial.subject is not None
    heavier = {
        "code": "R7T",
        "body_weight_n": (trial.body_weight_n or 0) + 60.0,
        "body_weight_from": "measured",
    }
    add(tmp_path / "d", AFTER, "10:00", subject=heavier)
    one = of(checked(tmp_path / "d"), "nothing else carries load")
    assert one["result"] == "not met"
    assert "6.1 kg" in one["why"]


@pytest.mark.parametrize("name", ["01-quiet-standing", "R7T/d/01-quiet-standing"])
def test_a_recording_that_was_set_aside_is_left_out(tmp_path: Path, name: str) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00")
    add(day, BEFORE, "09:00")
    note(day, set_aside=[{"recording": name, "reason": "a hand on the bar"}])
    assert of(checked(day), "body line in the band", "left")["result"] == "undecided"  # the other one's


def test_ten_good_and_a_broken_one(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00")
    broken = add(day, AFTER, "10:05")
    (broken / "samples.csv").write_text("nonsense\n")
    (day / "notes.docx").write_bytes(b"\x00")
    (day / "empty").mkdir()
    done = CliRunner().invoke(app, ["check", str(day), "--format", "json"])
    assert done.exit_code == 2
    assert str(broken) in done.stderr
    assert json.loads(done.stdout)[0]["result"] == "met"


def test_another_rig_and_two_calibrations_are_named(tmp_path: Path) -> None:
    day = tmp_path / "d"
    first = add(day, AFTER, "10:00")
    data = json.loads((first / "trial.json").read_text())
    known = data["calibration"]
    channels = [{**one, "newton_per_count": 1.01 * one["newton_per_count"]} for one in known["channels"]]
    other = {
        "rig": {**data["rig"], "name": "another"},
        "calibration": {**known, "rig": "another", "channels": channels},
    }
    add(day, AFTER, "10:05", **other)
    done = CliRunner().invoke(app, ["check", str(day)])
    assert done.exit_code in (0, 1)
    assert "different rigs: 01-quiet-standing; 02-quiet-standing" in done.stderr
    assert "different calibrations" in done.stderr
    page = CliRunner().invoke(app, ["report", str(day), "--out", str(tmp_path / "p.html")])
    assert page.exit_code == 0
    assert "different rigs" in (tmp_path / "p.html").read_text()


def test_status_and_words(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:00", orthosis={"side": "none"})
    done = CliRunner().invoke(app, ["check", str(day)])
    assert done.exit_code == 0
    assert "body line over the feet: seen." in done.stdout
    assert "Not examined here: skin" in done.stdout
    for word in ("safe", "score", "stable", "risk"):
        assert word not in done.stdout
    add(day, BEFORE, "10:30", orthosis={"side": "both"})
    assert CliRunner().invoke(app, ["check", str(day)]).exit_code == 1


def test_several_days_or_none_are_refused(tmp_path: Path) -> None:
    add(tmp_path / "a", AFTER, "10:00")
    add(tmp_path / "b", AFTER, "10:00")
    with pytest.raises(FileProblem, match="several days"):
        read_day(tmp_path)
    (tmp_path / "c").mkdir()
    with pytest.raises(FileProblem, match="no recording in it"):
        read_day(tmp_path / "c")
    with pytest.raises(FileProblem, match="no such folder"):
        read_day(tmp_path / "x")


def test_nothing_measured_is_not_met() -> None:
    items = standing_check(Day(Path(), Notes(), []))
    assert {i["result"] for i in items} <= {"not measured", "does not apply"}
    assert not is_met(items)


def test_notes_are_written_whole_and_read_back(tmp_path: Path) -> None:
    notes = Notes.model_validate(
        {"adjustments": [adjusted("10:00", temporary=True)], "examiner": "A <b>", "later": 5}
    )
    write_notes(tmp_path, notes)
    assert read_notes(tmp_path) == notes
    assert json.loads((tmp_path / "session.json").read_text())["adjustments"][0]["from"] == 5
    (tmp_path / "session.json").write_text(
        '{"schema": 1, "subject": null, "adjustments": null, "set_aside": null, "crutch_limit_pct": 10}'
    )
    assert read_notes(tmp_path).adjustments == []
    assert read_notes(tmp_path).crutch_limit_pct == 10
    (tmp_path / "session.json").write_text('{"schema": 2}')
    with pytest.raises(FileProblem, match="newer"):
        read_notes(tmp_path)


def test_a_clock_that_ran_backwards_leaves_the_order_to_the_times(tmp_path: Path) -> None:
    day = tmp_path / "d"
    add(day, AFTER, "10:05")
    add(day, BEFORE, "10:00")
    found = read_day(day).found
    assert [one.name.rsplit("/", 1)[-1] for one in found] == ["02-quiet-standing", "01-quiet-standing"]
