"""Findings on the lines: where each falls on its usable length, in the band or not, how sure."""

from __future__ import annotations

from typing import Any

import numpy as np

from balance.found import Found
from balance.measures.standard_error import se_of_mean
from balance.reading import POINTS
from balance.uncertainty import line_uncertainty
from balance.verdict import TOO_NARROW, offset_mm, probability_inside, verdict
from balance.words import say

KEYS = (
    "mean_pct", "sd_pct", "mean_mm", "offset_mm", "uncertainty_mm", "se_mm", "se_dof", "in_band_pct_time",
    "on_support_pct_time", "probability_inside", "verdict", "largest_uncertainty",
)  # fmt: skip


def line_block(found: Found, line: str) -> dict[str, Any]:
    """One entry of ``load_line``; every value None where the line was never valid, with the reason."""
    block: dict[str, Any] = dict.fromkeys(KEYS)
    keys = [f"load_line.{line}.{key}" for key in KEYS]
    valid, setup, quality = found.valid(line), found.setup, found.quality
    if line in ("feet", "body") and setup.heels_staggered:
        apart = abs(setup.frames["left"].heel_mm[0] - setup.frames["right"].heel_mm[0])
        quality.add("heels-staggered", *keys, apart_mm=apart)
        return block
    if not valid.any():
        if setup.crutches_not_measured and line.startswith("body"):
            quality.add("crutch-not-measured", *keys)
        elif line.startswith("body") and found.valid("feet").any():
            quality.add("crutch-no-place", *keys)
        else:
            quality.add("foot-not-loaded", *keys, line=say(f"line.{line}"))
        return block
    position = found.lines.position_pct(line)[valid]
    low, high = setup.stance.band
    length_mm = float(np.mean(np.broadcast_to(found.lines.length_mm[line], valid.shape)[valid]))
    mean_mm = float(found.lines.along_mm[line][valid].mean())
    shares = found.shares(line) if line in ("feet", "body") else {}
    sens, point = found.sensitivities, line if line in POINTS else "body"
    rows, (ap, ml) = found.point_rows[point], found.lines.point_mm[point]
    point_mm = (float(ap[valid].mean()), float(ml[valid].mean()))
    uncertainty = line_uncertainty(line, setup, mean_mm, point_mm, sens.covariance_mm2(rows), shares)
    found.u(f"load_line.{line}.mean_mm", mean_mm, "mm", np.array(uncertainty.along) @ rows, uncertainty.own)
    parts = uncertainty.parts(sens.sources, rows)
    largest = block["largest_uncertainty"] = max(parts, key=lambda name: parts[name])
    mean_pct = float(position.mean())
    u_pct = 100 * uncertainty.mm / length_mm
    block["mean_pct"], block["sd_pct"] = mean_pct, float(position.std())
    block["mean_mm"] = mean_mm
    block["offset_mm"] = offset_mm(mean_mm, low * length_mm, high * length_mm)
    block["uncertainty_mm"] = uncertainty.mm
    block["se_mm"], block["se_dof"] = se_of_mean(found.lines.along_mm[line][valid])
    if block["se_mm"] is None:
        quality.add("few-for-error", f"load_line.{line}.se_mm", f"load_line.{line}.se_dof")
    block["in_band_pct_time"] = float(100 * np.mean((position >= 100 * low) & (position <= 100 * high)))
    block["on_support_pct_time"] = float(100 * np.mean((position >= 0) & (position <= 100)))
    block["probability_inside"] = probability_inside(mean_pct, u_pct, 100 * low, 100 * high)
    block["verdict"] = verdict(block["probability_inside"])
    band_mm = (high - low) * length_mm
    if uncertainty.mm > band_mm / TOO_NARROW:
        quality.add(
            "band-too-narrow",
            line=say(f"line.{line}"),
            expanded_mm=np.ceil(2 * uncertainty.mm),
            band_mm=band_mm,
            largest=say(f"part.{largest}"),
            help=say(f"help-part.{largest}"),
        )
    return block
