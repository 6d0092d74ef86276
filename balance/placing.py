"""Shoe and placing: heel edge and rocker line pressed on the plate, on the marks, by eye, or by numbers.

With the empty shoe (orthosis in it) on its plate, its toe end is pressed until the heel just lifts: all load then goes through the
rocker line, so the load point is on it. The heel pressed until the toe end lifts gives the heel edge. A paper strip slid under the
toe until it stops checks it (common practice).
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from balance.files import Described, read_toml
from balance.rig import SIDES, Side
from balance.stance import Foot, ShoeFoot, Stance
from balance.tables import each, number, optional_number, read_table
from balance.words import say

End = Literal["heel", "rocker"]
Way = Literal["on the marks", "by eye"]

LEAST_PRESS_N = 50.0  # tool default
PRESSES = 3
CONTACT_MM = 1.0  # the edge's own width, beside spread and cells; tool default
WAYS: dict[Way, tuple[float, float]] = {
    "on the marks": (3.0, 2.0),
    "by eye": (8.0, 4.0),
}  # mm, degrees; tool default
TIP_U_MM = {"tape": 10.0, "by eye": 30.0}  # tool default


class Shoe(Described):
    """shoe.toml of one subject: left and right."""

    left_foot: ShoeFoot
    right_foot: ShoeFoot

    def foot(self, side: Side) -> ShoeFoot:
        return self.left_foot if side == "left" else self.right_foot


def read_shoe(path: Path) -> Shoe:
    """shoe.toml. Raises FileProblem."""
    return read_toml(path, Shoe)


def shoe_of(stance: Stance) -> Shoe:
    """The part of a stance that stays with the shoes."""
    feet = {
        f"{side}_foot": {
            k: v for k in ShoeFoot.model_fields if (v := getattr(stance.foot(side), k)) is not None
        }
        for side in SIDES
    }
    return Shoe.model_validate(feet)


def with_shoe(stance: Stance, shoe: Shoe) -> Stance:
    """The stance with other shoes in the same places."""
    changes = {f"{s}_foot": stance.foot(s).model_copy(update=shoe.foot(s).model_dump()) for s in SIDES}
    return stance.model_copy(update=changes)


@dataclass(frozen=True)
class Press:
    """One press: where the load point stood (mm), under which load, and its standard uncertainty by the cells."""

    side: Side
    end: End
    ap_mm: float
    ml_mm: float
    load_n: float
    u_ap_mm: float = 1.0
    u_ml_mm: float = 1.0


@dataclass(frozen=True)
class Edge:
    """Mean of a foot's presses on one end, with standard uncertainties from spread, cells and the edge's own width."""

    ap_mm: float
    ml_mm: float
    u_ap_mm: float
    u_ml_mm: float
    spread_mm: float  # largest distance of a press from the mean


def edge_of(presses: list[Press]) -> Edge:
    """Of at least two presses of one end."""
    ap, ml = statistics.fmean(p.ap_mm for p in presses), statistics.fmean(p.ml_mm for p in presses)

    def u(values: list[float], cells: list[float]) -> float:
        own = statistics.stdev(values) / math.sqrt(len(values))
        return math.sqrt(own**2 + max(cells) ** 2 + CONTACT_MM**2)

    return Edge(
        ap, ml, u([p.ap_mm for p in presses], [p.u_ap_mm for p in presses]),
        u([p.ml_mm for p in presses], [p.u_ml_mm for p in presses]),
        max(math.hypot(p.ap_mm - ap, p.ml_mm - ml) for p in presses),
    )  # fmt: skip


def pressed_foot(foot: Foot, side: Side, heel: Edge, rocker: Edge) -> Foot:
    """The foot with heel edge, axis and usable length as pressed. Raises ValueError where the two ends do not make a shoe."""
    ap, ml = rocker.ap_mm - heel.ap_mm, rocker.ml_mm - heel.ml_mm
    length = math.hypot(ap, ml)
    if ap <= 0 or length < 50:
        raise ValueError(say("place.no-shoe", side=side, length=length))
    along = (ap / length, ml / length)
    u_along = math.hypot(along[0] * heel.u_ap_mm, along[1] * heel.u_ml_mm)
    u_rocker = math.hypot(along[0] * rocker.u_ap_mm, along[1] * rocker.u_ml_mm)
    outward = 1 if side == "right" else -1
    return foot.model_copy(
        update={
            "heel_edge_ap_mm": round(heel.ap_mm, 2),
            "heel_edge_ml_mm": round(heel.ml_mm, 2),
            "toe_out_deg": round(outward * math.degrees(math.atan2(ml, ap)), 2),
            "toe_out_uncertainty_deg": round(
                math.degrees(math.hypot(heel.u_ml_mm, rocker.u_ml_mm) / length), 2
            ),
            "usable_length_mm": round(length, 2),
            "placement_uncertainty_mm": round(max(heel.u_ap_mm, heel.u_ml_mm), 2),
            "length_uncertainty_mm": round(math.hypot(u_along, u_rocker), 2),
        }
    )


def pressed_stance(stance: Stance, presses: list[Press]) -> Stance:
    """The stance with every foot that was pressed on both ends, three times each. Raises ValueError with a sentence."""
    changes = {}
    for side in SIDES:
        own = [p for p in presses if p.side == side]
        if not own:
            continue
        ends = {end: [p for p in own if p.end == end] for end in ("heel", "rocker")}
        for end, done in ends.items():
            if len(done) < PRESSES:
                raise ValueError(say("place.presses", side=side, end=say(f"place.{end}"), count=len(done), wanted=PRESSES))  # fmt: skip
        light = [p for p in own if p.load_n < LEAST_PRESS_N]
        if light:
            raise ValueError(say("place.light", side=side, load=light[0].load_n, least=LEAST_PRESS_N))
        changes[f"{side}_foot"] = pressed_foot(stance.foot(side), side, edge_of(ends["heel"]), edge_of(ends["rocker"]))  # fmt: skip
    if not changes:
        raise ValueError(say("place.nothing"))
    return stance.model_copy(update=changes)


def placed(stance: Stance, way: Way) -> Stance:
    """The same places, known as well as this way of putting the feet down gives."""
    mm, deg = WAYS[way]
    update = {"placement_uncertainty_mm": mm, "toe_out_uncertainty_deg": deg}
    return stance.model_copy(update={f"{s}_foot": stance.foot(s).model_copy(update=update) for s in SIDES})


def with_tips(stance: Stance, tips: dict[Side, tuple[float, float]], how: str) -> Stance:
    """The crutch tips at other places (AP, ML), known as well as ``how`` ('tape' or 'by eye') gives."""
    changes: dict[str, Any] = {}
    for side in SIDES:
        crutch = stance.crutch(side)
        if crutch is None:
            continue
        at = tips.get(side)
        where = {} if at is None else {"tip_ap_mm": at[0], "tip_ml_mm": at[1]}
        changes[f"{side}_crutch"] = crutch.model_copy(update={**where, "tip_uncertainty_mm": TIP_U_MM[how]})
    return stance.model_copy(update=changes)


def read_presses(path: Path) -> list[Press]:
    """A table of presses or tape readings: side, end (heel, rocker), ap_mm, ml_mm; optional load_n, uncertainty_mm. Raises
    FileProblem."""
    rows = read_table(path, ("side", "end", "ap_mm", "ml_mm"), ("load_n", "uncertainty_mm"))
    return each(path, rows, _press)


def _press(row: dict[str, str]) -> Press:
    side, end = row["side"], row["end"]
    if side not in SIDES or end not in ("heel", "rocker"):
        raise ValueError(say("place.names", side=side[:20], end=end[:20]))
    u, load = optional_number(row, "uncertainty_mm", 0.0), optional_number(row, "load_n", 0.0)
    u = 1.0 if u is None else u
    return Press(
        side="left" if side == "left" else "right",
        end="heel" if end == "heel" else "rocker",
        ap_mm=number(row, "ap_mm", -10_000, 10_000),
        ml_mm=number(row, "ml_mm", -10_000, 10_000),
        load_n=LEAST_PRESS_N if load is None else load,
        u_ap_mm=u,
        u_ml_mm=u,
    )
