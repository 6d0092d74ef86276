"""Findings of a crutch-load trial: each step's load through the hands, the body line, and the relief against the step before."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.batches import PARTS
from balance.found import Found
from balance.reading import LINES
from balance.rig import SIDES
from balance.statistics import batch_reach
from balance.support import feet_hull_mm, margin

Mask = npt.NDArray[np.bool_]

SETTLING_S = 2.0  # after a step was said nothing is counted: the person is moving; tool default
TIPS_MOVED = ("tips nearer", "tips lifted", "lifted")
KG = 1 / 9.80665
BODY_KEYS = tuple(
    f"crutch_steps.{key}"
    for key in ("body_on_left_mm", "body_on_right_mm", "over_feet_pct_time", "ahead_pct_time")
)


def crutch_steps(found: Found, steps: Sequence[tuple[float, str]]) -> list[dict[str, Any]]:
    """One entry a step: steps are (seconds after the first row, words); without any the whole trial is one.

    Once tips were moved their places are no longer those of the stance: from there on the body line is absent, unless crutch plates say
    where they stand.
    """
    time_s = found.prepared.time_s
    edges = [*steps, (np.inf, "")] if steps else [(0.0, "tips as they are"), (np.inf, "")]
    entries: list[dict[str, Any]] = []
    moved = False
    before: list[float] | None = None
    for number, ((start, name), (end, _)) in enumerate(pairwise(edges)):
        moved = moved or name in TIPS_MOVED
        settled = start + (SETTLING_S if number or start > 0 else 0.0)
        inside = (time_s >= settled) & (time_s < end)
        entry, batches = _step(found, name, inside, moved)
        entry |= {"start_s": float(start), "end_s": float(min(end, time_s[-1])) if len(time_s) else None}
        if before is not None and batches is not None:
            difference = float(np.mean(batches) - np.mean(before))
            reach = batch_reach([before], [batches])
            entry["relief_pct"], entry["relief_ci95"] = (
                -difference,
                [-difference - reach, -difference + reach],
            )
        if entry["relief_pct"] is None:
            found.quality.add("first-step", "crutch_steps.relief_pct", "crutch_steps.relief_ci95")
        before = batches or before
        entries.append(entry)
    return entries


def _step(found: Found, name: str, inside: Mask, moved: bool) -> tuple[dict[str, Any], list[float] | None]:
    lines, setup, quality = found.lines, found.setup, found.quality
    entry: dict[str, Any] = {"step": name, "relief_pct": None, "relief_ci95": None}
    feet = found.valid("feet") & inside
    weight = setup.reference_n
    measured = not setup.crutches_not_measured and feet.sum() >= PARTS
    for side in SIDES:
        hand = lines.hand_n.get(side)
        own = hand[feet] if measured and hand is not None else None
        entry[f"{side}_crutch_kg"] = None if own is None else float(own.mean() * KG)
        entry[f"{side}_crutch_peak_kg"] = None if own is None else float(own.max() * KG)
        entry[f"{side}_crutch_weight_pct"] = (
            None if own is None or weight is None else float(100 * own.mean() / weight)
        )
    batches = None
    entry["crutch_pct"] = entry["crutch_peak_pct"] = None
    if measured:
        support, whole = lines.support_n[feet], lines.total_n[feet]
        if setup.from_weight and setup.body_weight_n is not None:
            whole = np.full(len(support), setup.body_weight_n)
        entry["crutch_pct"] = float(100 * support.mean() / whole.mean())
        entry["crutch_peak_pct"] = float((100 * support / whole).max())
        parts = zip(np.array_split(support, PARTS), np.array_split(whole, PARTS), strict=True)
        batches = [float(100 * s.mean() / w.mean()) for s, w in parts]
    else:
        quality.add("crutch-not-measured", "crutch_steps.crutch_pct", "crutch_steps.crutch_peak_pct")
    absent = [
        f"crutch_steps.{key}" for key, value in entry.items() if value is None and key.split("_")[0] in SIDES
    ]
    if absent:
        quality.add("crutch-from-weight" if setup.from_weight else "crutch-not-measured", *absent)
    known = not moved or all(
        setup.rig.is_crutch_plate(side) for side in SIDES if setup.stance.uses_crutch(side)
    )
    body = found.valid("body") & inside
    for line in LINES[4:]:
        seen = found.valid(line) & inside
        entry[f"{line}_mm"] = float(lines.along_mm[line][seen].mean()) if known and seen.any() else None
    entry["over_feet_pct_time"] = entry["ahead_pct_time"] = None
    if known and body.any():
        entry |= _over_and_ahead(found, feet, body)
    elif known:
        code = "crutch-not-measured" if setup.crutches_not_measured else "crutch-no-place"
        quality.add(code, *BODY_KEYS)
    else:
        quality.add("tips-moved", *BODY_KEYS)
    return entry, batches


def _over_and_ahead(found: Found, feet: Mask, body: Mask) -> dict[str, float]:
    """Parts of the time in which the body line is over the feet's support, and ahead of both rocker lines."""
    lines, setup = found.lines, found.setup
    hull = feet_hull_mm(setup, {side: float(lines.foot_n[side][feet].mean()) for side in SIDES})
    ap, ml = (np.broadcast_to(axis, body.shape)[body] for axis in lines.point_mm["body"])
    over = np.array(
        [margin((a, m), hull).distance_mm >= 0 for a, m in zip(ap.tolist(), ml.tolist(), strict=True)]
    )
    positions = [np.broadcast_to(lines.position_pct(line), body.shape)[body] for line in LINES[4:]]
    ahead = np.all([p > 100 for p in positions], axis=0)
    return {"over_feet_pct_time": float(100 * over.mean()), "ahead_pct_time": float(100 * ahead.mean())}
