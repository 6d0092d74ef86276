"""Findings on moments: what the line asks of ankle, knee and orthosis."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from balance.found import Found
from balance.moments import ankle_nm, knee_nm
from balance.rig import SIDES, Side

Array = npt.NDArray[np.float64]

GRAVITY = 9.80665
ANGLE_APART_DEG = 3.0  # a spring's entry holds within this of its shank angle; tool default
KNEE_CRUTCH_PCT = 5.0  # crutches beyond this share bend the knee's moment; tool default


def moment_block(found: Found, side: Side, crutch_pct: float | None) -> dict[str, Any]:
    """One entry of ``moment``."""
    setup, quality = found.setup, found.quality
    foot = setup.stance.foot(side)
    block: dict[str, Any] = {}
    for joint in ("ankle", "knee"):
        for key in ("mean_nm", "mean_nm_u", "p95_nm", "peak_nm", "mean_nm_per_kg"):
            block[f"{joint}_{key}"] = None
    block["resisting_moment_nm"], block["used_pct"] = foot.resisting_moment_nm, None
    values = {"ankle": ankle_nm(found.lines, setup, side), "knee": knee_nm(found.lines, setup, side)}
    entered = {"ankle": foot.ankle_mm, "knee": foot.knee_mm}
    keys = {j: [f"moment.{side}.{k}" for k in block if k.startswith(j)] for j in ("ankle", "knee")}
    if found.valid(side).any():
        for joint, moment in values.items():
            at_mm = entered[joint]
            if moment is None or at_mm is None:
                quality.add("not-entered", *keys[joint])
            elif joint == "knee" and _knee_unknown(found, side, crutch_pct):
                quality.add("knee-by-crutches", *keys[joint])
            else:
                height = foot.knee_height_mm if joint == "knee" else None
                _fill(found, block, joint, side, moment, at_mm, height)
    else:
        quality.add(
            "foot-not-loaded",
            *keys["ankle"],
            *keys["knee"],
            f"moment.{side}.used_pct",
            line=f"the {side} foot",
        )
    if foot.resisting_moment_nm is None:
        quality.add("not-entered", f"moment.{side}.resisting_moment_nm", f"moment.{side}.used_pct")
    elif block["ankle_p95_nm"] is None:
        quality.add("not-entered", f"moment.{side}.used_pct")
    elif _at_its_angle(found, side):
        block["used_pct"] = 100 * block["ankle_p95_nm"] / foot.resisting_moment_nm
    return block


def _fill(
    found: Found,
    block: dict[str, Any],
    joint: str,
    side: Side,
    moment: Array,
    at_mm: float,
    height_mm: float | None,
) -> None:
    valid = found.valid(side)
    mean = float(moment[valid].mean())
    row, extra = found.sensitivities.joint(side, at_mm, height_mm, valid)
    block[f"{joint}_mean_nm"] = mean
    block[f"{joint}_mean_nm_u"] = found.u(
        f"moment.{side}.{joint}_mean_nm", mean, "N·m", row, {"placing and joint": extra}
    )
    block[f"{joint}_p95_nm"] = float(np.percentile(moment[valid], 95))
    block[f"{joint}_peak_nm"] = float(moment[valid].max())
    if found.setup.reference_n is None:
        found.quality.add("no-body-weight", f"moment.{side}.{joint}_mean_nm_per_kg")
    else:
        block[f"{joint}_mean_nm_per_kg"] = mean / (found.setup.reference_n / GRAVITY)


def _knee_unknown(found: Found, side: Side, crutch_pct: float | None) -> bool:
    """The crutches' horizontal push is not known well enough for a knee moment."""
    setup = found.setup
    if setup.from_weight or setup.crutches_not_measured or crutch_pct is None:
        return True
    if crutch_pct <= KNEE_CRUTCH_PCT:
        return False
    tilts = [setup.stance.crutch(s) for s in SIDES if s in found.lines.vertical_n]
    missing = any(crutch is None or crutch.tilt_ap_deg is None for crutch in tilts)
    return missing or setup.stance.foot(side).knee_height_mm is None


def _at_its_angle(found: Found, side: Side) -> bool:
    """The entered moment holds in this posture; says why where it does not."""
    entered = found.setup.stance.foot(side).resisting_at_shank_deg
    if entered is None:
        return True
    posture = found.trial.posture
    noted = posture.shank_deg(side) if posture else None
    if noted is not None and abs(noted - entered) <= ANGLE_APART_DEG:
        return True
    found.quality.add(
        "shank-angle", f"moment.{side}.used_pct", side=side, entered=entered, noted="none" if noted is None else f"{noted:g}°"
    )  # fmt: skip
    return False
