"""Findings on support: is the body line over the feet, or do the crutches (or the bar) hold it."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from balance.found import Found
from balance.rig import SIDES
from balance.support import feet_hull_mm, hull_mm, loaded_tips_mm, margin, probability_over, stands_on
from balance.uncertainty import against_the_feet_mm2

Array = npt.NDArray[np.float64]


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
    shares = found.shares("body")
    placing = sum((shares[s] * setup.stance.foot(s).placement_uncertainty_mm) ** 2 for s in SIDES)
    for name, area in (("body_margin_mm", hull), ("support_margin_mm", whole)):
        edge = margin(mean, area)
        row = np.array(edge.normal) @ found.point_rows["body"]
        u = found.u(f"support.{name}", edge.distance_mm, "mm", row, {"placing": placing})
        block[name] = edge.distance_mm
        block[f"{name}_u"] = u if edge.to_next_mm >= 2 * u else None
        if block[f"{name}_u"] is None:
            quality.add("edges-tie", f"support.{name}_u")
    probability = probability_over(np.array(mean), covariance, hull)
    block["probability_on_feet"] = probability
    block["stands_on"] = "undecided" if found.body_undecided else stands_on(probability)
    return block
