"""What a cue asks of the person: to which side and how far, read from the cue's own words ('shift left 50')."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from balance.reading import Snapshot
from balance.rig import SIDES, Side


@dataclass(frozen=True)
class Asked:
    """kind: shift, lean, stand, or step of a crutch-load trial · target_pct: of body weight on that side."""

    kind: Literal["shift", "lean", "stand", "step"]
    words: str
    side: Side | None = None
    target_pct: int | None = None


def asked_by(detail: str | None) -> Asked | None:
    """Of a cue's detail; None for none."""
    if detail is None:
        return None
    parts = detail.split()
    if len(parts) == 3 and parts[0] == "shift" and parts[1] in SIDES and parts[2].isdigit():
        return Asked("shift", detail, SIDES[SIDES.index(parts[1])], int(parts[2]))
    if parts[0] == "lean":
        return Asked("lean", detail)
    return Asked("stand" if parts[0] == "stand" else "step", detail)


def target_share_pct(asked: Asked | None, snapshot: Snapshot | None) -> float | None:
    """Right foot's part of both feet's load, %, at which the asked part of body weight is on the asked side; None where it is not known.

    The target is of body weight, the picture of both feet's load: with 10 % on the crutches 50 % of body weight is 56 % of the feet's.
    """
    if asked is None or asked.target_pct is None or snapshot is None or snapshot.body_weight_n is None:
        return None
    feet_n = sum(snapshot.load_n.get(side, 0.0) for side in SIDES)
    if feet_n <= 0:
        return None
    share = min(100.0, asked.target_pct * snapshot.body_weight_n / feet_n)
    return share if asked.side == "right" else 100.0 - share
