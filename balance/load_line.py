"""Newtons to loads, centres of pressure and positions on the shoes; every formula per sample, elementwise.

Sums over cells are loops in rig order: their last bits then do not depend on how samples are cut into blocks.
Only vertical forces enter: ground reactions act at floor height, so in equilibrium their horizontal parts have
no moment about a horizontal axis through the floor, and Σ F_z r = W·r_com.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.rig import SIDES, Rig, Side
from balance.stance import Stance

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

LOADED_N, LOADED_OF_WEIGHT = 5.0, 0.02  # a crutch counts as loaded from here; tool default
MINIMUM_N, MINIMUM_OF_WEIGHT, MINIMUM_UNKNOWN_N = 5.0, 0.03, 20.0  # least foot load; tool default
STAGGERED_MM = 15.0  # heel edges further apart than this have no meaningful mean; tool default


@dataclass(frozen=True)
class FootFrame:
    """One foot's axis on the floor: heel edge (AP, ML), unit vectors along and across, usable length in mm."""

    heel_mm: tuple[float, float]
    along: tuple[float, float]
    across: tuple[float, float]
    length_mm: float

    @classmethod
    def of(cls, stance: Stance, side: Side) -> FootFrame:
        foot = stance.foot(side)
        theta = math.radians(foot.toe_out_deg) * (1 if side == "right" else -1)
        along = (math.cos(theta), math.sin(theta))
        return cls(
            heel_mm=(foot.heel_edge_ap_mm, foot.heel_edge_ml_mm),
            along=along,
            across=(-along[1], along[0]),
            length_mm=foot.usable_length_mm,
        )


@dataclass(frozen=True)
class Setup:
    """What turns cell forces into lines for one rig, stance and body weight."""

    rig: Rig
    stance: Stance
    body_weight_n: float | None  # known, as standing; None: unknown
    reference_n: float | None  # W₀: known weight, or what the trial itself says; None: none
    touched: bool
    frames: dict[Side, FootFrame] = field(init=False)
    shaft_gain: dict[Side, float] = field(init=False)  # vertical force over the shaft cell's
    minimum_n: float = field(init=False)
    loaded_n: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "frames", {side: FootFrame.of(self.stance, side) for side in SIDES})
        object.__setattr__(self, "shaft_gain", {side: self._shaft_gain(side) for side in SIDES})
        reference = self.reference_n
        if self.rig.minimum_foot_load_n is not None:
            minimum = self.rig.minimum_foot_load_n
        elif reference is not None:
            minimum = max(MINIMUM_N, MINIMUM_OF_WEIGHT * reference)
        else:
            minimum = MINIMUM_UNKNOWN_N
        loaded = LOADED_N if reference is None else max(LOADED_N, LOADED_OF_WEIGHT * reference)
        object.__setattr__(self, "minimum_n", minimum)
        object.__setattr__(self, "loaded_n", loaded)

    @cached_property
    def cell_place_mm(self) -> tuple[Array, Array]:
        """(cells, 1) AP and ML of each cell in the floor frame; 0 for a cell in a crutch's shaft."""
        cells = self.rig.cells
        return np.array([[c.ap_mm or 0.0] for c in cells]), np.array([[c.ml_mm or 0.0] for c in cells])

    @cached_property
    def unmeasured_crutches(self) -> list[Side]:
        """Crutches in use that no cell measures."""
        return [side for side in self.stance.crutches_in_use if not self.rig.crutch_cells(side)]

    @cached_property
    def has_unmeasured_support(self) -> bool:
        return bool(self.unmeasured_crutches) or self.stance.other_support is not None

    @cached_property
    def from_weight(self) -> bool:
        """What the plates do not carry is taken to be on the crutches (or the bar)."""
        return self.has_unmeasured_support and self.body_weight_n is not None and not self.touched

    @cached_property
    def crutches_not_measured(self) -> bool:
        return self.has_unmeasured_support and not self.from_weight

    @cached_property
    def measures_all_support(self) -> bool:
        return not self.has_unmeasured_support and not self.touched

    @cached_property
    def heels_staggered(self) -> bool:
        left, right = self.frames["left"].heel_mm, self.frames["right"].heel_mm
        return abs(left[0] - right[0]) > STAGGERED_MM

    def _shaft_gain(self, side: Side) -> float:
        """Half way between a reaction along the shaft and a vertical one, (cos t + 1/cos t)/2; 1 on a plate."""
        crutch = self.stance.crutch(side)
        if crutch is None or self.rig.is_crutch_plate(side):
            return 1.0
        cosine = math.cos(math.radians(crutch.tilt_deg))
        return (cosine + 1 / cosine) / 2

    def own_weight_n(self, side: Side) -> float:
        crutch = self.stance.crutch(side)
        return 0.0 if crutch is None else crutch.own_weight_n

    def tip_mm(self, side: Side) -> tuple[float, float] | None:
        """A tip's place by the stance; None where unknown (a crutch plate measures its own)."""
        crutch = self.stance.crutch(side)
        if crutch is None or crutch.tip_ap_mm is None or crutch.tip_ml_mm is None:
            return None
        return crutch.tip_ap_mm, crutch.tip_ml_mm

    @cached_property
    def other_tips_mm(self) -> list[tuple[float, float]]:
        """Where the unmeasured support acts: the other support, else all unmeasured tips, else nowhere known."""
        other = self.stance.other_support
        if other is not None:
            return [(other.ap_mm, other.ml_mm)]
        tips = [self.tip_mm(side) for side in self.unmeasured_crutches]
        known = [tip for tip in tips if tip is not None]
        return known if len(known) == len(tips) else []

    @cached_property
    def other_place_mm(self) -> tuple[float, float] | None:
        tips = self.other_tips_mm
        if not tips:
            return None
        return sum(t[0] for t in tips) / len(tips), sum(t[1] for t in tips) / len(tips)


@dataclass(frozen=True)
class Lines:
    """Loads and lines of n samples. Places in mm (AP, ML); NaN where not valid.

    foot_n      (n,) load of each foot · feet_n both · vertical_n each measured crutch's vertical load
    hand_n      the hand's part of it · total_n everything measured · other_n support taken from the weight
    placed_n    (n,) loads that enter the body line (feet, crutches with a place, the other support)
    point_mm    'left', 'right', 'feet', 'body' → (AP (n,), ML (n,))
    crutch_mm   a measured crutch's place: (n,) arrays on a plate, floats elsewhere; absent where unknown
    share       (n,) each foot's part of both feet's load
    along_mm    of LINES: distance from the heel edge along the usable length
    length_mm   of LINES: the usable length that goes with it
    valid       of LINES → (n,)
    """

    foot_n: dict[Side, Array]
    feet_n: Array
    vertical_n: dict[Side, Array]
    hand_n: dict[Side, Array]
    total_n: Array
    other_n: Array | None
    placed_n: Array
    point_mm: dict[str, tuple[Array, Array]]
    crutch_mm: dict[Side, tuple[Array | float, Array | float]]
    share: dict[Side, Array]
    along_mm: dict[str, Array]
    length_mm: dict[str, Array | float]
    valid: dict[str, Mask]

    def position_pct(self, line: str) -> Array:
        """Position on the usable length: 0 heel edge, 100 rocker line; NaN where not valid."""
        return np.asarray(self.along_mm[line] / self.length_mm[line] * 100, dtype=np.float64)

    def at(self, i: int) -> Lines:
        """One sample of them, as arrays of one; the same bits as computed alone, since all is elementwise."""
        one = slice(i, i + 1)

        def each(values: dict[Any, Any]) -> Any:
            return {key: v[one] if isinstance(v, np.ndarray) else v for key, v in values.items()}

        return Lines(
            foot_n=each(self.foot_n),
            feet_n=self.feet_n[one],
            vertical_n=each(self.vertical_n),
            hand_n=each(self.hand_n),
            total_n=self.total_n[one],
            other_n=None if self.other_n is None else self.other_n[one],
            placed_n=self.placed_n[one],
            point_mm={key: (ap[one], ml[one]) for key, (ap, ml) in self.point_mm.items()},
            crutch_mm={
                key: (ap[one], ml[one])
                if isinstance(ap, np.ndarray) and isinstance(ml, np.ndarray)
                else (ap, ml)
                for key, (ap, ml) in self.crutch_mm.items()
            },
            share=each(self.share),
            along_mm=each(self.along_mm),
            length_mm=each(self.length_mm),
            valid=each(self.valid),
        )

    @property
    def hands_n(self) -> Array:
        """What the hands put on all measured crutches."""
        return _sum(list(self.hand_n.values()), len(self.feet_n))

    @property
    def support_n(self) -> Array:
        """Load on crutches and other support together: measured hands' parts and what the weight says."""
        return self.hands_n if self.other_n is None else self.hands_n + self.other_n


def _sum(parts: list[Array], n: int) -> Array:
    total = np.zeros(n)
    for part in parts:
        total += part
    return total


def _over(numerator: Array, denominator: Array, valid: Mask) -> Array:
    if valid.all():
        return np.asarray(numerator / denominator, dtype=np.float64)
    out = np.full(numerator.shape, np.nan)
    np.divide(numerator, denominator, out=out, where=valid)
    return out


def lines_of(forces_n: Array, setup: Setup) -> Lines:
    """Loads and lines from cell forces, (cells, n) newtons in rig order, down positive."""
    rig = setup.rig
    n = forces_n.shape[1]
    by_ap, by_ml = forces_n * setup.cell_place_mm[0], forces_n * setup.cell_place_mm[1]
    foot_n: dict[Side, Array] = {}
    moment: dict[Side, tuple[Array, Array]] = {}
    for side in SIDES:
        cells = rig.foot_cells(side)
        foot_n[side] = _sum([forces_n[i] for i in cells], n)
        moment[side] = (_sum([by_ap[i] for i in cells], n), _sum([by_ml[i] for i in cells], n))
    feet_n = foot_n["left"] + foot_n["right"]
    feet_valid = feet_n >= setup.minimum_n

    vertical_n, hand_n = {}, {}
    crutch_mm: dict[Side, tuple[Array | float, Array | float]] = {}
    crutch_moment: dict[Side, tuple[Array, Array]] = {}
    body_valid = feet_valid.copy()
    for side in SIDES:
        cells = rig.crutch_cells(side)
        if not cells:
            continue
        vertical_n[side] = _sum([forces_n[i] for i in cells], n) * setup.shaft_gain[side]
        hand_n[side] = vertical_n[side] - setup.own_weight_n(side)
        tip = setup.tip_mm(side)
        if rig.is_crutch_plate(side):
            crutch_moment[side] = (_sum([by_ap[i] for i in cells], n), _sum([by_ml[i] for i in cells], n))
            on = vertical_n[side] != 0
            crutch_mm[side] = (
                _over(crutch_moment[side][0], vertical_n[side], on),
                _over(crutch_moment[side][1], vertical_n[side], on),
            )
        elif tip is not None:
            crutch_mm[side] = tip
            crutch_moment[side] = (vertical_n[side] * tip[0], vertical_n[side] * tip[1])
        else:
            body_valid &= hand_n[side] < setup.loaded_n
    total_n = feet_n + _sum(list(vertical_n.values()), n)

    ap, ml = (moment["left"][axis] + moment["right"][axis] for axis in (0, 1))
    points: dict[str, tuple[Array, Array]] = {side: (_over(moment[side][0], foot_n[side], foot_n[side] >= setup.minimum_n),
                       _over(moment[side][1], foot_n[side], foot_n[side] >= setup.minimum_n)) for side in SIDES}  # fmt: skip
    points["feet"] = (_over(ap, feet_n, feet_valid), _over(ml, feet_n, feet_valid))

    placed_n = feet_n
    for side, (side_ap, side_ml) in crutch_moment.items():
        placed_n, ap, ml = placed_n + vertical_n[side], ap + side_ap, ml + side_ml
    other_n = None
    if setup.from_weight and setup.body_weight_n is not None:
        other_n = setup.body_weight_n - total_n
        place = setup.other_place_mm
        if place is None:
            body_valid &= other_n < setup.loaded_n
        else:
            placed_n, ap, ml = placed_n + other_n, ap + other_n * place[0], ml + other_n * place[1]
    if setup.crutches_not_measured:
        body_valid = np.zeros(n, dtype=np.bool_)
    points["body"] = (_over(ap, placed_n, body_valid), _over(ml, placed_n, body_valid))

    share = {side: _over(foot_n[side], feet_n, feet_valid) for side in SIDES}
    valid = {
        "left": foot_n["left"] >= setup.minimum_n,
        "right": foot_n["right"] >= setup.minimum_n,
        "feet": feet_valid,
        "body": body_valid,
        "body_on_left": body_valid,
        "body_on_right": body_valid,
    }
    along_mm, length_mm = _positions(setup, points, share)
    return Lines(
        foot_n, feet_n, vertical_n, hand_n, total_n, other_n, placed_n, points, crutch_mm, share, along_mm, length_mm, valid
    )  # fmt: skip


def _positions(
    setup: Setup, points: dict[str, tuple[Array, Array]], share: dict[Side, Array]
) -> tuple[dict[str, Array], dict[str, Array | float]]:
    along_mm: dict[str, Array] = {}
    length_mm: dict[str, Array | float] = {}
    for side in SIDES:
        frame = setup.frames[side]
        r = points[side]
        along_mm[side] = (r[0] - frame.heel_mm[0]) * frame.along[0] + (r[1] - frame.heel_mm[1]) * frame.along[
            1
        ]
        length_mm[side] = frame.length_mm
        # Seen from the side: a toe-out must not turn sideways movement into position.
        along_mm[f"body_on_{side}"] = (points["body"][0] - frame.heel_mm[0]) / frame.along[0]
        length_mm[f"body_on_{side}"] = frame.length_mm
    left, right = setup.frames["left"], setup.frames["right"]
    wl, wr = share["left"], share["right"]
    heel = [wl * left.heel_mm[i] + wr * right.heel_mm[i] for i in (0, 1)]
    mean_length = wl * left.length_mm + wr * right.length_mm
    along = [wl * left.along[i] + wr * right.along[i] for i in (0, 1)]
    norm = np.sqrt(along[0] * along[0] + along[1] * along[1])
    for line in ("feet", "body"):
        r = points[line]
        along_mm[line] = ((r[0] - heel[0]) * along[0] + (r[1] - heel[1]) * along[1]) / norm
        length_mm[line] = mean_length
    return along_mm, length_mm
