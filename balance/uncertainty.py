"""How sure: first-order propagation of every named error to loads, lines and moments (JCGM 100, 102).

Each output's sensitivity to an error is the mean, over the output's valid samples, of the sensitivity of the
per-sample formula. u² = row · C · rowᵀ with the covariance of error_sources. Sway is not uncertainty: this is about
a trial's mean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from balance.error_sources import OF_A_CELL, Sources
from balance.forces import ForceTable
from balance.load_line import Lines, Mask, Setup
from balance.rig import SIDES, Side

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Levers:
    """What each cell's force does in the sums of one setup; made once, used for every sample.

    foot    'left', 'right', 'feet' → (cells,) 1 under that foot · vertical (cells,) vertical force over the cell's force
    crutch  (cells,) the same, of crutch cells only
    where   (2, cells) AP, ML at which a cell's force acts: its own place, or its crutch's tip
    own     (cells,) 1 where that place is the cell's own
    enters  'left', 'right', 'feet', 'body' → (cells,) vertical force that enters that point, over the cell's force
    moment  the same → (2, cells) its AP and ML moment
    """

    foot: dict[str, Array]
    vertical: Array
    crutch: Array
    where: Array
    own: Array
    enters: dict[str, Array]
    moment: dict[str, Array]

    @classmethod
    def of(cls, setup: Setup) -> Levers:
        rig, count = setup.rig, len(setup.rig.cells)
        foot: dict[str, Array] = {side: np.zeros(count) for side in SIDES}
        vertical, crutch, placed, own = np.ones(count), np.zeros(count), np.zeros(count), np.zeros(count)
        where = np.zeros((2, count))
        for i, cell in enumerate(rig.cells):
            if cell.is_crutch:
                vertical[i] = crutch[i] = setup.shaft_gain[cell.side]
            else:
                foot[cell.side][i] = 1.0
            at = (cell.ap_mm, cell.ml_mm) if cell.ap_mm is not None else setup.tip_mm(cell.side)
            if at is not None:
                placed[i], where[:, i] = vertical[i], at
                own[i] = float(cell.ap_mm is not None)
        foot["feet"] = foot["left"] + foot["right"]
        enters = {**foot, "body": placed}
        moment = {name: forces * where for name, forces in enters.items()}
        return cls(foot, vertical, crutch, where, own, enters, moment)


class Sensitivities:
    """Mean sensitivities of outputs to every source, over the valid samples of each output."""

    def __init__(
        self,
        forces_n: Array,
        lines: Lines,
        setup: Setup,
        table: ForceTable,
        sources: Sources,
        levers: Levers | None = None,
    ) -> None:
        """forces_n: (cells, n)."""
        self.lines, self.setup, self.sources = lines, setup, sources
        self._levers = levers or Levers.of(setup)
        self._forces_n = forces_n
        self._x = table.readings(forces_n)
        self._curved = table.curved
        self._weights: dict[str, Array] = {}

    def u2(self, row: Array) -> float:
        """Variance of an output from its sensitivities."""
        return float(row @ self.sources.moved @ row)

    @cached_property
    def _x2(self) -> Array:
        return self._x * self._x

    def _sums(self, weights: Array) -> Array:
        """(cells, 3, k): Σ w, Σ w·x, Σ w·x² over the samples, of weights (k, n)."""
        sums = np.zeros((len(self._x), 3, len(weights)))
        sums[:, 0] = weights.sum(axis=1)
        sums[:, 1] = self._x @ weights.T
        if self._curved:
            sums[:, 2] = self._x2 @ weights.T
        return sums

    def _of_cells(self, rows: Array) -> Array:
        """(..., cells, 5) the part of rows that belongs to the cells, as a view."""
        count = len(self._x)
        return rows[..., : count * OF_A_CELL].reshape(*rows.shape[:-1], count, OF_A_CELL)

    def _row(self, factor: Array, weight: Array) -> Array:
        """Row of an output whose ∂y/∂f_i is ``factor`` (cells,) in every sample, mean with ``weight`` (n,)."""
        row = np.zeros(self.sources.columns)
        self._of_cells(row)[:, :3] = factor[:, None] * self._sums(weight[None, :])[:, :, 0]
        return row

    def _weight(self, line: str) -> Array:
        """(n,) of the plain mean over a line's valid samples."""
        if line not in self._weights:
            self._weights[line] = self._mean_over(self.lines.valid[line])
        return self._weights[line]

    @staticmethod
    def _mean_over(valid: Mask) -> Array:
        return np.asarray(valid / max(int(np.count_nonzero(valid)), 1), dtype=np.float64)

    # --- loads: over the samples in which the feet are valid ---

    def _add_tilt(self, row: Array, side: Side, weight: Array) -> None:
        """Adds what a crutch's tilt does to an output whose ∂y/∂v, times the mean's weight, is ``weight`` (n,)."""
        at = self.sources.named.get(f"{side} tilt")
        if at is not None:
            row[at] += float(self.lines.vertical_n[side] @ weight) / self.setup.shaft_gain[side]

    def foot(self, side: Side) -> Array:
        """Mean load of one foot."""
        return self._row(self._levers.foot[side], self._weight("feet"))

    def total(self) -> Array:
        """Mean of everything measured."""
        return self._vertical(self._levers.vertical)

    def hands(self) -> Array:
        """Mean of the hands' load on the measured crutches."""
        return self._vertical(self._levers.crutch)

    def _vertical(self, factor: Array) -> Array:
        weight = self._weight("feet")
        row = self._row(factor, weight)
        for side in self.lines.vertical_n:
            self._add_tilt(row, side, weight)
        return row

    def body_weight(self) -> Array:
        """The known body weight itself."""
        row = np.zeros(self.sources.columns)
        if "body weight" in self.sources.named:
            row[self.sources.named["body weight"]] = 1.0
        return row

    # --- points: AP and ML rows ---

    def points(self, names: Sequence[str]) -> dict[str, Array]:
        """(2, columns) of each of 'left', 'right', 'feet', 'body' asked for: the mean of its AP and of its ML.

        Every point is Σ f·q/Σ f of forces at places q, so ∂r/∂f = (q − r)/Σ f.
        """
        if not names:
            return {}
        lines, levers, named = self.lines, self._levers, self.sources.named
        n, k = len(lines.feet_n), len(names)
        loads = {
            "left": lines.foot_n["left"],
            "right": lines.foot_n["right"],
            "feet": lines.feet_n,
            "body": lines.placed_n,
        }
        per, r = np.zeros((k, 1, n)), np.zeros((k, 2, n))
        for j, name in enumerate(names):
            valid = lines.valid[name]
            np.divide(self._weight(name), loads[name], out=per[j, 0], where=valid)
            np.copyto(r[j], lines.point_mm[name], where=valid)
        enters = np.array([levers.enters[name] for name in names])
        moment = np.array([levers.moment[name] for name in names])
        if "body" in names and lines.other_n is not None and (place := self.setup.other_place_mm) is not None:
            # What the plates show more, the other support shows less.
            enters[names.index("body")] -= levers.vertical
            moment[names.index("body")] -= np.outer(place, levers.vertical)
        sums = self._sums(np.concatenate((per, r * per), axis=1).reshape(3 * k, n)).reshape(-1, 3, k, 3)
        sums = sums.transpose(2, 3, 0, 1)  # point; Σ per, Σ r·per in AP, in ML; cell; power of x
        rows = np.zeros((k, 2, self.sources.columns))
        cells = self._of_cells(rows)
        cells[..., :3] = moment[..., None] * sums[:, :1] - enters[:, None, :, None] * sums[:, 1:]
        moved = per[:, 0] @ self._forces_n.T
        for j, name in enumerate(names):
            cells[j, 0, :, 3] = cells[j, 1, :, 4] = moved[j] * levers.enters[name] * levers.own
            for side in SIDES:
                if f"{side} ml" in named and name in (side, "feet", "body"):
                    rows[j, 1, named[f"{side} ml"]] += float(lines.foot_n[side] @ per[j, 0])
            if name == "body":
                self._add_supports(rows[j], r[j], per[j, 0])
        return dict(zip(names, rows, strict=True))

    def _add_supports(self, rows: Array, r: Array, per: Array) -> None:
        """What tips, tilts, tip heights and other support do to the body line."""
        lines, setup, named = self.lines, self.setup, self.sources.named
        place = setup.other_place_mm if lines.other_n is not None else None
        for side in lines.vertical_n:
            tip = setup.tip_mm(side)
            if setup.rig.is_crutch_plate(side):
                continue
            for axis in (0, 1):
                lever: Array | float = 0.0 if place is None else r[axis] - place[axis]
                if tip is not None:
                    lever = lever + tip[axis] - r[axis]
                    rows[axis, named[f"{side} tip {_AXES[axis]}"]] += float(lines.vertical_n[side] @ per)
                self._add_tilt(rows[axis], side, lever * per)
        for axis, name in enumerate(_AXES):
            if place is not None and lines.other_n is not None:
                rows[axis, named["body weight"]] += float(np.sum((place[axis] - r[axis]) * per))
                rows[axis, named[f"other {name}"]] += float(lines.other_n @ per)
            rows[axis, named[f"tip height {name}"]] += self._tip_height_mm(per)

    def _tip_height_mm(self, per: Array) -> float:
        """Standard error of the body line by tips below (or above) the plates' surface."""
        moved = 0.0
        for side, vertical_n in self.lines.vertical_n.items():
            crutch = self.setup.stance.crutch(side)
            if crutch is None or crutch.tip_height_mm == 0 or self.setup.rig.is_crutch_plate(side):
                continue
            if self.setup.tip_mm(side) is not None:
                tangent = abs(math.tan(math.radians(crutch.tilt_deg)))
                moved += abs(crutch.tip_height_mm) * tangent * float(vertical_n @ per)
        return moved / 3**0.5

    def covariance_mm2(self, rows: Array) -> Array:
        """(2, 2) covariance of a point's AP and ML from its rows."""
        return np.asarray(rows @ self.sources.moved @ rows.T, dtype=np.float64)

    # --- moments ---

    def joint(
        self, side: Side, joint_mm: float, knee_height_mm: float | None, valid: Mask
    ) -> tuple[Array, float]:
        """Row of a mean joint moment (N·m), and the variance that placement, toe-out and joint add to it."""
        lines, setup, levers = self.lines, self.setup, self._levers
        foot, frame = setup.stance.foot(side), setup.frames[side]
        weight = self._mean_over(valid)
        along, heel = np.array(frame.along), np.array(frame.heel_mm)
        arm_m = levers.foot[side] * (along @ (levers.where - heel[:, None]) - joint_mm) / 1000
        row = self._row(arm_m, weight)
        if knee_height_mm is not None and lines.vertical_n:
            self._add_push(row, side, knee_height_mm / 1000, valid, weight)
        mean_n = (self._forces_n @ weight) * levers.foot[side]
        self._of_cells(row)[:, 3:] += np.outer(mean_n, along) / 1000
        load_n = float(lines.foot_n[side] @ weight)
        if f"{side} ml" in self.sources.named:
            row[self.sources.named[f"{side} ml"]] += load_n * frame.along[1] / 1000
        r = np.where(valid, lines.point_mm[side], 0.0) - heel[:, None]
        across = float(np.sum(lines.foot_n[side] * (np.array(frame.across) @ r) * weight))
        extra = (load_n * foot.placement_uncertainty_mm) ** 2 + (load_n * foot.joint_uncertainty_mm) ** 2
        extra += (across * math.radians(foot.toe_out_uncertainty_deg)) ** 2
        return row, extra / 1e6

    def _add_push(self, row: Array, side: Side, height_m: float, valid: Mask, weight: Array) -> None:
        """What the crutches' horizontal push adds to a knee moment: share × push × height."""
        lines, setup, levers = self.lines, self.setup, self._levers
        share = np.where(valid, lines.share[side], 0.0)
        push = np.zeros_like(weight)
        for other, vertical_n in lines.vertical_n.items():
            crutch = setup.stance.crutch(other)
            if crutch is None or crutch.tilt_ap_deg is None:
                continue
            tangent = math.tan(math.radians(crutch.tilt_ap_deg))
            push = push + vertical_n * tangent
            cells = np.zeros(len(self._x))
            cells[setup.rig.crutch_cells(other)] = setup.shaft_gain[other] * tangent * height_m
            row += self._row(cells, share * weight)
            self._add_tilt(row, other, share * tangent * height_m * weight)
        scale = np.divide(push * height_m * weight, lines.feet_n, out=np.zeros_like(push), where=valid)
        row += self._row(levers.foot[side], scale)
        row -= self._row(levers.foot["feet"], share * scale)


_AXES = ("ap", "ml")


def _side(line: str) -> Side:
    return "left" if line.endswith("left") else "right"


@dataclass(frozen=True)
class LineUncertainty:
    """Standard uncertainty of a line's mean distance from the heel edge, mm.

    along  the point's AP and ML enter the distance with these factors
    own    variances (mm²) by placing, usable length and toe-out; the point's own comes on top
    """

    mm: float
    along: tuple[float, float]
    own: dict[str, float]

    def parts(self, sources: Sources, rows: Array) -> dict[str, float]:
        """All variances by name, mm²: the point's by group of sources from its ``rows`` (2, columns), and ``own``."""
        row = np.array(self.along) @ rows
        return {**{name: float(row @ c @ row) for name, c in sources.moved_by_group.items()}, **self.own}


def line_uncertainty(
    line: str,
    setup: Setup,
    mean_mm: float,
    point_mm: tuple[float, float],
    covariance_mm2: Array,
    shares: dict[Side, float],
) -> LineUncertainty:
    """u of ``mean_mm`` of a line: rig and calibration through its point, placement, usable length, toe-out.

    point_mm, covariance_mm2: the mean point (AP, ML) behind the line. shares: each foot's mean share of both feet's load.
    """
    stance, frames = setup.stance, setup.frames
    if line in ("feet", "body"):
        ap, ml = (sum(shares[s] * frames[s].along[axis] for s in SIDES) for axis in (0, 1))
        norm = math.hypot(ap, ml)
        ap, ml = ap / norm, ml / norm
        length_mm = sum(shares[s] * frames[s].length_mm for s in SIDES)
        placing = sum((shares[s] * stance.foot(s).placement_uncertainty_mm) ** 2 for s in SIDES)
        length_u2 = sum((shares[s] * stance.foot(s).length_uncertainty_mm) ** 2 for s in SIDES)
        toe = 0.0
    else:
        side = _side(line)
        frame, foot = frames[side], stance.foot(side)
        length_mm, length_u2 = frame.length_mm, foot.length_uncertainty_mm**2
        theta_u = math.radians(foot.toe_out_uncertainty_deg)
        if line in SIDES:
            ap, ml = frame.along
            placing = foot.placement_uncertainty_mm**2
            from_heel = (point_mm[0] - frame.heel_mm[0], point_mm[1] - frame.heel_mm[1])
            toe = (from_heel[0] * frame.across[0] + from_heel[1] * frame.across[1]) * theta_u
        else:
            ap, ml = 1 / frame.along[0], 0.0
            placing = (foot.placement_uncertainty_mm / frame.along[0]) ** 2
            toe = mean_mm * frame.along[1] / frame.along[0] * theta_u
    (c_ap, c_both), (_, c_ml) = covariance_mm2.tolist()
    own = {"placing": placing, "usable length": (mean_mm / length_mm) ** 2 * length_u2, "toe-out": toe**2}
    u2 = ap * ap * c_ap + 2 * ap * ml * c_both + ml * ml * c_ml
    return LineUncertainty(math.sqrt(u2 + sum(own.values())), (ap, ml), own)


def against_the_feet_mm2(covariance_mm2: Array, setup: Setup, shares: dict[Side, float]) -> Array:
    """(2, 2) covariance of the mean body point against the feet: its own, and both feet's placement."""
    placement = sum((shares[s] * setup.stance.foot(s).placement_uncertainty_mm) ** 2 for s in SIDES)
    return np.asarray(covariance_mm2 + np.eye(2) * placement, dtype=np.float64)
