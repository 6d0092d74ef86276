"""Shoe and placing: presses to heel edge, axis and length; ways and their uncertainties; files; the outline sheet to scale."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balance import demo
from balance.command_line.setting_up import demo_floor
from balance.files import FileProblem, as_toml
from balance.load_line import FootFrame
from balance.placing import (
    Press,
    edge_of,
    placed,
    pressed_stance,
    read_presses,
    read_shoe,
    shoe_of,
    with_shoe,
    with_tips,
)
from balance.report.sheet import SIZES_MM, sheet
from balance.rig import SIDES, Side
from balance.stance import Stance, read_stance
from tests.command_line.test_commands import bandstand

FLOOR = demo_floor()


def presses(
    side: Side, stance: Stance = FLOOR.stance, spread: float = 0.0, load: float = 80.0
) -> list[Press]:
    """Three presses on each end of a shoe that stands where the stance says."""
    frame = FootFrame.of(stance, side)
    heel = np.array(frame.heel_mm)
    toe = heel + np.array(frame.along) * frame.length_mm
    out = []
    for end, at in (("heel", heel), ("rocker", toe)):
        for k in (-1, 0, 1):
            out.append(Press(side, end, float(at[0] + k * spread), float(at[1]), load, 0.8, 0.8))
    return out


@settings(deadline=None, max_examples=40)
@given(st.floats(-20, 30), st.floats(120, 300), st.floats(-200, 200), st.sampled_from(SIDES))
def test_presses_give_the_shoe_back(toe_out: float, length: float, ap: float, side: Side) -> None:
    foot = FLOOR.stance.foot(side).model_copy(
        update={"toe_out_deg": toe_out, "usable_length_mm": length, "heel_edge_ap_mm": ap}
    )
    true = FLOOR.stance.model_copy(update={f"{side}_foot": foot})
    found = pressed_stance(FLOOR.stance, presses(side, true)).foot(side)
    assert found.toe_out_deg == pytest.approx(toe_out, abs=0.01)
    assert found.usable_length_mm == pytest.approx(length, abs=0.01)
    assert (found.heel_edge_ap_mm, found.heel_edge_ml_mm) == pytest.approx(
        (ap, foot.heel_edge_ml_mm), abs=0.01
    )
    other: Side = "right" if side == "left" else "left"
    assert pressed_stance(FLOOR.stance, presses(side, true)).foot(other) == FLOOR.stance.foot(other)


def test_uncertainty_from_spread_cells_and_edge() -> None:
    edge = edge_of(presses("left", spread=3.0)[:3])
    assert edge.u_ap_mm == pytest.approx(math.sqrt(3.0**2 / 3 + 0.8**2 + 1))
    assert edge.u_ml_mm == pytest.approx(math.sqrt(0.8**2 + 1))
    assert edge.spread_mm == pytest.approx(3.0)
    foot = pressed_stance(FLOOR.stance, presses("left", spread=3.0)).foot("left")
    assert foot.placement_uncertainty_mm == pytest.approx(edge.u_ap_mm, abs=0.01)
    assert foot.length_uncertainty_mm == pytest.approx(math.sqrt(2) * edge.u_ap_mm, rel=0.02)


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (presses("left")[:5], "2 presses"),
        (presses("left", load=20.0), "20 N"),
        ([], "Nothing"),
        ([Press(p.side, "rocker" if p.end == "heel" else "heel", p.ap_mm, p.ml_mm, 80.0) for p in presses("left")], "points forward"),
    ],
)  # fmt: skip
def test_presses_that_make_no_shoe(bad: list[Press], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        pressed_stance(FLOOR.stance, bad)


def test_ways_and_tips() -> None:
    by_eye = placed(FLOOR.stance, "by eye")
    assert by_eye.left_foot.placement_uncertainty_mm == 8.0
    assert by_eye.right_foot.toe_out_uncertainty_deg == 4.0
    assert placed(FLOOR.stance, "on the marks").left_foot.placement_uncertainty_mm == 3.0
    tips = with_tips(FLOOR.stance, {"left": (400.0, -300.0)}, "tape")
    assert tips.left_crutch is not None
    assert tips.right_crutch is not None
    assert (tips.left_crutch.tip_ap_mm, tips.left_crutch.tip_uncertainty_mm) == (400.0, 10.0)
    assert tips.right_crutch.tip_ap_mm == FLOOR.stance.right_crutch.tip_ap_mm


def test_files_come_back_the_same(tmp_path: Path) -> None:
    path = tmp_path / "stance.toml"
    path.write_text(as_toml(FLOOR.stance))
    assert read_stance(path) == FLOOR.stance
    shoe = shoe_of(FLOOR.stance)
    path.write_text(as_toml(shoe))
    assert read_shoe(path) == shoe
    assert with_shoe(FLOOR.stance, shoe) == FLOOR.stance


def test_the_command(tmp_path: Path) -> None:
    table = tmp_path / "presses.csv"
    rows = [f"{p.side},{p.end},{p.ap_mm},{p.ml_mm},{p.load_n}" for s in SIDES for p in presses(s, spread=1.0)]
    table.write_text("side,end,ap_mm,ml_mm,load_n\n" + "\n".join(rows) + "\n")
    out, shoe = tmp_path / "new.toml", tmp_path / "shoe.toml"
    done = bandstand(
        "place", "--stance", demo.path("stance.toml"), "--from", table, "--out", out, "--shoe", shoe
    )
    assert "usable length 230 mm" in done.stdout
    assert read_stance(out).left_foot.usable_length_mm == pytest.approx(230, abs=0.1)
    assert read_shoe(shoe).right_foot.usable_length_mm == pytest.approx(226, abs=0.1)
    out.write_text(out.read_text().replace("usable_length_mm = 230.0", "usable_length_mm = 200.0"))
    files = ("--rig", demo.path("rig.toml"), "--calibration", demo.path("calibration.json"))
    done = bandstand("place", "--stance", out, "--way", "by-eye", "--left-tip", "400,-310", "--tips", "by-eye", *files)  # fmt: skip
    assert "cannot be reached" in done.stderr
    assert read_stance(out).left_crutch.tip_uncertainty_mm == 30.0
    bandstand("place", "--stance", out, "--left-tip", "somewhere", expect=2)
    table.write_text("side,end,ap_mm,ml_mm\nupper,toe,1,2\n")
    assert "upper" in bandstand("place", "--stance", out, "--from", table, expect=2).stderr
    with pytest.raises(FileProblem):
        read_presses(table)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_sheet_is_to_scale_and_complete(tmp_path: Path, paper: str) -> None:
    html = sheet(FLOOR.rig, FLOOR.stance, SIDES, "a4" if paper == "a4" else "letter")
    width, height = SIZES_MM[paper]
    assert html.count(f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"') >= 2
    check = re.search(
        r'<line x1="([\d.]+)" x2="([\d.]+)"[^>]*/><line', html[html.index('stroke-width="0.35"') :]
    )
    assert check is not None
    assert float(check[2]) - float(check[1]) == pytest.approx(100)
    corner = FootFrame.of(FLOOR.stance, "left").heel_mm
    assert (
        f"{corner[1]:.3f},{corner[0]:.3f}" in html
    )  # the axis starts at the heel edge, in floor millimetres
    for words in ("heel edge", "rocker line", "band", "cell 0", "cell 7", "100 mm long"):
        assert words in html
    out = tmp_path / "s.html"
    bandstand(
        "sheet",
        "--rig",
        demo.path("rig.toml"),
        "--stance",
        demo.path("stance.toml"),
        "--paper",
        paper,
        "--out",
        out,
    )
    assert out.read_text() == html
