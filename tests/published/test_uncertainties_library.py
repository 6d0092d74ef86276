"""Our propagation against the general-purpose library `uncertainties` (linear, with correlations; checked with version 3.2)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from uncertainties import correlated_values, ufloat, umath

from balance.error_sources import sources_of
from balance.forces import ForceTable, cell_forces
from balance.load_line import Setup, lines_of
from balance.rig import SIDES
from balance.uncertainty import Sensitivities, line_uncertainty
from tests.balance.test_monte_carlo import WEIGHT_N, a_calibration, a_rig, a_stance, a_stand


@pytest.mark.parametrize("seed", range(8))
def test_total_shares_and_body_line(seed: int) -> None:
    rng = np.random.default_rng([77, seed])
    rig, stance = a_rig(rng), a_stance(rng)
    calibration = a_calibration(rng, rig)
    forces = a_stand(rng, rig, stance)[:, :1]
    setup, cells = Setup(rig, stance, WEIGHT_N, WEIGHT_N, False), cell_forces(rig, calibration)
    sources = sources_of(setup, cells, calibration.gain_error, 10.0)
    lines = lines_of(forces, setup)
    sens = Sensitivities(forces, lines, setup, ForceTable.of(cells), sources)

    gain, common = ufloat(0, calibration.gain_error), ufloat(0, 1)
    tilts = _tilts(setup)
    newtons, places = [], []
    for i, (cell, place) in enumerate(zip(cells, rig.cells, strict=True)):
        x = float(ForceTable.of(cells).readings(forces)[i, 0])
        a1, a2 = correlated_values([0, 0], cell.covariance) if cell.covariance[1, 1] else (ufloat(0, math.sqrt(cell.covariance[0, 0])), 0)  # fmt: skip
        slope = cell.a1 + 2 * cell.a2 * x
        f = forces[i, 0] * (1 + gain) + common * cell.hysteresis_n + a1 * x + a2 * x * x
        f = f + ufloat(0, cell.residual_n) + ufloat(0, cell.drift_n) + ufloat(0, cell.zero_u_counts) * slope
        if place.is_crutch and place.ap_mm is None:
            f = f * setup.shaft_gain[place.side] + forces[i, 0] * tilts[place.side]
        newtons.append(f)
        u = [math.hypot(place.position_uncertainty_mm, pad / math.sqrt(12)) for pad in (place.pad_length_mm, place.pad_width_mm)]  # fmt: skip
        places.append([ufloat(at or 0.0, u[a]) for a, at in enumerate((place.ap_mm, place.ml_mm))])
    for side in SIDES:
        tip = setup.tip_mm(side)
        crutch = stance.crutch(side)
        if not rig.is_crutch_plate(side) and tip is not None and crutch is not None:
            (i,) = rig.crutch_cells(side)
            places[i] = [ufloat(at, crutch.tip_uncertainty_mm) for at in tip]
    total = sum(newtons)
    assert math.sqrt(sens.u2(sens.total())) == pytest.approx(total.std_dev, rel=1e-9)
    feet = {s: sum(newtons[i] for i in rig.foot_cells(s)) for s in SIDES}
    ratio = float(lines.share["left"][0])
    row = (sens.foot("left") - ratio * (sens.foot("left") + sens.foot("right"))) / float(lines.feet_n[0])
    assert math.sqrt(sens.u2(row)) == pytest.approx((feet["left"] / (feet["left"] + feet["right"])).std_dev, rel=1e-9)  # fmt: skip
    body = [sum(f * at[a] for f, at in zip(newtons, places, strict=True)) / total for a in (0, 1)]
    rows = sens.points(["body"])["body"]
    covariance = sens.covariance_mm2(rows)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([b.std_dev for b in body], rel=1e-9)
    for side in SIDES:
        foot = stance.foot(side)
        sign = 1 if side == "right" else -1
        theta = ufloat(sign * math.radians(foot.toe_out_deg), math.radians(foot.toe_out_uncertainty_deg))
        heel = ufloat(foot.heel_edge_ap_mm, foot.placement_uncertainty_mm)
        length = ufloat(foot.usable_length_mm, foot.length_uncertainty_mm)
        position = (body[0] - heel) / (length * umath.cos(theta)) * foot.usable_length_mm
        point = (float(lines.point_mm["body"][0][0]), float(lines.point_mm["body"][1][0]))
        line = f"body_on_{side}"
        ours = line_uncertainty(line, setup, float(lines.along_mm[line][0]), point, covariance, {})
        assert ours.mm == pytest.approx(position.std_dev, rel=1e-6)


def _tilts(setup: Setup) -> dict[str, object]:
    """Relative errors of the two crutches' vertical forces by their tilts, with the covariance of both."""
    t, s = {}, {}
    for side in SIDES:
        crutch = setup.stance.crutch(side)
        assert crutch is not None
        t[side], s[side] = math.radians(crutch.tilt_deg), math.radians(crutch.tilt_uncertainty_deg)
    c = np.array([[0.0, 0.0], [0.0, 0.0]])
    for i, a in enumerate(SIDES):
        for j, b in enumerate(SIDES):
            c[i, j] = (t[a] ** 2 + s[a] ** 2) * (t[b] ** 2 + s[b] ** 2) / 12
        c[i, i] = (t[a] ** 4 + 6 * t[a] ** 2 * s[a] ** 2 + 3 * s[a] ** 4) / 12
    left, right = correlated_values([0, 0], c)
    return {"left": left, "right": right}
