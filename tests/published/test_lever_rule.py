"""Centres of pressure and their uncertainty by hand: the lever rule, derived; no published source.

Two cells at 0 and 160 mm under 300 N and 100 N: 40 mm; sensitivities −0.1 and +0.3 mm/N, so 0.316228 mm for independent
errors of 1 N, 0.0424264 mm for independent gain errors of 0.1 %, exactly 0 for a gain error that all share. JCGM 100:2008,
5.2.2 note 1 (a shared reference): errors of one mass add up in a sum and cancel in a ratio.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from balance.calibration import Calibration
from balance.error_sources import sources_of
from balance.forces import ForceTable, cell_forces
from balance.load_line import Setup, lines_of
from balance.rig import Rig
from balance.stance import Stance
from balance.uncertainty import Sensitivities

CELLS = [
    ("left heel", 0.0, -100.0),
    ("left forefoot", 160.0, -100.0),
    ("right heel", 0.0, 100.0),
    ("right forefoot", 160.0, 100.0),
]
LOADS_N = np.array([[300.0], [100.0], [150.0], [50.0]])


def sensitivities(gain_n: float, slope_u: float, residual_n: float) -> tuple[Sensitivities, Setup]:
    """Everything exact but: a shared gain error, independent gain errors (relative), independent errors in newtons."""
    rig = Rig.model_validate(
        {
            "schema": 1,
            "name": "by hand",
            "zero_drift_n": 0.0,
            "cell": [
                {"channel": c, "under": u, "ap_mm": a, "ml_mm": m, "capacity_n": 1000.0, "position_uncertainty_mm": 0.0}
                for c, (u, a, m) in enumerate(CELLS)
            ],
        }
    )  # fmt: skip
    foot = {
        "heel_edge_ap_mm": -20.0,
        "usable_length_mm": 200.0,
        "heel_width_mm": 60.0,
        "forefoot_width_mm": 90.0,
    }
    exact = {"placement_uncertainty_mm": 0.0, "length_uncertainty_mm": 0.0, "toe_out_uncertainty_deg": 0.0}
    stance = Stance.model_validate(
        {"schema": 1, "left_foot": {**foot, **exact, "heel_edge_ml_mm": -100.0}, "right_foot": {**foot, **exact, "heel_edge_ml_mm": 100.0}}
    )  # fmt: skip
    channels = [
        {"channel": c, "zero_counts": 0.0, "zero_uncertainty_counts": 0.0, "newton_per_count": 1e-3,
         "covariance": [[(slope_u * 1e-3) ** 2]], "residual_n": residual_n, "hysteresis_n": 0.0}
        for c in range(4)
    ]  # fmt: skip
    calibration = Calibration.model_validate(
        {"schema": 1, "rig": "by hand", "made": "2026-01-01T00:00:00+00:00", "shared_gain_uncertainty": gain_n, "creep_pct": 0.0, "channels": channels}
    )  # fmt: skip
    setup = Setup(rig, stance, None, None, False)
    cells = cell_forces(rig, calibration)
    sources = sources_of(setup, cells, calibration.gain_error, 10.0)
    return Sensitivities(LOADS_N, lines_of(LOADS_N, setup), setup, ForceTable.of(cells), sources), setup


def u_ap_mm(sens: Sensitivities, point: str = "left") -> float:
    return math.sqrt(sens.covariance_mm2(sens.points([point])[point])[0, 0])


def test_the_lever_rule() -> None:
    sens, setup = sensitivities(0.0, 0.0, 1.0)
    lines = lines_of(LOADS_N, setup)
    assert lines.point_mm["left"][0][0] == pytest.approx(40.0, rel=1e-15)
    assert lines.point_mm["feet"][1][0] == pytest.approx(-100 * 400 / 600 + 100 * 200 / 600)
    assert u_ap_mm(sens) == pytest.approx(math.sqrt(0.1**2 + 0.3**2), rel=1e-12)


def test_independent_gains_spread_and_a_shared_one_cancels() -> None:
    assert u_ap_mm(sensitivities(0.0, 1e-3, 0.0)[0]) == pytest.approx(0.0424264, rel=1e-6)
    sens, _ = sensitivities(0.01, 0.0, 0.0)
    assert u_ap_mm(sens) == pytest.approx(0.0, abs=1e-10)
    assert u_ap_mm(sens, "feet") == pytest.approx(0.0, abs=1e-10)


def test_a_shared_mass_adds_up_in_the_total_and_leaves_the_shares() -> None:
    sens, _ = sensitivities(1e-3, 0.0, 0.0)
    assert math.sqrt(sens.u2(sens.total())) == pytest.approx(0.6, rel=1e-12)  # 0.1 % of 600 N, not of √Σ
    left, right = sens.foot("left"), sens.foot("right")
    share = (left - 400 / 600 * (left + right)) / 600
    assert math.sqrt(max(sens.u2(share), 0.0)) == pytest.approx(0.0, abs=1e-12)


def test_four_cells() -> None:
    """±100 mm; 0 and 180 mm; 150, 100 | 200, 150 N: point at (16.6667 right, 75 forward), right share 7/12."""
    _, setup = sensitivities(0.0, 0.0, 0.0)
    cells = [c.model_copy(update={"ap_mm": 180.0 if "forefoot" in c.under else 0.0}) for c in setup.rig.cells]
    other = Setup(setup.rig.model_copy(update={"cells": cells}), setup.stance, None, None, False)
    lines = lines_of(np.array([[150.0], [100.0], [200.0], [150.0]]), other)
    assert lines.point_mm["feet"][0][0] == pytest.approx(75.0)
    assert lines.point_mm["feet"][1][0] == pytest.approx(100 / 6)
    assert lines.share["right"][0] == pytest.approx(7 / 12)
