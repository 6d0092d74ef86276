"""First-order uncertainty against Monte Carlo (JCGM 101): every error is drawn, the whole computation is repeated.

Twenty random rigs and stances: two to four cells a foot, curved cells, pads, shaft cells and crutch plates, tips and tilts,
toe-outs, shared gains. Held within 5 % for loads, shares, lines, joint moments and margins. Each relative error is small, as in
practice: where it is not, first order falls short (JCGM 101, 9.3, in tests/published).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from balance.calibration import Calibration
from balance.chain import Prepared
from balance.find_lines import line_block
from balance.find_loads import load_block
from balance.find_moments import moment_block
from balance.find_support import support_block
from balance.forces import CellForce, ForceTable, cell_forces
from balance.found import Found
from balance.load_line import Setup, lines_of
from balance.moments import ankle_nm, knee_nm
from balance.quality import Quality
from balance.rig import SIDES, Rig
from balance.stance import Stance
from balance.support import feet_hull_mm, margin
from balance.trial import Trial

DRAWS, SAMPLES, MOST_ERRORS = 700, 8, 250
LINES = ("left", "right", "feet", "body", "body_on_left", "body_on_right")
WEIGHT_N, WEIGHT_U_N = 700.0, 10.0


class Draw:
    """One draw of all errors, in the order in which they are asked for."""

    def __init__(self, row: np.ndarray) -> None:
        self._row = iter(row.tolist())

    def normal(self, mean: float = 0.0, u: float = 1.0) -> float:
        return mean + u * next(self._row)

    def uniform(self, low: float, high: float) -> float:
        return low + (high - low) * 0.5 * math.erfc(-next(self._row) / math.sqrt(2))

    def pair(self, covariance: np.ndarray) -> np.ndarray:
        """Two normal errors; a covariance of zeros gives zeros."""
        a, b = next(self._row), next(self._row)
        first = math.sqrt(covariance[0, 0])
        second = covariance[0, 1] / first if first else 0.0
        return np.array([first * a, second * a + math.sqrt(max(covariance[1, 1] - second**2, 0.0)) * b])


def whitened(seed: int) -> np.ndarray:
    """(DRAWS, MOST_ERRORS) normal draws whose sample covariance is exactly the identity: few draws then say much."""
    z = np.random.default_rng(seed).normal(size=(DRAWS, MOST_ERRORS))
    q, _ = np.linalg.qr(z - z.mean(axis=0))
    return np.asarray(q * math.sqrt(DRAWS))


def a_rig(rng: np.random.Generator) -> Rig:
    cells: list[dict[str, Any]] = []
    plates = rng.random() < 0.3
    for side, sign in (("left", -1), ("right", 1)):
        count = int(rng.integers(3, 5))
        for k in range(count):
            part = "heel" if k < 2 else "forefoot"
            at = {"ap_mm": (0.0 if k < 2 else 180.0) + rng.normal(0, 5), "ml_mm": sign * (120 + (40 if k % 2 else -40)) + rng.normal(0, 5)}  # fmt: skip
            pad = {"pad_length_mm": 6.0, "pad_width_mm": 4.0} if rng.random() < 0.3 else {}
            cells.append(
                {"under": f"{side} {part}", "position_uncertainty_mm": rng.uniform(0.5, 2), **at, **pad}
            )
        if plates:
            for dx in (-30.0, 30.0):
                cells += [
                    {"under": f"{side} crutch", "ap_mm": 330 + dx, "ml_mm": sign * 330 + dy}
                    for dy in (-30.0, 30.0)
                ]
        else:
            cells.append({"under": f"{side} crutch"})
    for channel, cell in enumerate(cells):
        cell |= {"channel": channel, "capacity_n": 981.0}
    return Rig.model_validate(
        {"schema": 1, "name": "random", "zero_drift_n": rng.uniform(0.1, 1), "cell": cells}
    )


def a_stance(rng: np.random.Generator) -> Stance:
    def foot(sign: int) -> dict[str, float]:
        return {
            "heel_edge_ap_mm": -40 + rng.normal(0, 4), "heel_edge_ml_mm": sign * 120.0, "toe_out_deg": rng.uniform(0, 15),
            "usable_length_mm": rng.uniform(180, 240), "heel_width_mm": 60.0, "forefoot_width_mm": 90.0,
            "placement_uncertainty_mm": rng.uniform(1, 8), "ankle_mm": 55.0, "knee_mm": 95.0, "knee_height_mm": 480.0,
        }  # fmt: skip

    def crutch(sign: int) -> dict[str, float]:
        return {
            "tip_ap_mm": 330 + rng.normal(0, 30), "tip_ml_mm": sign * 330.0, "tip_uncertainty_mm": rng.uniform(5, 25),
            "tilt_deg": rng.uniform(3, 15), "tilt_ap_deg": 7.0,
        }  # fmt: skip

    return Stance.model_validate(
        {"schema": 1, "crutches": "two", "left_foot": foot(-1), "right_foot": foot(1), "left_crutch": crutch(-1), "right_crutch": crutch(1)}
    )  # fmt: skip


def a_calibration(rng: np.random.Generator, rig: Rig) -> Calibration:
    channels = []
    for cell in rig.cells:
        a1 = rng.uniform(1e-4, 1e-3) * rng.choice([-1, 1])
        curved = rng.random() < 0.4
        u1 = abs(a1) * rng.uniform(1e-4, 2e-3)
        a2 = 2e-5 * a1**2 if curved else 0.0
        u2 = abs(a2) * 0.1
        covariance = [[u1**2, -0.8 * u1 * u2], [-0.8 * u1 * u2, u2**2]] if curved else [[u1**2]]
        channels.append(
            {"channel": cell.channel, "zero_counts": rng.uniform(-1e5, 1e5), "zero_uncertainty_counts": rng.uniform(50, 500),
             "newton_per_count": a1, "newton_per_count2": a2, "covariance": covariance, "residual_n": rng.uniform(0.05, 0.5),
             "hysteresis_n": rng.uniform(0.1, 1.5)}
        )  # fmt: skip
    return Calibration.model_validate(
        {"schema": 1, "rig": "random", "made": "2026-01-01T00:00:00+00:00", "shared_gain_uncertainty": rng.uniform(2e-4, 5e-3), "channels": channels}
    )  # fmt: skip


def a_stand(rng: np.random.Generator, rig: Rig, stance: Stance) -> np.ndarray:
    """(cells, SAMPLES) forces of somebody on both plates, leaning on both crutches."""
    forces = np.zeros((len(rig.cells), SAMPLES))

    def stand(cells: list[int], at: np.ndarray, load: np.ndarray) -> None:
        rows = np.array([[1.0, rig.cells[i].ap_mm or 0.0, rig.cells[i].ml_mm or 0.0] for i in cells]).T
        forces[cells] += np.linalg.pinv(rows) @ (np.array([np.ones(SAMPLES), *at]) * load)

    hands = rng.uniform(0.03, 0.09, 2) * WEIGHT_N
    share = rng.uniform(0.4, 0.6)
    for side, part, hand in zip(SIDES, (share, 1 - share), hands, strict=True):
        foot = stance.foot(side)
        ap = foot.heel_edge_ap_mm + rng.uniform(0.45, 0.7) * foot.usable_length_mm + rng.normal(0, 4, SAMPLES)
        ml = np.full(SAMPLES, foot.heel_edge_ml_mm) + rng.normal(0, 3, SAMPLES)
        stand(rig.foot_cells(side), np.array([ap, ml]), (WEIGHT_N - hands.sum()) * part * np.ones(SAMPLES))
        crutch, cells = stance.crutch(side), rig.crutch_cells(side)
        assert crutch is not None
        if rig.is_crutch_plate(side):
            stand(cells, np.array([[330.0], [-330.0 if side == "left" else 330.0]]) * np.ones(SAMPLES), hand * np.ones(SAMPLES))  # fmt: skip
        else:
            forces[cells] = hand
    return forces


def drawn_forces(rng: Draw, forces: np.ndarray, cells: list[CellForce], rig: Rig, stance: Stance, gain_error: float) -> np.ndarray:  # fmt: skip
    gain, common = rng.normal(0, gain_error), rng.normal()
    lean = rng.uniform(
        -0.5, 0.5
    )  # where between along the shaft and upright the reaction lies, alike in both crutches
    out = []
    x_of = ForceTable.of(cells).readings(forces)
    for force, x, cell, place in zip(forces, x_of, cells, rig.cells, strict=True):
        slopes = rng.pair(cell.covariance)
        own = slopes[0] * x + slopes[1] * x * x + rng.normal(0, cell.residual_n) + rng.normal(0, cell.drift_n)
        zero = rng.normal(0, cell.zero_u_counts) * (cell.a1 + 2 * cell.a2 * x)
        turned = force
        if place.is_crutch and place.ap_mm is None:
            crutch = stance.crutch(place.side)
            assert crutch is not None
            true_tilt = math.radians(rng.normal(crutch.tilt_deg, crutch.tilt_uncertainty_deg))
            turned = force * (1 + true_tilt**2 * lean)
        out.append(turned + force * gain + common * cell.hysteresis_n + own + zero)
    return np.array(out)


def drawn_rig(rng: Draw, rig: Rig) -> Rig:
    def moved(value: float | None, u: float, pad: float) -> float | None:
        return None if value is None else value + rng.normal(0, u) + rng.uniform(-pad / 2, pad / 2)

    cells = [
        c.model_copy(
            update={
                "ap_mm": moved(c.ap_mm, c.position_uncertainty_mm, c.pad_length_mm),
                "ml_mm": moved(c.ml_mm, c.position_uncertainty_mm, c.pad_width_mm),
            }
        )
        for c in rig.cells
    ]
    return rig.model_copy(update={"cells": cells})


def drawn_stance(rng: Draw, stance: Stance) -> Stance:
    changes: dict[str, object] = {}
    for side in SIDES:
        f, c = stance.foot(side), stance.crutch(side)
        assert c is not None
        u = f.placement_uncertainty_mm
        changes[f"{side}_foot"] = f.model_copy(
            update={
                "heel_edge_ap_mm": f.heel_edge_ap_mm + rng.normal(0, u),
                "heel_edge_ml_mm": f.heel_edge_ml_mm + rng.normal(0, u),
                "toe_out_deg": f.toe_out_deg + rng.normal(0, f.toe_out_uncertainty_deg),
                "usable_length_mm": f.usable_length_mm + rng.normal(0, f.length_uncertainty_mm),
                "ankle_mm": (f.ankle_mm or 0.0) + rng.normal(0, f.joint_uncertainty_mm),
                "knee_mm": (f.knee_mm or 0.0) + rng.normal(0, f.joint_uncertainty_mm),
            }
        )
        u = c.tip_uncertainty_mm
        tips = {"tip_ap_mm": (c.tip_ap_mm or 0.0) + rng.normal(0, u), "tip_ml_mm": (c.tip_ml_mm or 0.0) + rng.normal(0, u)}  # fmt: skip
        changes[f"{side}_crutch"] = c.model_copy(update=tips)
    return stance.model_copy(update=changes)


def claimed(
    rig: Rig, stance: Stance, calibration: Calibration, forces: np.ndarray
) -> tuple[Found, dict[str, float]]:
    """What the program's own finders say, by name."""
    trial = Trial.model_validate(
        {"schema": 1, "state": "complete", "protocol": "free", "rig": rig, "stance": stance, "calibration": calibration,
         "subject": {"body_weight_n": WEIGHT_N, "body_weight_uncertainty_n": WEIGHT_U_N}}
    )  # fmt: skip
    n = forces.shape[1]
    prepared = Prepared(
        forces, np.ones(n, dtype=bool), np.arange(n) / 10, [(0, n)], 10.0, 0, [0.0] * len(forces)
    )
    setup = Setup(rig, stance, WEIGHT_N, WEIGHT_N, False)
    cells = cell_forces(rig, calibration)
    found = Found(
        trial, setup, cells, forces, lines_of(forces, setup), prepared, calibration.gain_error, Quality()
    )
    load = load_block(found)
    values = {name: load[f"{name}_u"] for name in ("total_n", "left_pct", "right_pct", "crutch_pct", "unmeasured_pct")}  # fmt: skip
    values |= {line: line_block(found, line)["uncertainty_mm"] for line in LINES}
    for side in SIDES:
        block = moment_block(found, side, load["crutch_pct"])
        values |= {f"{joint} {side}": block[f"{joint}_mean_nm_u"] for joint in ("ankle", "knee")}
    values["margin"] = support_block(found, load)["body_margin_mm_u"]
    return found, {name: u for name, u in values.items() if u is not None}


def drawn_values(
    found: Found, setup: Setup, lines: Any, weight_n: float, base: Stance, only: tuple[str, ...] = ()
) -> dict[str, float]:
    positions = {}
    for line in only or LINES:
        length = np.mean(np.broadcast_to(found.lines.length_mm[line], lines.feet_n.shape))
        positions[line] = float(lines.position_pct(line).mean() * length / 100)
    if only:
        return positions
    feet = lines.foot_n["left"].mean() + lines.foot_n["right"].mean()
    total = lines.total_n.mean()
    values = {
        "total_n": total,
        "left_pct": 100 * lines.foot_n["left"].mean() / feet,
        "right_pct": 100 * lines.foot_n["right"].mean() / feet,
        "crutch_pct": 100 * lines.hands_n.mean() / total,
        "unmeasured_pct": 100 * (weight_n - total) / weight_n,
        **positions,
    }
    for side in SIDES:
        for joint, moment in (("ankle", ankle_nm(lines, setup, side)), ("knee", knee_nm(lines, setup, side))):
            assert moment is not None
            values[f"{joint} {side}"] = moment.mean()
    # The margin's own density: the hull stands still, both feet's placements move the point.
    shift = [
        sum(found.shares("body")[s] * (getattr(setup.stance.foot(s), f"heel_edge_{a}_mm") - getattr(base.foot(s), f"heel_edge_{a}_mm")) for s in SIDES)
        for a in ("ap", "ml")
    ]  # fmt: skip
    point = [lines.point_mm["body"][a].mean() - shift[a] for a in (0, 1)]
    hull = feet_hull_mm(found.setup, {"left": 300.0, "right": 300.0})
    values["margin"] = margin((point[0], point[1]), hull).distance_mm
    return {name: float(value) for name, value in values.items()}


def without_toe_out(drawn: Stance, base: Stance) -> Stance:
    """The definition of the feet's and the body's mean position leaves the toe-out's error out; so does its check."""
    feet = {
        f"{s}_foot": drawn.foot(s).model_copy(update={"toe_out_deg": base.foot(s).toe_out_deg}) for s in SIDES
    }
    return drawn.model_copy(update=feet)


@pytest.mark.parametrize("seed", range(20))
def test_first_order_holds(seed: int) -> None:
    rng = np.random.default_rng([31, seed])
    rig, stance = a_rig(rng), a_stance(rng)
    calibration = a_calibration(rng, rig)
    forces = a_stand(rng, rig, stance)
    found, u = claimed(rig, stance, calibration, forces)
    assert {"total_n", "body_on_left", "body_on_right", "ankle left", "knee right"} <= set(u)
    draws: dict[str, list[float]] = {name: [] for name in u}
    for row in whitened(seed):
        draw = Draw(row)
        weight = draw.normal(WEIGHT_N, WEIGHT_U_N)
        drawn = drawn_stance(draw, stance)
        the_rig = drawn_rig(draw, rig)
        drawn_n = drawn_forces(draw, forces, found.cells, rig, stance, calibration.gain_error)
        setup = Setup(the_rig, drawn, WEIGHT_N, WEIGHT_N, False)
        lines = lines_of(drawn_n, setup)
        values = drawn_values(found, setup, lines, weight, stance)
        straight = Setup(the_rig, without_toe_out(drawn, stance), WEIGHT_N, WEIGHT_N, False)
        values |= drawn_values(found, straight, lines_of(drawn_n, straight), weight, stance, ("feet", "body"))
        for name in u:
            draws[name].append(values[name])
    for name, values_of in draws.items():
        assert float(np.std(values_of)) == pytest.approx(u[name], rel=0.05), name
