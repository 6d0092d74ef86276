"""Findings on support: is the body line over the feet, or do the crutches (or the bar) hold it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.found import Found
from balance.load_line import Lines, Setup
from balance.reading import StandsOn
from balance.rig import SIDES, Side
from balance.support import hull_mm, margin, probability_over, usable_support_mm
from balance.uncertainty import against_the_feet_mm2
from balance.verdict import SURE, SURELY_NOT

Array = npt.NDArray[np.float64]


def stands_on(probability: float) -> StandsOn:
    """feet from 0.95, feet and crutches to 0.05, else undecided."""
    if probability >= SURE:
        return "feet"
    return "feet and crutches" if probability <= SURELY_NOT else "undecided"


def feet_hull_mm(setup: Setup, mean_n: Mapping[Side, float]) -> Array:
    """Hull of the usable supports of the feet that carry load; ``mean_n``: 'left', 'right' newtons."""
    corners = [usable_support_mm(setup.stance, s) for s in SIDES if mean_n[s] >= setup.minimum_n]
    return hull_mm(np.concatenate(corners)) if corners else np.zeros((0, 2))


def loaded_tips_mm(
    setup: Setup, lines: Lines, valid: npt.NDArray[np.bool_]
) -> dict[str, tuple[float, float]]:
    """Tips that hold: measured crutches loaded by their mean, and what the weight says; 'left', 'right', 'other…'."""
    tips: dict[str, tuple[float, float]] = {}
    for side, hand_n in lines.hand_n.items():
        if side in lines.crutch_mm and float(hand_n[valid].mean()) >= setup.loaded_n:
            ap, ml = lines.crutch_mm[side]
            if isinstance(ap, float) or isinstance(ml, float):
                tips[side] = (float(ap), float(ml))
            else:  # a plate says where the tip is while it is loaded
                on = valid & (hand_n >= setup.loaded_n)
                if on.any():
                    tips[side] = (float(ap[on].mean()), float(ml[on].mean()))
    if lines.other_n is not None and float(lines.other_n[valid].mean()) >= setup.loaded_n:
        for number, tip in enumerate(setup.other_tips_mm):
            tips[f"other{number}"] = tip
    return tips


def support_block(found: Found, load: dict[str, Any]) -> dict[str, Any]:
    """The ``support`` object."""
    block: dict[str, Any] = dict.fromkeys(
        ("body_margin_mm", "body_margin_mm_u", "support_margin_mm", "support_margin_mm_u", "stands_on", "probability_on_feet")
    )  # fmt: skip
    setup, lines, quality = found.setup, found.lines, found.quality
    valid = found.valid("body")
    if not valid.any() or load["total_n"] is None:
        code = "crutch-not-measured" if setup.crutches_not_measured else "crutch-no-place"
        facts = {}
        if not found.valid("feet").any():
            code, facts = "foot-not-loaded", {"line": "both feet"}
        quality.add(code, *(f"support.{key}" for key in block), **facts)
        return block
    feet = found.valid("feet")
    hull = feet_hull_mm(setup, {side: float(lines.foot_n[side][feet].mean()) for side in SIDES})
    mean = (found.mean(lines.point_mm["body"][0], "body"), found.mean(lines.point_mm["body"][1], "body"))
    own = found.sensitivities.covariance_mm2(found.point_rows["body"])
    covariance = against_the_feet_mm2(own, setup, found.shares("body"))
    if len(hull) < 3:
        quality.add("foot-not-loaded", *(f"support.{key}" for key in block), line="both feet")
        return block
    whole = hull_mm(
        np.concatenate([hull, *(np.array([tip]) for tip in loaded_tips_mm(setup, lines, feet).values())])
    )
    for name, area in (("body_margin_mm", hull), ("support_margin_mm", whole)):
        edge = margin(mean, area)
        normal = np.array(edge.normal)
        u = math.sqrt(float(normal @ covariance @ normal))
        block[name] = edge.distance_mm
        block[f"{name}_u"] = u if edge.to_next_mm >= 2 * u else None
        if block[f"{name}_u"] is None:
            quality.add("edges-tie", f"support.{name}_u")
    probability = probability_over(np.array(mean), covariance, hull)
    block["probability_on_feet"] = probability
    block["stands_on"] = "undecided" if found.body_undecided else stands_on(probability)
    return block
