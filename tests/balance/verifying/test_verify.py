"""Masses on marked places: a good rig passes, every hidden fault is found and named, the numbers are those of the definitions."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from balance import demo
from balance.command_line.setting_up import demo_floor
from balance.files import FileProblem
from balance.rig import Rig
from balance.verifying.causes import causes
from balance.verifying.places import coverage_factor, measure, parts_of, read_placed, verification
from tests.command_line.test_commands import bandstand

FLOOR = demo_floor()
MASS_N = 20 * 9.80665


def spread(rig: Rig, part: str, ap: float, ml: float, load: float) -> np.ndarray:
    """A rigid plate on its cells: the smallest forces that balance load and moments."""
    cells = parts_of(rig)[part]
    rows = np.array([[1.0, rig.cells[i].ap_mm or 0.0, rig.cells[i].ml_mm or 0.0] for i in cells]).T
    forces = np.zeros(len(rig.cells))
    forces[cells] = np.linalg.pinv(rows) @ np.array([load, load * ap, load * ml])
    return forces


def table(folder: Path, *, gains: dict[int, float] | None = None, swapped: tuple[int, int] | None = None, true: Rig = FLOOR.rig, noise: float = 0.1) -> Path:  # fmt: skip
    """placed.csv of a 20 kg mass on six marks of each foot's plate, as a rig with that fault would show it."""
    rng = np.random.default_rng(5)
    lines = ["ap_mm,ml_mm,applied_n," + ",".join(f"counts{c}" for c in range(len(FLOOR.rig.cells)))]
    for part in ("left", "right"):
        ap, ml = (
            np.array([getattr(true.cells[i], k) for i in parts_of(true)[part]]) for k in ("ap_mm", "ml_mm")
        )
        for a in np.linspace(ap.min() + 15, ap.max() - 15, 3):
            for m in (ml.min() + 15, ml.max() - 15):
                forces = spread(true, part, a, m, MASS_N) + rng.normal(0, noise, len(true.cells))
                for i, factor in (gains or {}).items():
                    forces[i] *= factor
                counts = [0] * len(forces)
                for cell, force in zip(FLOOR.rig.cells, forces, strict=True):
                    known = FLOOR.calibration.of(cell.channel)
                    counts[cell.channel] = round(known.zero_counts + force / known.newton_per_count)
                if swapped:
                    a_, b_ = swapped
                    counts[a_], counts[b_] = counts[b_], counts[a_]
                lines.append(f"{a:.1f},{m:.1f},{MASS_N:.4f}," + ",".join(map(str, counts)))
    path = folder / "placed.csv"
    path.write_text("\n".join(lines) + "\n")
    return path


def found(path: Path) -> list[str]:
    places = measure(read_placed(path, FLOOR.rig), FLOOR.rig, FLOOR.calibration)
    return [cause.sentence for cause in causes(places, FLOOR.rig)]


def test_a_good_rig_agrees(tmp_path: Path) -> None:
    places = measure(read_placed(table(tmp_path), FLOOR.rig), FLOOR.rig, FLOOR.calibration)
    data = verification(places)
    assert data["agrees"]
    assert data["coverage_factor"] == pytest.approx(stats.norm.ppf(1 - (1 - 0.95 ** (1 / 36)) / 2))
    assert causes(places, FLOOR.rig) == []


def test_uncertainty_is_that_of_central_differences(tmp_path: Path) -> None:
    """Every input moved by a hundredth of its standard uncertainty, the whole computed again; by hand from the definitions."""
    place = measure(read_placed(table(tmp_path), FLOOR.rig), FLOOR.rig, FLOOR.calibration)[1]
    cells = parts_of(FLOOR.rig)["left"]
    known = [FLOOR.calibration.of(FLOOR.rig.cells[i].channel) for i in cells]
    f = place.forces_n[cells]
    ap = np.array([FLOOR.rig.cells[i].ap_mm for i in cells], dtype=float)

    def outputs(forces: np.ndarray, at: np.ndarray) -> np.ndarray:
        return np.array([forces.sum(), forces @ at / forces.sum()])

    base, total = outputs(f, ap), np.zeros(2)
    gain = FLOOR.calibration.gain_error
    hysteresis = np.array([(k.hysteresis_n if k.hysteresis_n is not None else 1e-3 * FLOOR.rig.cells[i].capacity_n) / math.sqrt(12) for k, i in zip(known, cells, strict=True)])  # fmt: skip
    moves = [(f * gain, 0 * ap), (hysteresis, 0 * ap)]
    for j, k in enumerate(known):
        x = f[j] / k.newton_per_count
        own = math.sqrt(k.covariance[0][0] * x**2 + k.residual_n**2 + FLOOR.rig.zero_drift_n**2 + (k.zero_uncertainty_counts * k.newton_per_count) ** 2)  # fmt: skip
        one = np.eye(len(cells))[j]
        moves += [(own * one, 0 * ap), (0 * f, FLOOR.rig.cells[cells[j]].position_uncertainty_mm * one)]
    for df, dat in moves:
        total += ((outputs(f + df / 100, ap + dat / 100) - outputs(f - df / 100, ap - dat / 100)) * 50) ** 2
    u = np.sqrt(total)
    assert base == pytest.approx([place.load_n, place.ap_mm], rel=1e-9)
    assert place.load_u_n == pytest.approx(math.hypot(u[0], 0.001 * MASS_N), rel=1e-3)
    assert place.ap_u_mm == pytest.approx(math.hypot(u[1], 2.0), rel=1e-3)


def test_a_swapped_pair_is_named(tmp_path: Path) -> None:
    first, *_ = found(table(tmp_path, swapped=(0, 3)))
    assert "swapped" in first
    assert "channel 0" in first
    assert "channel 3" in first


def test_a_pair_swapped_between_plates_is_named(tmp_path: Path) -> None:
    sentences = found(table(tmp_path, swapped=(1, 6)))
    assert len(sentences) == 1
    assert "swapped" in sentences[0]
    assert "channel 1" in sentences[0]
    assert "channel 6" in sentences[0]


def test_a_wrong_sign_is_named(tmp_path: Path) -> None:
    sentences = found(table(tmp_path, gains={5: -1.0}))
    assert len(sentences) == 1
    assert "wrong sign" in sentences[0]
    assert "channel 5" in sentences[0]


@pytest.mark.parametrize(("factor", "words"), [(1.12, "too much"), (0.9, "too little")])
def test_one_gain_that_is_off_is_named_with_its_size(tmp_path: Path, factor: float, words: str) -> None:
    first, *_ = found(table(tmp_path, gains={2: factor}))
    assert words in first
    assert "channel 2" in first


def test_a_wrong_place_is_named_with_the_way_to_go(tmp_path: Path) -> None:
    cell = FLOOR.rig.cells[4]
    moved = cell.model_copy(update={"ap_mm": (cell.ap_mm or 0.0) - 25.0})
    cells = [moved if c is cell else c for c in FLOOR.rig.cells]
    true = FLOOR.rig.model_copy(update={"cells": cells})
    first, *_ = found(table(tmp_path, true=true))
    assert "channel 4" in first
    assert "-25 mm" in first or "-24 mm" in first or "-26 mm" in first


def test_nothing_simple_is_said_to_be_so(tmp_path: Path) -> None:
    done = bandstand(
        "verify-rig", "--rig", demo.path("rig.toml"), "--calibration", demo.path("calibration.json"),
        "--from", table(tmp_path, gains={0: 1.2, 3: 0.8, 6: 1.3}), "--format", "json", expect=1,
    )  # fmt: skip
    data = json.loads(done.stdout)
    assert data["agrees"] is False
    assert "No single" in data["causes"][0]


def test_the_command_and_its_picture(tmp_path: Path) -> None:
    files = ("--rig", demo.path("rig.toml"), "--calibration", demo.path("calibration.json"))
    done = bandstand("verify-rig", *files, "--from", table(tmp_path), "--figure", tmp_path / "p.svg")
    assert "agrees with the masses at every place" in done.stdout
    assert (tmp_path / "p.svg").read_text().startswith("<svg")
    bandstand("verify-rig", *files, "--from", tmp_path / "none.csv", expect=2)
    bandstand("verify-rig", "--rig", demo.path("rig.toml"), expect=2)


def test_two_cells_in_line_see_no_ml(tmp_path: Path) -> None:
    kept = [c for c in FLOOR.rig.cells if c.is_crutch or c.channel in (0, 2, 4, 6)]
    cells = [c if c.is_crutch else c.model_copy(update={"ml_mm": -120.0 if c.side == "left" else 120.0}) for c in kept]  # fmt: skip
    rig = Rig.model_validate({**FLOOR.rig.model_dump(by_alias=True), "cell": [c.model_dump() for c in cells]})
    places = measure(read_placed(table(tmp_path), rig), rig, FLOOR.calibration)
    assert all(place.ml_mm is None for place in places)
    assert coverage_factor(places) == pytest.approx(stats.norm.ppf(1 - (1 - 0.95 ** (1 / 24)) / 2))


def test_a_table_without_a_cells_counts(tmp_path: Path) -> None:
    path = tmp_path / "placed.csv"
    path.write_text("ap_mm,ml_mm,applied_n,counts0\n0,0,100,5\n")
    with pytest.raises(FileProblem) as caught:
        read_placed(path, FLOOR.rig)
    assert "counts1" in str(caught.value)
