"""Comparison: placings are the unit, Welch and Holm as others compute them, repeats say what standing up again changes."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests
from typer.testing import CliRunner

from balance.command_line.app import app
from balance.day.comparing import compare
from balance.day.reading import Found
from balance.recording import read_recording
from balance.statistics import Repeats, holm, sem_consistency, smallest_change, welch
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add, adjusted, note

TRIAL = read_recording(AFTER).trial
LINE = "load_line.body_on_left.mean_mm"


def made(value: float, placing: int, *, protocol: str = "quiet standing", subject: str = "R7T", day: str = "d", batches: list[float] | None = None) -> Found:  # fmt: skip
    """A finding with one number in it."""
    nothing: dict[str, Any] = {"mean_mm": None}
    lines = {
        line: dict(nothing) for line in ("left", "right", "feet", "body", "body_on_left", "body_on_right")
    }
    lines["body_on_left"]["mean_mm"] = value
    findings = {
        "load_line": lines, "load": dict.fromkeys(("left_pct", "right_pct", "crutch_pct", "unmeasured_pct")),
        "moment": {s: {"ankle_mean_nm": None, "knee_mean_nm": None} for s in ("left", "right")}, "shifts": [], "sway": {},
    }  # fmt: skip
    if batches:
        findings["batch_means"] = {LINE: batches}
    trial = TRIAL.model_copy(update={"placing": placing, "protocol": protocol, "subject": TRIAL.subject.model_copy(update={"code": subject}) if TRIAL.subject else None})  # fmt: skip
    folder = Path(f"/{day}/{subject}-{protocol}-{placing}-{value}")
    return Found(folder, folder.name, trial, findings)


def row(a: list[Found], b: list[Found], repeats: list[Found] | None = None, **options: Any) -> dict[str, Any]:
    (one,) = compare(a, b, repeats or [], "repeats", **options)
    return one


def test_trials_of_one_placing_are_averaged_first() -> None:
    a = [made(100, 1), made(104, 1), made(110, 2)]
    b = [made(120, 3), made(130, 4), made(131, 4)]
    one = row(a, b)
    assert (one["n_a"], one["n_b"]) == (2, 2)
    assert one["a"] == pytest.approx((102 + 110) / 2)
    assert one["b"] == pytest.approx((120 + 130.5) / 2)
    reference = stats.ttest_ind([120, 130.5], [102, 110], equal_var=False)
    interval = reference.confidence_interval(0.95)
    assert one["p"] == pytest.approx(reference.pvalue, rel=1e-9)
    assert one["ci95"] == pytest.approx([interval.low, interval.high], rel=1e-9)
    assert one["method"] == "Welch t"
    assert one["p_holm"] == pytest.approx(one["p"])


@pytest.mark.parametrize("seed", range(20))
def test_welch_is_scipy_s(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.normal(0, 1, rng.integers(2, 9)), rng.normal(1, 3, rng.integers(2, 9))
    reference = stats.ttest_ind(b, a, equal_var=False)
    ours = welch(a.tolist(), b.tolist())
    low, high = reference.confidence_interval(0.95)
    assert (ours.p, ours.low, ours.high) == pytest.approx((reference.pvalue, low, high), rel=1e-9)


def test_holm_is_statsmodels_and_the_hand_s() -> None:
    """By hand: 4·0.005, 3·0.01, then 2·0.03 and never less than before."""
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    p = np.random.default_rng(1).uniform(0, 0.2, 30)
    assert holm(p.tolist()) == pytest.approx(multipletests(p, method="holm")[1].tolist())


def test_no_spread_at_all_has_no_nan() -> None:
    assert welch([1.0, 1.0], [1.0, 1.0]).p == 1.0
    assert welch([1.0, 1.0], [2.0, 2.0]).p == 0.0


def test_one_placing_gives_the_difference_and_what_the_standing_varied() -> None:
    a, b = [made(100, 1, batches=[98, 100, 101, 101])], [made(110, 2, batches=[108, 111, 109, 112])]
    one = row(a, b)
    assert one["ci95"] is None
    assert one["p"] is None
    assert one["p_holm"] is None
    assert one["reason"] == "one placing"
    reach = stats.t.ppf(0.975, 3) * math.sqrt(
        np.var([98, 100, 101, 101], ddof=1) / 4 + np.var([108, 111, 109, 112], ddof=1) / 4
    )
    assert one["within_trial95"] == pytest.approx([10 - reach, 10 + reach])


def test_the_smallest_change_by_three_stand_ups_and_how_little_two_say() -> None:
    repeats = [made(100, 1), made(103, 2), made(104, 3)]
    one = row([made(100, 1), made(103, 2), made(104, 3)], [made(120, 4)], repeats)
    sem = np.std([100, 103, 104], ddof=1)
    assert one["mdc95"] == pytest.approx(stats.t.ppf(0.975, 2) * sem * math.sqrt(1 / 3 + 1))
    assert one["mdc_dof"] == 2
    assert one["beyond_mdc"] is True
    two = row([made(100, 1)], [made(120, 4)], repeats[:2])
    assert two["mdc_dof"] == 1
    assert two["mdc95"] == pytest.approx(12.706 * np.std([100, 103], ddof=1) * math.sqrt(2), rel=1e-4)
    none = row([made(100, 1)], [made(120, 4)], repeats[:1])
    assert none["mdc95"] is None
    assert "three stand-ups" in none["mdc_reason"]


def test_repeats_of_several_subjects_give_the_consistency_sem() -> None:
    """Shrout & Fleiss 1979, table 2 as printed there: EMS 1.0194, √ 1.0097 (refdata)."""
    ratings = np.array(
        [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float
    )
    known = sem_consistency(ratings)
    assert known is not None
    assert known.sem == pytest.approx(1.009675, abs=1e-6)
    assert known.dof == 15
    repeats = [made(v, k, subject=f"S{i}") for i, person in enumerate(ratings) for k, v in enumerate(person)]
    one = row([made(5, 1)], [made(9, 2)], repeats)
    assert one["mdc95"] == pytest.approx(smallest_change(Repeats(1.0096754, 15), 1, 1), rel=1e-5)


def test_quiet_standing_is_not_mixed_with_other_trials() -> None:
    a = [made(100, 1), made(500, 1, protocol="weight shift")]
    b = [made(110, 2), made(900, 2, protocol="weight shift")]
    assert row(a, b)["difference"] == pytest.approx(10)
    assert compare([made(100, 1)], [made(500, 2, protocol="free")], [], "x") == []


def test_the_same_number_on_another_day_is_another_placing() -> None:
    one = row([made(100, 1), made(101, 1, day="e")], [made(110, 1, day="f"), made(112, 1, day="g")])
    assert (one["n_a"], one["n_b"]) == (2, 2)


def test_the_command_on_a_day_with_three_stand_ups_and_an_adjustment(tmp_path: Path) -> None:
    day = tmp_path / "R7T" / "2026-03-02"
    for k in range(3):
        add(day, BEFORE, f"10:0{k}", placing=k + 1)
    for k in range(3):
        add(day, AFTER, f"11:0{k}", placing=k + 4)
    add(day, SHIFT, "11:30", placing=6)
    note(day, adjustments=[adjusted("10:30")])
    args = [
        "compare",
        str(day / "01-quiet-standing"),
        str(day / "04-quiet-standing"),
        "--primary",
        LINE,
        "--format",
        "json",
    ]
    done = CliRunner().invoke(app, args)
    assert done.exit_code == 0, done.stderr
    rows = {one["measure"]: one for one in json.loads(done.stdout)}
    one = rows[LINE]
    assert one["primary"]
    assert one["mdc_from"] == "placings 1 to 3 of R7T/2026-03-02"
    assert one["mdc95"] == 0.0  # the same recording three times: no spread
    assert one["difference"] < -20
    assert one["side"] == "left"
    assert rows["load.right_pct"]["side"] == "right"
    words = CliRunner().invoke(app, args[:-2])
    assert "more than standing up again changes it" in words.stdout
    wrong = CliRunner().invoke(app, [*args[:3], "--primary", "luck"])
    assert wrong.exit_code == 2
    assert "--primary luck" in wrong.stderr
    sway = CliRunner().invoke(app, [*args[:3], "--sway", "--format", "json"])
    assert any(one["measure"].startswith("sway.") for one in json.loads(sway.stdout))
