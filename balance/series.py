"""A trial over time, for pictures: few enough points to draw, none of them a finding."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from balance.found import Found
from balance.rig import SIDES

Array = npt.NDArray[np.float64]

POINTS = 600  # means of equal parts of the time; tool default
GRAVITY = 9.80665


def series_of(found: Found) -> dict[str, Any]:
    """time_s, and by name lists as long: kg on 'left', 'right', 'crutches'; mm from the heel edge of 'body_on_left', 'body_on_right'.
    None where a part has no value."""
    lines, time_s = found.lines, found.prepared.time_s
    if len(time_s) == 0:
        return {"time_s": []}
    parts = np.array_split(np.arange(len(time_s)), min(POINTS, len(time_s)))
    feet = found.valid("feet")
    out: dict[str, Any] = {"time_s": [round(float(time_s[p].mean()), 3) for p in parts]}
    for side in SIDES:
        out[side] = _means(lines.foot_n[side] / GRAVITY, feet, parts)
        line = f"body_on_{side}"
        out[line] = _means(lines.along_mm[line], found.valid(line), parts)
    out["crutches"] = (
        None if found.setup.crutches_not_measured else _means(lines.support_n / GRAVITY, feet, parts)
    )
    return out


def _means(values: Array, valid: npt.NDArray[np.bool_], parts: list[Any]) -> list[float | None]:
    whole = np.broadcast_to(values, valid.shape)
    return [float(whole[p][valid[p]].mean()) if valid[p].any() else None for p in parts]
