"""External moments at ankle and knee: what the body line asks of the orthosis (N·m)."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from balance.load_line import Lines, Setup
from balance.rig import SIDES, Side

Array = npt.NDArray[np.float64]


def ankle_nm(lines: Lines, setup: Setup, side: Side) -> Array | None:
    """(n,) external ankle moment, positive toward dorsiflexion: load × (foot point − ankle); None without ankle_mm."""
    ankle = setup.stance.foot(side).ankle_mm
    if ankle is None:
        return None
    return np.asarray(lines.foot_n[side] * (lines.along_mm[side] - ankle) / 1000, dtype=np.float64)


def crutch_push_n(lines: Lines, setup: Setup) -> Array:
    """(n,) forward horizontal force at the feet, which crutches planted ahead push back through them."""
    push = np.zeros_like(lines.feet_n)
    for side in SIDES:
        crutch = setup.stance.crutch(side)
        if side in lines.vertical_n and crutch is not None and crutch.tilt_ap_deg is not None:
            push = push + lines.vertical_n[side] * math.tan(math.radians(crutch.tilt_ap_deg))
    return push


def knee_nm(lines: Lines, setup: Setup, side: Side) -> Array | None:
    """(n,) external knee moment, positive where it extends the knee; None without knee_mm."""
    foot = setup.stance.foot(side)
    if foot.knee_mm is None:
        return None
    moment = lines.foot_n[side] * (lines.along_mm[side] - foot.knee_mm)
    if foot.knee_height_mm is not None:
        moment = moment + lines.share[side] * crutch_push_n(lines, setup) * foot.knee_height_mm
    return np.asarray(moment / 1000, dtype=np.float64)
