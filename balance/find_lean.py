"""Findings of a lean: how much of the usable support was used, the margins, what the orthosis had to do, and whether it or the hands
took the load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.batches import PARTS
from balance.found import Found
from balance.moments import ankle_nm
from balance.rig import SIDES, Side
from balance.statistics import batch_reach
from balance.support import feet_hull_mm, margin

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SETTLING_S = 2.0  # after a lean was said nothing is compared: the person is moving; tool default
USED = (5.0, 95.0)  # percentiles of the positions; tool default


def lean(found: Found, cues: Sequence[tuple[float, str]]) -> dict[str, Any]:
    """cues: (seconds after the first row, words); the standing before the first is compared with what follows it until the next."""
    lines, time_s = found.lines, found.prepared.time_s
    block: dict[str, Any] = {"least_margin_mm": None, "more_on_orthosis": {}}
    body = found.valid("body")
    feet = found.valid("feet")
    if body.any():
        hull = feet_hull_mm(found.setup, {side: float(lines.foot_n[side][feet].mean()) for side in SIDES})
        ap, ml = (np.broadcast_to(axis, body.shape)[body] for axis in lines.point_mm["body"])
        block["least_margin_mm"] = min(
            margin((a, m), hull).distance_mm for a, m in zip(ap.tolist(), ml.tolist(), strict=True)
        )
    else:
        found.quality.add(
            "crutch-not-measured" if found.setup.crutches_not_measured else "foot-not-loaded",
            "lean.least_margin_mm",
            line="body line",
        )
    forward = [at for at, words in cues if "forward" in words]
    before = after = np.zeros(len(time_s), dtype=np.bool_)
    if forward:
        ends = [at for at, _ in cues if at > forward[0]]
        before = time_s < forward[0]
        after = (time_s >= forward[0] + SETTLING_S) & (time_s < (ends[0] if ends else np.inf))
    for side in SIDES:
        valid = found.valid(side)
        used: list[float] | None = None
        if valid.any():
            used = np.percentile(lines.position_pct(side)[valid], USED).tolist()
        block[side] = {"used_pct": used, "ankle_peak_nm": None}
        moment = ankle_nm(lines, found.setup, side)
        if moment is not None and valid.any():
            block[side]["ankle_peak_nm"] = float(moment[valid].max())
        if used is None:
            found.quality.add(
                "foot-not-loaded",
                f"lean.{side}.used_pct",
                f"lean.{side}.ankle_peak_nm",
                line=f"the {side} foot",
            )
        elif moment is None:
            found.quality.add("not-entered", f"lean.{side}.ankle_peak_nm")
        block["more_on_orthosis"][side] = _more(found, side, moment, before, after)
    absent = [f"lean.more_on_orthosis.{side}" for side in SIDES if block["more_on_orthosis"][side] is None]
    if absent:
        found.quality.add("no-lean" if not forward else "lean-not-compared", *absent)
    return block


def _more(found: Found, side: Side, moment: Array | None, before: Mask, after: Mask) -> dict[str, Any] | None:
    """Foot point, ankle moment and crutch share, each with its change and interval; more load on the orthosis is said only if the point
    went forward, the moment up and the crutch share down, each beyond its interval: forward alone may be the hands."""
    lines, setup = found.lines, found.setup
    valid, feet = found.valid(side), found.valid("feet")
    if moment is None or setup.crutches_not_measured:
        return None
    whole = (
        lines.total_n
        if not setup.from_weight or setup.body_weight_n is None
        else np.full(len(feet), setup.body_weight_n)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        share = 100 * lines.support_n / whole
    series = {
        "foot_point_mm": (lines.along_mm[side], valid),
        "ankle_nm": (moment, valid),
        "crutch_pct": (share, feet),
    }
    changes: dict[str, Any] = {}
    for name, (values, good) in series.items():
        parts = [np.broadcast_to(values, good.shape)[good & when] for when in (before, after)]
        if any(len(part) < PARTS for part in parts):
            return None
        batches = [[float(b.mean()) for b in np.array_split(part, PARTS)] for part in parts]
        change, reach = float(parts[1].mean() - parts[0].mean()), batch_reach([batches[0]], [batches[1]])
        changes[name], changes[f"{name}_ci95"] = change, [change - reach, change + reach]
    said = (
        changes["foot_point_mm_ci95"][0] > 0
        and changes["ankle_nm_ci95"][0] > 0
        and changes["crutch_pct_ci95"][1] < 0
    )
    return {**changes, "more": said}
