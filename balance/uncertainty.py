"""How sure: first-order propagation of every named error to loads, lines and moments (JCGM 100, 102).

Each error source has one row in a covariance; each output's sensitivity to it is the mean, over the valid samples,
of the sensitivity of the per-sample formula. u² = s C sᵀ. Sway is not uncertainty: this is about a trial's mean.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.forces import CellForce
from balance.load_line import Lines, Mask, Setup
from balance.rig import SIDES, Side

Array = npt.NDArray[np.float64]

GROUPS = (
    "masses and creep",
    "cells",
    "cell places",
    "crutch tips",
    "crutch tilt",
    "tip height",
    "body weight",
    "other support",
    "side of the foot",
)


@dataclass(frozen=True)
class Sources:
    """The error sources of one rig, stance and calibration: where each stands in the covariance.

    Columns: 0 shared gain, 1 shared hysteresis, then for each cell a1, a2, constant, zero, AP, ML; then named ones.
    """

    covariance: Array
    named: dict[str, int]
    group: list[int]  # of each column, a place in GROUPS

    def cell(self, i: int) -> int:
        return 2 + 6 * i


def sources_of(setup: Setup, cells: list[CellForce], gain_error: float, body_weight_u_n: float) -> Sources:
    """All error sources with their covariance, independent of any sample."""
    rig, stance = setup.rig, setup.stance
    names: list[tuple[str, float, str]] = []
    for side in SIDES:
        foot_cells = [rig.cells[i] for i in rig.foot_cells(side)]
        if len({cell.ml_mm for cell in foot_cells}) == 1:
            names.append((f"{side} ml", stance.foot(side).heel_width_mm / 12**0.5, "side of the foot"))
        crutch = stance.crutch(side)
        if rig.crutch_cells(side) and not rig.is_crutch_plate(side):
            names.append((f"{side} tilt", 0.0, "crutch tilt"))  # covariance below
            if crutch is not None and setup.tip_mm(side) is not None:
                names.append((f"{side} tip ap", crutch.tip_uncertainty_mm, "crutch tips"))
                names.append((f"{side} tip ml", crutch.tip_uncertainty_mm, "crutch tips"))
    names += [("tip height ap", 1.0, "tip height"), ("tip height ml", 1.0, "tip height")]
    if setup.body_weight_n is not None:
        names.append(("body weight", body_weight_u_n, "body weight"))
    if setup.from_weight and setup.other_place_mm is not None:
        for axis, u in zip(("ap", "ml"), _other_place_u_mm(setup), strict=True):
            names.append((f"other {axis}", u, "other support"))
    size = 2 + 6 * len(cells) + len(names)
    covariance = np.zeros((size, size))
    group = [0] * size
    covariance[0, 0], covariance[1, 1] = gain_error**2, 1.0
    group[1] = GROUPS.index("cells")
    for i, (force, cell) in enumerate(zip(cells, rig.cells, strict=True)):
        at = 2 + 6 * i
        covariance[at : at + 2, at : at + 2] = force.covariance
        covariance[at + 2, at + 2] = force.constant_n**2
        covariance[at + 3, at + 3] = force.zero_u_counts**2
        covariance[at + 4, at + 4] = cell.position_uncertainty_mm**2 + cell.pad_length_mm**2 / 12
        covariance[at + 5, at + 5] = cell.position_uncertainty_mm**2 + cell.pad_width_mm**2 / 12
        group[at : at + 4] = [GROUPS.index("cells")] * 4
        group[at + 4 : at + 6] = [GROUPS.index("cell places")] * 2
    named = {}
    for offset, (name, u, where) in enumerate(names):
        at = 2 + 6 * len(cells) + offset
        named[name] = at
        covariance[at, at] = u**2
        group[at] = GROUPS.index(where)
    _tilts(covariance, named, setup)
    return Sources(covariance, named, group)


def _other_place_u_mm(setup: Setup) -> tuple[float, float]:
    other = setup.stance.other_support
    if other is not None:
        return other.uncertainty_mm, other.uncertainty_mm
    tips = setup.other_tips_mm
    us = [
        c.tip_uncertainty_mm for s in setup.unmeasured_crutches if (c := setup.stance.crutch(s)) is not None
    ]
    mean_u2 = sum(u * u for u in us) / len(us)
    spread = [0.0, 0.0] if len(tips) < 2 else [(tips[0][i] - tips[1][i]) ** 2 / 12 for i in (0, 1)]
    return math.sqrt(mean_u2 + spread[0]), math.sqrt(mean_u2 + spread[1])


def _tilts(covariance: Array, named: dict[str, int], setup: Setup) -> None:
    """Relative error of a shaft cell's vertical force by its tilt t ± s, shared in part by both crutches."""
    squares = {}
    for side in SIDES:
        if f"{side} tilt" not in named:
            continue
        crutch = setup.stance.crutch(side)
        t = math.radians(crutch.tilt_deg) if crutch is not None else 0.0
        s = math.radians(crutch.tilt_uncertainty_deg if crutch is not None else 3.0)
        at = named[f"{side} tilt"]
        covariance[at, at] = (t**4 + 6 * t**2 * s**2 + 3 * s**4) / 12
        squares[side] = t**2 + s**2
    if len(squares) == 2:
        a, b = named["left tilt"], named["right tilt"]
        covariance[a, b] = covariance[b, a] = squares["left"] * squares["right"] / 12


class Sensitivities:
    """Mean sensitivities of outputs to every source, over the valid samples of each output."""

    def __init__(
        self, forces_n: list[Array], lines: Lines, setup: Setup, cells: list[CellForce], sources: Sources
    ) -> None:
        self.lines, self.setup, self.sources = lines, setup, sources
        self._n_cells = len(cells)
        self._errors = []
        for force_n, cell in zip(forces_n, cells, strict=True):
            x = cell.reading(force_n)
            one = np.ones_like(force_n)
            slope = cell.a1 + 2 * cell.a2 * x
            self._errors.append(np.stack([force_n, cell.hysteresis_n * one, x, x * x, one, slope], axis=1))
        self._forces_n = forces_n

    def u2(self, row: Array) -> float:
        """Variance of an output from its sensitivities."""
        return float(row @ self.sources.covariance @ row)

    def u2_by_group(self, row: Array) -> dict[str, float]:
        """Variance of an output by group of sources."""
        result = dict.fromkeys(GROUPS, 0.0)
        groups = np.array(self.sources.group)
        for place, name in enumerate(GROUPS):
            part = np.where(groups == place, row, 0.0)
            result[name] = self.u2(part)
        return result

    def _row(self, by_force: dict[int, Array], weight: Array) -> Array:
        """Sensitivities through the cells' forces: ``by_force`` of ∂y/∂f_i (n,), mean with ``weight`` (n,)."""
        row = np.zeros(len(self.sources.covariance))
        for i, derivative in by_force.items():
            parts = (derivative * weight) @ self._errors[i]
            at = self.sources.cell(i)
            row[0] += parts[0]
            row[1] += parts[1]
            row[at : at + 4] += parts[2:]
        return row

    @staticmethod
    def _weight(valid: Mask) -> Array:
        return np.asarray(valid / max(int(valid.sum()), 1), dtype=np.float64)

    # --- loads: over the samples in which the feet are valid ---

    def _all_by_force(self, scale: Array | float) -> dict[int, Array]:
        """∂/∂f_i of everything measured, times ``scale``."""
        ones = np.ones_like(self.lines.feet_n) * scale
        result = {}
        for side in SIDES:
            for i in self.setup.rig.foot_cells(side):
                result[i] = ones
            for i in self.setup.rig.crutch_cells(side):
                result[i] = ones * self.setup.shaft_gain(side)
        return result

    def _add_tilts(self, row: Array, per_side: dict[Side, Array | float], weight: Array) -> None:
        """Adds what the tilts do where ∂y/∂v_j is given."""
        for side, derivative in per_side.items():
            at = self.sources.named.get(f"{side} tilt")
            if at is not None:
                shaft_n = self.lines.vertical_n[side] / self.setup.shaft_gain(side)
                row[at] += float(np.sum(derivative * shaft_n * weight))

    def foot(self, side: Side) -> Array:
        """Mean load of one foot."""
        weight = self._weight(self.lines.valid["feet"])
        ones = np.ones_like(weight)
        return self._row(dict.fromkeys(self.setup.rig.foot_cells(side), ones), weight)

    def total(self) -> Array:
        """Mean of everything measured."""
        weight = self._weight(self.lines.valid["feet"])
        row = self._row(self._all_by_force(1.0), weight)
        self._add_tilts(row, dict.fromkeys(self.lines.vertical_n, 1.0), weight)
        return row

    def hands(self) -> Array:
        """Mean of the hands' load on the measured crutches."""
        weight = self._weight(self.lines.valid["feet"])
        ones = np.ones_like(weight)
        by_force = {i: ones * self.setup.shaft_gain(s) for s in SIDES for i in self.setup.rig.crutch_cells(s)}
        row = self._row(by_force, weight)
        self._add_tilts(row, dict.fromkeys(self.lines.vertical_n, 1.0), weight)
        return row

    def body_weight(self) -> Array:
        """The known body weight itself."""
        row = np.zeros(len(self.sources.covariance))
        if "body weight" in self.sources.named:
            row[self.sources.named["body weight"]] = 1.0
        return row

    # --- points: AP and ML rows ---

    def point(self, line: str) -> Array:
        """(2, sources) of 'left', 'right', 'feet' or 'body': the mean of its AP and of its ML."""
        if line == "body":
            return self._body()
        sides = SIDES if line == "feet" else (line,)
        load_n = (
            self.lines.feet_n if line == "feet" else self.lines.foot_n["left" if line == "left" else "right"]
        )
        weight = self._weight(self.lines.valid[line])
        inverse = np.where(weight > 0, 1.0 / np.where(weight > 0, load_n, 1.0), 0.0)
        rows = []
        for axis in (0, 1):
            r = np.where(weight > 0, self.lines.point_mm[line][axis], 0.0)
            by_force = {}
            for side in SIDES:
                if side in sides:
                    for i in self.setup.rig.foot_cells(side):
                        by_force[i] = (self._place(i, axis) - r) * inverse
            row = self._row(by_force, weight)
            for i in by_force:
                row[self.sources.cell(i) + 4 + axis] += float(np.sum(self._forces_n[i] * inverse * weight))
            if axis == 1:
                for side in SIDES:
                    if side in sides and f"{side} ml" in self.sources.named:
                        part = float(np.sum(self.lines.foot_n[side] * inverse * weight))
                        row[self.sources.named[f"{side} ml"]] += part
            rows.append(row)
        return np.stack(rows)

    def _place(self, i: int, axis: int) -> float:
        cell = self.setup.rig.cells[i]
        return (cell.ap_mm if axis == 0 else cell.ml_mm) or 0.0

    def _body(self) -> Array:
        lines, setup, named = self.lines, self.setup, self.sources.named
        weight = self._weight(lines.valid["body"])
        on = weight > 0
        inverse = np.where(on, 1.0 / np.where(on, lines.placed_n, 1.0), 0.0)
        place = setup.other_place_mm if lines.other_n is not None else None
        rows = []
        for axis in (0, 1):
            r = np.where(on, lines.point_mm["body"][axis], 0.0)
            axis_name = ("ap", "ml")[axis]
            by_force: dict[int, Array] = {}
            if place is not None:  # what the plates show more, the other support shows less
                by_force = self._all_by_force(-(place[axis] - r) * inverse)
            row_extra: dict[int, float] = {}
            tilts: dict[Side, Array | float] = {}
            for side in SIDES:
                for i in setup.rig.foot_cells(side):
                    by_force[i] = by_force.get(i, 0.0) + (self._place(i, axis) - r) * inverse
                    row_extra[self.sources.cell(i) + 4 + axis] = float(
                        np.sum(self._forces_n[i] * inverse * weight)
                    )
                tip = setup.tip_mm(side)
                if setup.rig.is_crutch_plate(side):
                    for i in setup.rig.crutch_cells(side):
                        by_force[i] = by_force.get(i, 0.0) + (self._place(i, axis) - r) * inverse
                        row_extra[self.sources.cell(i) + 4 + axis] = float(
                            np.sum(self._forces_n[i] * inverse * weight)
                        )
                elif side in lines.vertical_n:
                    lever: Array | float = 0.0 if place is None else -(place[axis] - r) * inverse
                    if tip is not None:
                        lever = lever + (tip[axis] - r) * inverse
                        gain = setup.shaft_gain(side)
                        for i in setup.rig.crutch_cells(side):
                            by_force[i] = by_force.get(i, 0.0) + (tip[axis] - r) * inverse * gain
                        key = named[f"{side} tip {axis_name}"]
                        row_extra[key] = float(np.sum(lines.vertical_n[side] * inverse * weight))
                    tilts[side] = lever
                if axis == 1 and f"{side} ml" in named:
                    row_extra[named[f"{side} ml"]] = float(np.sum(lines.foot_n[side] * inverse * weight))
            row = self._row(by_force, weight)
            self._add_tilts(row, tilts, weight)
            for at, value in row_extra.items():
                row[at] += value
            if place is not None and lines.other_n is not None:
                row[named["body weight"]] += float(np.sum((place[axis] - r) * inverse * weight))
                row[named[f"other {axis_name}"]] += float(np.sum(lines.other_n * inverse * weight))
            row[named[f"tip height {axis_name}"]] += float(np.sum(self._tip_height_mm(inverse) * weight))
            rows.append(row)
        return np.stack(rows)

    def _tip_height_mm(self, inverse: Array) -> Array:
        """Standard error of the body line by tips below (or above) the plates' surface."""
        moved = np.zeros_like(inverse)
        for side in SIDES:
            crutch = self.setup.stance.crutch(side)
            if crutch is None or side not in self.lines.vertical_n or self.setup.rig.is_crutch_plate(side):
                continue
            if self.setup.tip_mm(side) is not None:
                tangent = abs(math.tan(math.radians(crutch.tilt_deg)))
                moved = moved + abs(crutch.tip_height_mm) * self.lines.vertical_n[side] * tangent
        return np.asarray(moved * inverse / 3**0.5, dtype=np.float64)

    # --- moments ---

    def joint(
        self, side: Side, joint_mm: float, knee_height_mm: float | None, valid: Mask
    ) -> tuple[Array, float]:
        """Row of a mean joint moment (N·m), and the variance that placement, toe-out and joint add to it."""
        lines, setup = self.lines, self.setup
        foot, frame = setup.stance.foot(side), setup.frames[side]
        weight = self._weight(valid)
        by_force: dict[int, Array] = {}
        for i in setup.rig.foot_cells(side):
            arm = sum((self._place(i, a) - frame.heel_mm[a]) * frame.along[a] for a in (0, 1)) - joint_mm
            by_force[i] = np.full_like(weight, arm / 1000)
        tilts: dict[Side, Array | float] = {}
        if knee_height_mm is not None and lines.vertical_n:
            self._add_push(by_force, tilts, side, knee_height_mm, weight)
        row = self._row(by_force, weight)
        self._add_tilts(row, tilts, weight)
        for i in setup.rig.foot_cells(side):
            mean_n = float(np.sum(self._forces_n[i] * weight))
            for axis in (0, 1):
                row[self.sources.cell(i) + 4 + axis] += mean_n * frame.along[axis] / 1000
        load_n = float(np.sum(lines.foot_n[side] * weight))
        if f"{side} ml" in self.sources.named:
            row[self.sources.named[f"{side} ml"]] += load_n * frame.along[1] / 1000
        r = [np.where(weight > 0, lines.point_mm[side][a], 0.0) - frame.heel_mm[a] for a in (0, 1)]
        across = float(
            np.sum(lines.foot_n[side] * (r[0] * frame.across[0] + r[1] * frame.across[1]) * weight)
        )
        extra = (load_n * foot.placement_uncertainty_mm) ** 2 + (load_n * foot.joint_uncertainty_mm) ** 2
        extra += (across * math.radians(foot.toe_out_uncertainty_deg)) ** 2
        return row, extra / 1e6

    def _add_push(
        self,
        by_force: dict[int, Array],
        tilts: dict[Side, Array | float],
        side: Side,
        height_mm: float,
        weight: Array,
    ) -> None:
        """What the crutches' horizontal push adds to a knee moment: share × push × height."""
        lines, setup = self.lines, self.setup
        on = weight > 0
        share = np.where(on, lines.share[side], 0.0)
        push = np.zeros_like(weight)
        for other in lines.vertical_n:
            crutch = setup.stance.crutch(other)
            if crutch is None or crutch.tilt_ap_deg is None:
                continue
            tangent = math.tan(math.radians(crutch.tilt_ap_deg))
            push = push + lines.vertical_n[other] * tangent
            gain = setup.shaft_gain(other)
            for i in setup.rig.crutch_cells(other):
                by_force[i] = share * tangent * gain * height_mm / 1000
            tilts[other] = share * tangent * height_mm / 1000
        scale = np.where(on, push * height_mm / 1000 / np.where(on, lines.feet_n, 1.0), 0.0)
        for foot_side in SIDES:
            for i in setup.rig.foot_cells(foot_side):
                own = 1.0 if foot_side == side else 0.0
                by_force[i] = by_force.get(i, np.zeros_like(weight)) + (own - share) * scale


@dataclass(frozen=True)
class LineUncertainty:
    """Standard uncertainty of a line's mean distance from the heel edge, mm, and its parts (variances, mm²)."""

    mm: float
    parts: dict[str, float]


def line_uncertainty(
    line: str,
    sens: Sensitivities,
    mean_mm: float,
    shares: dict[Side, float],
    points: dict[str, Array] | None = None,
    *,
    with_parts: bool = True,
) -> LineUncertainty:
    """u of ``mean_mm`` of a line: rig and calibration through the point, placement, usable length, toe-out.

    shares: each foot's mean share of both feet's load. points: rows of ``Sensitivities.point`` where already known. with_parts: the variance by group of sources too.
    """
    setup = sens.setup
    stance = setup.stance
    point = line if line in ("left", "right", "feet") else "body"
    rows = points[point] if points is not None and point in points else sens.point(point)
    if line.startswith("body_on_") or line in SIDES:
        side: Side = "left" if line.endswith("left") else "right"
        frame, foot = setup.frames[side], stance.foot(side)
        theta_u = math.radians(foot.toe_out_uncertainty_deg)
        length_mm, placement, length_u = (
            frame.length_mm,
            foot.placement_uncertainty_mm,
            foot.length_uncertainty_mm,
        )
        if line in SIDES:
            row = rows[0] * frame.along[0] + rows[1] * frame.along[1]
            valid = sens.lines.valid[line]
            r = [float(np.mean(sens.lines.point_mm[line][a][valid])) - frame.heel_mm[a] for a in (0, 1)]
            toe = (r[0] * frame.across[0] + r[1] * frame.across[1]) * theta_u
        else:
            row = rows[0] / frame.along[0]
            placement = placement / frame.along[0]
            toe = mean_mm * frame.along[1] / frame.along[0] * theta_u
        placement2, length2 = placement**2, length_u**2
    else:
        along = [sum(shares[s] * setup.frames[s].along[a] for s in SIDES) for a in (0, 1)]
        norm = math.hypot(*along)
        row = (rows[0] * along[0] + rows[1] * along[1]) / norm
        length_mm = sum(shares[s] * setup.frames[s].length_mm for s in SIDES)
        placement2 = sum((shares[s] * stance.foot(s).placement_uncertainty_mm) ** 2 for s in SIDES)
        length2 = sum((shares[s] * stance.foot(s).length_uncertainty_mm) ** 2 for s in SIDES)
        toe = 0.0
    own = {"placing": placement2, "usable length": (mean_mm / length_mm) ** 2 * length2, "toe-out": toe**2}
    parts = {**sens.u2_by_group(row), **own} if with_parts else own
    return LineUncertainty(math.sqrt(sens.u2(row) + sum(own.values())), parts)


def point_covariance_mm2(sens: Sensitivities, shares: dict[Side, float], rows: Array) -> Array:
    """(2, 2) covariance of the mean body point against the feet: its own, and both feet's placement."""
    placement = sum((shares[s] * sens.setup.stance.foot(s).placement_uncertainty_mm) ** 2 for s in SIDES)
    return np.asarray(rows @ sens.sources.covariance @ rows.T + np.eye(2) * placement, dtype=np.float64)
