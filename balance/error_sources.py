"""What may be wrong: every error source of one rig, stance and calibration, with its covariance (JCGM 100, 102).

An output's sensitivities are written as a *row*: for each cell the sums over the samples of ∂y/∂f, ∂y/∂f·x and
∂y/∂f·x² (x = counts − zero) and what its place does in AP and ML, then one column for each named source. ``mapping``
says what each error source moves in such a row, so that u² = row · mapping C mappingᵀ · row, and the matrix in the
middle is made once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from balance.forces import CellForce
from balance.load_line import Setup
from balance.rig import SIDES

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
OF_A_CELL = 5  # columns of a row that belong to one cell: Σ∂f, Σ∂f·x, Σ∂f·x², place AP, place ML


@dataclass(frozen=True)
class Sources:
    """The error sources and how they reach a row of sensitivities.

    covariance  (sources, sources)
    mapping     (columns, sources): what one unit of an error moves, in the columns of a row
    named       name → its column in a row
    labels      of each source: (group, what it is in words: a key of the catalogue, the cell's place in the rig or None)
    """

    covariance: Array
    mapping: Array
    named: dict[str, int]
    labels: list[tuple[str, str, int | None]]

    @property
    def columns(self) -> int:
        return len(self.mapping)

    @cached_property
    def moved(self) -> Array:
        """(columns, columns): u² of an output is row @ moved @ row."""
        return np.asarray(self.mapping @ self.covariance @ self.mapping.T, dtype=np.float64)

    @cached_property
    def moved_by_group(self) -> dict[str, Array]:
        """The same, split by group; no error of one group is correlated with one of another."""
        groups = np.array([group for group, _, _ in self.labels])
        split = {}
        for name in GROUPS:
            own = self.covariance * np.outer(groups == name, groups == name)
            split[name] = np.asarray(self.mapping @ own @ self.mapping.T, dtype=np.float64)
        return split


def sources_of(setup: Setup, cells: list[CellForce], gain_error: float, body_weight_u_n: float) -> Sources:
    """All error sources with their covariance, independent of any sample."""
    named = _named_sources(setup, body_weight_u_n)
    first_named = OF_A_CELL * len(cells)
    labels: list[tuple[str, str, int | None]] = [
        ("masses and creep", "gain", None),
        ("cells", "hysteresis", None),
    ]
    variances = [gain_error**2, 1.0]
    moves: list[tuple[int, int, float]] = []  # column of a row, source, by how much
    pairs: list[tuple[int, float]] = []  # a1 of a cell, its covariance with a2

    def source(group: str, what: str, i: int | None, variance: float, *moved: tuple[int, float]) -> None:
        moves.extend((column, len(variances), by) for column, by in moved)
        labels.append((group, what, i))
        variances.append(variance)

    for i, (force, cell) in enumerate(zip(cells, setup.rig.cells, strict=True)):
        at = OF_A_CELL * i
        moves += [(at + 1, 0, force.a1), (at + 2, 0, force.a2), (at, 1, force.hysteresis_n)]
        pairs.append((len(variances), float(force.covariance[0, 1])))
        source("cells", "slope", i, float(force.covariance[0, 0]), (at + 1, 1.0))
        source("cells", "curve", i, float(force.covariance[1, 1]), (at + 2, 1.0))
        source("cells", "residual", i, force.residual_n**2, (at, 1.0))
        by_reading = ((at, force.a1), (at + 1, 2 * force.a2))  # counts to newtons by the slope at the reading
        source("cells", "zero", i, force.zero_u_counts**2, *by_reading)
        if force.drift_counts is None:
            source("cells", "drift", i, force.drift_n**2, (at, 1.0))
        else:
            source("cells", "drift", i, force.drift_counts**2, *by_reading)
        for axis, pad_mm in enumerate((cell.pad_length_mm, cell.pad_width_mm)):
            u2 = cell.position_uncertainty_mm**2 + pad_mm**2 / 12
            source("cell places", ("place-ap", "place-ml")[axis], i, u2, (at + 3 + axis, 1.0))
    first = len(variances)
    for offset, (name, u, group) in enumerate(named):
        source(group, name, None, u**2, (first_named + offset, 1.0))
    covariance = np.diag(variances)
    for at, shared in pairs:
        covariance[at, at + 1] = covariance[at + 1, at] = shared
    of = {name: first + offset for offset, (name, _, _) in enumerate(named)}
    _tilts(covariance, of, setup)
    mapping = np.zeros((first_named + len(named), len(variances)))
    for column, number, by in moves:
        mapping[column, number] = by
    columns = {name: first_named + offset for offset, (name, _, _) in enumerate(named)}
    return Sources(covariance, mapping, columns, labels)


def _named_sources(setup: Setup, body_weight_u_n: float) -> list[tuple[str, float, str]]:
    """(name, standard uncertainty, group) of what is not an error of a cell."""
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
    return names


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
