"""What if: heel edge, rocker line, band or crutch tips somewhere else. Only the drawing moves: on another line this person would stand
differently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from balance.rig import SIDES, Side
from balance.stance import Stance

LEAST_LENGTH_MM = 20.0  # a shoe is no shorter
REACH_MM, REACH_BAND_PCT = 60, 30  # of what is offered to move


@dataclass(frozen=True)
class WhatIf:
    """Millimetres forward along each foot's axis, of both shoes; the band in % of the usable length; both tips along AP."""

    heel_mm: float = 0.0
    rocker_mm: float = 0.0
    band_pct: float = 0.0
    tip_mm: float = 0.0


def stance_if(stance: Stance, what: WhatIf) -> Stance:
    """The stance with those lines moved; joints and bench line stay where they are on the floor."""
    import math

    changes: dict[str, Any] = {}
    for side in SIDES:
        foot = stance.foot(side)
        turn = math.radians(foot.toe_out_deg)
        outward = _outward(side)
        length = max(foot.usable_length_mm - what.heel_mm + what.rocker_mm, LEAST_LENGTH_MM)
        moved: dict[str, Any] = {
            "heel_edge_ap_mm": foot.heel_edge_ap_mm + what.heel_mm * math.cos(turn),
            "heel_edge_ml_mm": foot.heel_edge_ml_mm + outward * what.heel_mm * math.sin(turn),
            "usable_length_mm": length,
        }
        for name in ("ankle_mm", "knee_mm", "bench_line_mm"):
            at = getattr(foot, name)
            moved[name] = None if at is None else at - what.heel_mm
        changes[f"{side}_foot"] = foot.model_copy(update=moved)
        crutch = stance.crutch(side)
        if crutch is not None and crutch.tip_ap_mm is not None:
            changes[f"{side}_crutch"] = crutch.model_copy(
                update={"tip_ap_mm": crutch.tip_ap_mm + what.tip_mm}
            )
    low, high = stance.band
    by = min(max(what.band_pct / 100, -low), 1 - high)  # the band stays on the usable length
    return stance.model_copy(update={**changes, "band": (low + by, high + by)})


def _outward(side: Side) -> int:
    """A positive toe-out turns the toe away from the midline."""
    return 1 if side == "right" else -1
