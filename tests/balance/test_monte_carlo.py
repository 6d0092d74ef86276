"""First-order uncertainty against Monte Carlo (JCGM 101): the errors are drawn, the whole computation is repeated.

The demo's rig and stance. Held within 5 % for loads, shares, lines and ankle moments.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from balance.command_line.setting_up import demo_floor
from balance.command_line.simulated_trial import record_simulated
from balance.forces import CellForce, ForceTable, cell_forces
from balance.load_line import Setup, lines_of
from balance.moments import ankle_nm
from balance.rig import Rig
from balance.simulated_person import Scenario, SimulatedPerson
from balance.simulated_person.loads import PersonLoads
from balance.stance import Foot, Stance
from drivers.simulated_board.board import SimulatedBoard
from tests.support import findings_of

FLOOR = demo_floor()
DRAWS = 3000


def drawn_forces(rng: np.random.Generator, forces: np.ndarray, cells: list[CellForce]) -> np.ndarray:
    gain, common = rng.normal(0, FLOOR.calibration.gain_error), rng.normal()
    lean = rng.uniform(
        -0.5, 0.5
    )  # where between along the shaft and upright the reaction lies, alike in both crutches
    out = []
    for force, x, cell, place in zip(
        forces, ForceTable.of(cells).readings(forces), cells, FLOOR.rig.cells, strict=True
    ):
        own = x * rng.normal(0, math.sqrt(cell.covariance[0, 0])) + rng.normal(
            0, math.hypot(cell.residual_n, cell.drift_n)
        )
        true_tilt = math.radians(rng.normal(9.0, 3.0)) if place.is_crutch else 0.0
        turned = force * (1 + true_tilt**2 * lean)
        zero = rng.normal(0, cell.zero_u_counts) * cell.a1
        out.append(turned * (1 + gain) + common * cell.hysteresis_n + own + zero)
    return np.array(out)


def drawn_rig(rng: np.random.Generator) -> Rig:
    def moved(value: float | None, u: float) -> float | None:
        return None if value is None else value + rng.normal(0, u)

    cells = [
        c.model_copy(
            update={
                "ap_mm": moved(c.ap_mm, c.position_uncertainty_mm),
                "ml_mm": moved(c.ml_mm, c.position_uncertainty_mm),
            }
        )
        for c in FLOOR.rig.cells
    ]
    return FLOOR.rig.model_copy(update={"cells": cells})


def drawn_stance(rng: np.random.Generator) -> Stance:
    def foot(f: Foot) -> Foot:
        u = f.placement_uncertainty_mm
        return f.model_copy(
            update={
                "heel_edge_ap_mm": f.heel_edge_ap_mm + rng.normal(0, u),
                "heel_edge_ml_mm": f.heel_edge_ml_mm + rng.normal(0, u),
                "toe_out_deg": f.toe_out_deg + rng.normal(0, f.toe_out_uncertainty_deg),
                "ankle_mm": (f.ankle_mm or 0.0) + rng.normal(0, f.joint_uncertainty_mm),
            }
        )

    changes: dict[str, object] = {
        "left_foot": foot(FLOOR.stance.left_foot),
        "right_foot": foot(FLOOR.stance.right_foot),
    }
    for side in ("left_crutch", "right_crutch"):
        c = getattr(FLOOR.stance, side)
        u = c.tip_uncertainty_mm
        changes[side] = c.model_copy(
            update={"tip_ap_mm": c.tip_ap_mm + rng.normal(0, u), "tip_ml_mm": c.tip_ml_mm + rng.normal(0, u)}
        )
    return FLOOR.stance.model_copy(update=changes)


def test_first_order_holds(tmp_path: Path) -> None:
    scenario = Scenario.model_validate(
        {"schema": 1, "mass_kg": 64.0, "seconds": 12.0, "left_crutch_pct": 9.0, "right_crutch_pct": 5.0}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    board = SimulatedBoard(PersonLoads(person, FLOOR.calibration), seed=2)
    found = findings_of(record_simulated(FLOOR, scenario, person, board, tmp_path, 12.0))
    cells = cell_forces(FLOOR.rig, FLOOR.calibration)
    forces = np.ascontiguousarray(person.forces_n(np.arange(0.5, 11.5, 0.25)).T)
    rng = np.random.default_rng(11)
    draws: dict[str, list[float]] = {}
    for _ in range(DRAWS):
        setup = Setup(drawn_rig(rng), drawn_stance(rng), person.body_weight_n, person.body_weight_n, False)
        lines = lines_of(drawn_forces(rng, forces, cells), setup)
        feet = lines.foot_n["left"].mean() + lines.foot_n["right"].mean()
        values = {
            "total_n": lines.total_n.mean(),
            "left_pct": 100 * lines.foot_n["left"].mean() / feet,
            "crutch_pct": 100 * lines.hands_n.mean() / lines.total_n.mean(),
            **{
                line: lines.along_mm[line].mean()
                for line in ("left", "right", "body_on_left", "body_on_right")
            },
        }
        for side in ("left", "right"):
            moment = ankle_nm(lines, setup, side)
            assert moment is not None
            values[f"ankle {side}"] = moment.mean()
        for name, value in values.items():
            draws.setdefault(name, []).append(float(value))
    claimed = {
        **{name: found["load"][f"{name}_u"] for name in ("total_n", "left_pct", "crutch_pct")},
        **{f"ankle {s}": found["moment"][s]["ankle_mean_nm_u"] for s in ("left", "right")},
    }
    for line in ("left", "right", "body_on_left", "body_on_right"):
        block = found["load_line"][line]
        foot = FLOOR.stance.left_foot if line.endswith("left") else FLOOR.stance.right_foot
        length_part = (
            block["mean_pct"] / 100 * foot.length_uncertainty_mm
        )  # counts in position, not in millimetres
        claimed[line] = math.sqrt(block["uncertainty_mm"] ** 2 - length_part**2)
    for name, u in claimed.items():
        assert float(np.std(draws[name])) == pytest.approx(u, rel=0.05), name
