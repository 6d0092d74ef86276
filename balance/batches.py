"""Means of four parts of a trial: what this one standing varied, not what a new one would."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from balance.found import Found
from balance.moments import ankle_nm, knee_nm
from balance.reading import LINES
from balance.rig import SIDES

Array = npt.NDArray[np.float64]

PARTS = 4  # tool default


def batch_means(found: Found) -> dict[str, list[float]]:
    """By the path of a result, for positions, shares and moments that the trial gives: its means over equal parts of the samples
    that count, in their order."""
    lines, setup = found.lines, found.setup
    batches: dict[str, list[float]] = {}
    for line in LINES:
        valid = found.valid(line)
        if valid.sum() >= PARTS and line in lines.along_mm:
            batches[f"load_line.{line}.mean_mm"] = _means(lines.along_mm[line][valid])
    feet = found.valid("feet")
    if feet.sum() >= PARTS:
        both = lines.feet_n[feet]
        for side in SIDES:
            batches[f"load.{side}_pct"] = _ratios(lines.foot_n[side][feet], both)
        if not setup.crutches_not_measured and not setup.from_weight:
            batches["load.crutch_pct"] = _ratios(lines.hands_n[feet], lines.total_n[feet])
    for side in SIDES:
        valid = found.valid(side)
        for joint, moment in (("ankle", ankle_nm(lines, setup, side)), ("knee", knee_nm(lines, setup, side))):
            if moment is not None and valid.sum() >= PARTS:
                batches[f"moment.{side}.{joint}_mean_nm"] = _means(moment[valid])
    return batches


def _means(values: Array) -> list[float]:
    return [float(part.mean()) for part in np.array_split(values, PARTS)]


def _ratios(part: Array, whole: Array) -> list[float]:
    parts = zip(np.array_split(part, PARTS), np.array_split(whole, PARTS), strict=True)
    return [float(100 * a.mean() / b.mean()) for a, b in parts]
