"""Findings on load: totals, shares, what the crutches carry, what is held elsewhere."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from balance.found import Found
from balance.rig import SIDES, Side
from balance.verdict import unmeasured_limit_n


def load_block(found: Found) -> dict[str, Any]:
    """The ``load`` object; ratios of means over the samples in which the feet are valid."""
    setup, lines, quality = found.setup, found.lines, found.quality
    weight = setup.body_weight_n
    block: dict[str, Any] = dict.fromkeys(
        ("total_n", "total_n_u", "body_weight_n", "left_pct", "left_pct_u", "right_pct", "right_pct_u", "crutch_pct",
         "crutch_pct_u", "crutch_from", "left_crutch_pct", "right_crutch_pct", "crutch_peak_pct", "unmeasured_pct",
         "unmeasured_pct_u")
    )  # fmt: skip
    block["body_weight_n"] = weight
    if weight is None:
        quality.add("no-body-weight", "load.body_weight_n", "load.unmeasured_pct", "load.unmeasured_pct_u")
    if not found.valid("feet").any():
        quality.add(
            "foot-not-loaded", *(f"load.{k}" for k, v in block.items() if v is None), line="both feet"
        )
        return block
    sens = found.sensitivities
    total = found.mean(lines.total_n)
    total_row = sens.total()
    block["total_n"], block["total_n_u"] = total, found.u("load.total_n", total, "N", total_row)
    means = {side: found.mean(lines.foot_n[side]) for side in SIDES}
    rows = {side: sens.foot(side) for side in SIDES}
    feet = means["left"] + means["right"]
    for side in SIDES:
        ratio = means[side] / feet
        row = 100 * (rows[side] - ratio * (rows["left"] + rows["right"])) / feet
        block[f"{side}_pct"] = 100 * ratio
        block[f"{side}_pct_u"] = found.u(f"load.{side}_pct", 100 * ratio, "%", row)
    _crutches(found, block, total, total_row)
    _unmeasured(found, block, total, total_row)
    return block


def _crutches(found: Found, block: dict[str, Any], total: float, total_row: Any) -> None:
    setup, lines, quality = found.setup, found.lines, found.quality
    keys = (
        "crutch_pct",
        "crutch_pct_u",
        "crutch_from",
        "left_crutch_pct",
        "right_crutch_pct",
        "crutch_peak_pct",
    )
    if setup.crutches_not_measured:
        quality.add("crutch-not-measured", *(f"load.{key}" for key in keys))
        return
    sens, valid = found.sensitivities, found.valid("feet")
    hands_row = sens.hands()
    weight = setup.body_weight_n
    if setup.from_weight and weight is not None:
        support_row = hands_row + sens.body_weight() - total_row
        ratio = found.mean(lines.support_n) / weight
        row = 100 * (support_row - ratio * sens.body_weight()) / weight
        whole: Any = np.full(len(valid), weight)
        block["crutch_from"] = "weight"
    else:
        ratio = found.mean(lines.hands_n) / total
        row = 100 * (hands_row - ratio * total_row) / total
        whole = lines.total_n
        if lines.vertical_n:
            block["crutch_from"] = "cells"
        else:
            quality.add("no-crutches", "load.crutch_from")
    block["crutch_pct"], block["crutch_pct_u"] = (
        100 * ratio,
        found.u("load.crutch_pct", 100 * ratio, "%", row),
    )
    block["crutch_peak_pct"] = float((100 * lines.support_n[valid] / whole[valid]).max())
    for side in SIDES:
        block[f"{side}_crutch_pct"] = _own_crutch_pct(found, side, float(whole[valid].mean()))
        if block[f"{side}_crutch_pct"] is None:
            quality.add("crutch-from-weight", f"load.{side}_crutch_pct")


def _own_crutch_pct(found: Found, side: Side, whole_n: float) -> float | None:
    if side in found.lines.hand_n:
        return 100 * found.mean(found.lines.hand_n[side]) / whole_n
    return None if found.setup.stance.uses_crutch(side) else 0.0


def _unmeasured(found: Found, block: dict[str, Any], total: float, total_row: Any) -> None:
    setup, quality = found.setup, found.quality
    weight = setup.body_weight_n
    found.body_undecided = setup.touched
    if weight is None:
        return
    sens = found.sensitivities
    missing_n = weight - total
    u_n = math.sqrt(sens.u2(sens.body_weight() - total_row))
    limit_n = unmeasured_limit_n(u_n, weight)
    if missing_n < -limit_n:
        quality.add("body-weight-too-low", extra_n=-missing_n)
    if setup.from_weight:
        quality.add("crutch-from-weight", "load.unmeasured_pct", "load.unmeasured_pct_u")
        return
    block["unmeasured_pct"] = 100 * missing_n / weight
    row = 100 * (-total_row + (total / weight) * sens.body_weight()) / weight
    block["unmeasured_pct_u"] = found.u("load.unmeasured_pct", block["unmeasured_pct"], "%", row)
    if missing_n > limit_n:
        found.body_undecided = True
        quality.add("unmeasured-support", missing_kg=missing_n / 9.80665)
