"""Calibration from a table: every measure against numbers worked out by hand, every kind of bad table, the command."""

from __future__ import annotations

import datetime
import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balance.calibrating.limits import Limits
from balance.calibrating.page import calibration_page
from balance.calibrating.points import AppliedPoint, read_points
from balance.calibrating.result import calibrate
from balance.calibration import Calibration, doubts
from balance.command_line.setting_up import demo_floor
from balance.files import FileProblem, read_json
from tests.command_line.test_commands import bandstand

FLOOR = demo_floor()
HEAD = "channel,applied_n,counts,direction,run,seconds,applied_uncertainty_n\n"


def by_hand() -> list[AppliedPoint]:
    """1 count is 0.001 N; up, down and a second run; worked through in the test."""

    def point(
        load: float, counts: float, direction: str, run: int, seconds: float | None = None
    ) -> AppliedPoint:
        return AppliedPoint(0, load, counts, direction, run, seconds, 0.02 if load > 150 else 0.5)

    return [
        AppliedPoint(0, 0.0, 999), AppliedPoint(0, 0.0, 1000), AppliedPoint(0, 0.0, 1001),
        point(100, 101_000, "up", 1), point(200, 201_100, "up", 1), point(300, 301_000, "up", 1, 5.0),
        point(300, 301_300, "up", 1, 200.0),
        point(200, 201_400, "down", 1), point(100, 101_060, "down", 1),
        point(100, 101_020, "up", 2), point(200, 201_120, "up", 2),
        AppliedPoint(0, 0.0, 1030),
    ]  # fmt: skip


def test_every_measure_by_hand() -> None:
    done = calibrate(by_hand())
    (row,), known = done.data["channels"], done.calibration.channels[0]
    slope = known.newton_per_count
    assert slope == pytest.approx(0.001, rel=2e-3)
    assert row["points"] == 8
    assert row["loads"] == 3
    assert known.zero_counts == pytest.approx(1007.5)
    assert known.zero_uncertainty_counts == pytest.approx(np.std([999, 1000, 1001, 1030], ddof=1))
    assert row["zero_return_pct"] == pytest.approx(31 * slope / 300 * 100)
    up = {100: 101_010 - 1007.5, 200: 201_110 - 1007.5, 300: 301_150 - 1007.5}
    off = max(abs(x - up[300] * load / 300) for load, x in up.items())
    assert row["nonlinearity_pct"] == pytest.approx(off * slope / 300 * 100)
    assert row["hysteresis_pct"] == pytest.approx((201_400 - 201_110) * slope / 300 * 100)
    assert known.hysteresis_n == pytest.approx(290 * slope)
    assert row["repeatability_pct"] == pytest.approx(20 * slope / 300 * 100)
    assert row["creep_pct"] == pytest.approx(300 * slope / 300 * 100)
    assert done.calibration.creep_pct == row["creep_pct"]
    assert done.calibration.shared_gain_uncertainty == pytest.approx(0.02 / 200)
    assert done.accepted
    x = np.array([p.counts for p in by_hand() if p.applied_n]) - known.zero_counts
    y = np.array([p.applied_n for p in by_hand() if p.applied_n])
    assert slope == pytest.approx(float(x @ y / (x @ x)), rel=1e-12)
    residual = math.sqrt(float(((y - slope * x) ** 2).sum()) / 7)
    assert known.residual_n == pytest.approx(residual, rel=1e-9)
    assert known.covariance[0][0] == pytest.approx(residual**2 / float(x @ x), rel=1e-9)


def test_limits_decide_and_name_their_cause() -> None:
    done = calibrate(by_hand(), limits=Limits(hysteresis_pct=0.05))
    assert not done.accepted
    (entry,) = [e for e in done.data["quality"] if e["code"] == "limit-not-met"]
    assert "friction" in entry["text"]
    limit = next(one for one in done.data["channels"][0]["limits"] if one["name"] == "hysteresis_pct")
    assert limit["met"] is False
    assert "OIML R 60" in limit["source"]


def test_what_is_missing_is_null_with_its_reason() -> None:
    done = calibrate(
        [AppliedPoint(3, 0.0, 10), AppliedPoint(3, 50.0, 50_010), AppliedPoint(3, 100.0, 100_011)]
    )
    (row,) = done.data["channels"]
    named = {key for entry in done.data["quality"] for key in entry.get("keys", [])}
    absent = [key for key, value in row.items() if value is None]
    assert {"hysteresis_pct", "repeatability_pct", "creep_pct", "zero_return_pct"} <= set(absent)
    assert {f"channels.{key}" for key in absent} <= named
    codes = {entry["code"] for entry in done.data["quality"]}
    assert {"zero-uncertainty-unknown", "mass-uncertainty-missing", "creep-not-measured"} <= codes
    assert done.calibration.shared_gain_uncertainty == 0.01
    assert done.calibration.creep_pct == 0.3
    assert done.calibration.channels[0].hysteresis_n is None


@settings(deadline=None, max_examples=40)
@given(
    st.floats(1e-6, 1e-2), st.booleans(), st.floats(-1e6, 1e6),
    st.lists(st.integers(1, 400), min_size=3, max_size=12, unique=True),
)  # fmt: skip
def test_a_clean_cell_is_found_again(slope: float, falling: bool, zero: float, loads: list[int]) -> None:
    """Whatever its slope, sign and zero; counts that fall with load give a negative slope."""
    sign = -1 if falling else 1
    points = [AppliedPoint(0, 0.0, zero)] * 3
    points += [AppliedPoint(0, float(n), zero + sign * n / slope) for n in loads]
    done = calibrate(points)
    assert done.calibration.channels[0].newton_per_count == pytest.approx(sign * slope, rel=1e-6)
    assert read_again(done.data["calibration"]) == done.calibration


def read_again(data: dict[str, object]) -> Calibration:
    return Calibration.model_validate_json(json.dumps(data))


def test_a_curved_cell_gets_its_square_term_only_with_five_loads() -> None:
    def points(loads: list[float]) -> list[AppliedPoint]:
        rng = np.random.default_rng(3)
        out = [AppliedPoint(0, 0.0, float(c)) for c in (0, 1, -1)]
        for _ in range(3):
            out += [AppliedPoint(0, n, n * 1000 - 0.3 * n**2 + float(rng.normal(0, 3))) for n in loads]
        return out

    curved = calibrate(points([50.0, 100.0, 150.0, 200.0, 250.0]))
    assert curved.data["channels"][0]["degree"] == 2
    assert len(curved.calibration.channels[0].covariance) == 2
    four = calibrate(points([50.0, 100.0, 150.0, 200.0]))
    assert four.data["channels"][0]["degree"] == 1
    assert calibrate(points([50.0, 100.0, 150.0, 200.0]), degree=2).data["channels"][0]["degree"] == 2


BAD = {
    "one load only": (HEAD + "0,0,1,,,,\n0,50,1000,up,,,\n0,50,1001,up,,,\n", "1 different loads"),
    "all counts equal": (HEAD + "0,0,7,,,,\n0,50,7,up,,,\n0,100,7,up,,,\n", "under every load"),
    "no zero": (HEAD + "0,50,1,up,,,\n0,100,2,up,,,\n", "nothing applied"),
    "not a number": (HEAD + "0,0,nan,,,,\n", "line 2"),
    "infinite": (HEAD + "0,inf,1,,,,\n", "line 2"),
    "decimal comma, quoted": (HEAD + '0,"49,03",1,up,,,\n', "decimal sign"),
    "decimal comma": (HEAD + "0,49,03,1,up,,,\n", "decimal sign"),
    "semicolons": ("channel;applied_n;counts\n0;0;1\n", "semicolons"),
    "negative uncertainty": (HEAD + "0,50,1,up,,,-1\n", "applied_uncertainty_n"),
    "no such direction": (HEAD + "0,50,1,sideways,,,\n", "sideways"),
    "swapped columns": ("counts,channel,applied_n\n0,100000,0\n", "channel"),
    "both loads": ("channel,applied_n,mass_kg,counts\n0,1,1,1\n", "one of"),
    "no load": ("channel,counts\n0,1\n", "one of"),
    "unknown column": ("channel,applied_n,counts,colour\n0,1,1,red\n", "colour"),
    "no rows": (HEAD, "no rows"),
    "nothing": ("", "header"),
    "beyond the converter": (HEAD + "0,0,99999999,,,,\n", "counts"),
    "half a channel": (HEAD + "0.5,0,1,,,,\n", "whole"),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_bad_tables_are_sentences(tmp_path: Path, kind: str) -> None:
    text, says = BAD[kind]
    path = tmp_path / "points.csv"
    path.write_text(text)
    with pytest.raises(FileProblem) as caught:
        read_points(path)
    assert says in str(caught.value)
    assert "points.csv" in str(caught.value)


def test_binary_and_endless_tables(tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_bytes(bytes(range(256)))
    with pytest.raises(FileProblem):
        read_points(path)
    path.write_text(HEAD + "0,50,1000,up,1,,\n" * 1_000_000)
    with pytest.raises(FileProblem) as caught:
        read_points(path)
    assert "100,000" in str(caught.value)


def test_masses_in_grams_are_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_text("channel,mass_kg,counts\n0,0,1\n0,10000,200000\n0,20000,400000\n")
    with pytest.raises(FileProblem) as caught:
        read_points(path, rig=FLOOR.rig)
    assert "grams?" in str(caught.value)


def points_file(folder: Path) -> Path:
    """Masses up and down on every cell of the demo's rig, as its calibration would read them."""
    lines = ["channel,mass_kg,counts,direction,run,mass_uncertainty_kg"]
    rng = np.random.default_rng(1)
    for cell in FLOOR.rig.cells:
        known = FLOOR.calibration.of(cell.channel)

        def counts(kg: float, known: object = known) -> str:
            clean = known.zero_counts + kg * 9.80665 / known.newton_per_count
            return f"{clean + rng.normal(0, 20):.0f}"

        lines += [f"{cell.channel},0,{counts(0)},,," for _ in range(3)]
        for run in (1, 2):
            lines += [f"{cell.channel},{kg},{counts(kg)},up,{run},0.005" for kg in (5, 10, 20, 30)]
            lines += [f"{cell.channel},{kg},{counts(kg)},down,{run},0.005" for kg in (20, 10, 5)]
        lines.append(f"{cell.channel},0,{counts(0)},,,")
    path = folder / "points.csv"
    path.write_text("\n".join(lines) + "\n")
    return path


def test_the_command(tmp_path: Path) -> None:
    from balance import demo

    points, out = points_file(tmp_path), tmp_path / "calibration.json"
    done = bandstand(
        "calibrate", "--from", points, "--rig", demo.path("rig.toml"), "--out", out, "--report", tmp_path / "p.html", "--format", "json",
    )  # fmt: skip
    data = json.loads(done.stdout)
    assert data["accepted"] is True
    assert json.loads(out.read_text()) == data["calibration"]
    known = read_json(out, Calibration)
    for cell in FLOOR.rig.cells:
        true = FLOOR.calibration.of(cell.channel).newton_per_count
        assert known.of(cell.channel).newton_per_count == pytest.approx(true, rel=1e-3)
    assert "<svg" in (tmp_path / "p.html").read_text()
    strict, refused = tmp_path / "limits.toml", tmp_path / "no.json"
    strict.write_text("nonlinearity_pct = 0.0001\n")
    args = (
        "calibrate",
        "--from",
        points,
        "--rig",
        demo.path("rig.toml"),
        "--limits",
        strict,
        "--out",
        refused,
    )
    assert "not accepted" in bandstand(*args, expect=1).stdout
    assert not refused.exists()
    bandstand(*args, "--accept-anyway", expect=1)
    assert json.loads(refused.read_text())["accepted_anyway"] is True
    strict.write_text("nonlinearity_pct = -1\ncolour = 3\n")
    error = bandstand(*args, expect=2).stderr
    assert "colour" in error
    assert "nonlinearity_pct" in error


def test_the_page_stands_alone() -> None:
    html = calibration_page(calibrate(by_hand()))
    assert "http" not in html.replace("http://www.w3.org/2000/svg", "")
    assert "not a medical device" in html
    assert html.count("<polygon") == 8


def test_an_old_or_foreign_calibration_is_said() -> None:
    made = datetime.datetime.fromisoformat(FLOOR.calibration.made)
    month = made + datetime.timedelta(days=30)
    assert doubts(Path("c.json"), FLOOR.rig, FLOOR.calibration, month) == []
    (old,) = doubts(Path("c.json"), FLOOR.rig, FLOOR.calibration, made + datetime.timedelta(days=400))
    assert "more than a year" in old
    other = FLOOR.calibration.model_copy(
        update={"rig": "another", "accepted_anyway": True, "made": "yesterday"}
    )
    sentences = " ".join(doubts(Path("c.json"), FLOOR.rig, other, month))
    for words in ("another", "accepted anyway", "yesterday"):
        assert words in sentences
