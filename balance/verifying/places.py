"""A known mass on marked places: are load and centre of pressure where they should be, within their uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.error_sources import OF_A_CELL, Sources, sources_of
from balance.files import FileProblem
from balance.forces import ForceTable, cell_forces
from balance.load_line import Setup
from balance.rig import Rig
from balance.stance import Stance
from balance.tables import each, number, optional_number, read_table
from balance.words import say
from drivers.samples import COUNTS_MAX, COUNTS_MIN

Array = npt.NDArray[np.float64]

PLACE_U_MM = 2.0  # of a mass set down on a mark; tool default
APPLIED_U = 0.001  # of the load, where the mass's own uncertainty is not given; tool default
LEAST_APPLIED_N = 1e-3
TOGETHER = 0.95  # a good rig passes all its places so often


@dataclass(frozen=True)
class Placed:
    """A mass on a place: AP and ML in the floor frame, its load, and the counts of all channels under it."""

    ap_mm: float
    ml_mm: float
    applied_n: float
    counts: tuple[float, ...]
    place_u_mm: float
    applied_u_n: float


@dataclass(frozen=True)
class Place:
    """What the rig showed there. Errors are shown less applied; uncertainties are standard, of the errors.

    part    the plate that the place belongs to · forces_n (cells,) all cells of the rig
    ml_*    None where the plate's cells stand in one line
    """

    placed: Placed
    part: str
    forces_n: Array
    load_n: float
    load_u_n: float
    ap_mm: float
    ap_u_mm: float
    ml_mm: float | None
    ml_u_mm: float | None

    @property
    def errors(self) -> list[tuple[float, float]]:
        """(error, its uncertainty) of load, AP and, where it is seen, ML."""
        pairs = [(self.load_n - self.placed.applied_n, self.load_u_n), (self.ap_mm - self.placed.ap_mm, self.ap_u_mm)]  # fmt: skip
        if self.ml_mm is not None and self.ml_u_mm is not None:
            pairs.append((self.ml_mm - self.placed.ml_mm, self.ml_u_mm))
        return pairs

    def agrees(self, k: float) -> bool:
        return all(abs(error) <= k * u for error, u in self.errors)


def read_placed(path: Path, rig: Rig, *, zeros: bool = False) -> list[Placed]:
    """placed.csv; zeros: rows without load are allowed. Raises FileProblem with every fault."""
    rows = read_table(path, ("ap_mm", "ml_mm", "applied_n"), ("place_uncertainty_mm", "applied_uncertainty_n"), "counts")  # fmt: skip
    need = max(rig.channels) + 1
    missing = [f"counts{c}" for c in rig.channels if f"counts{c}" not in rows[0][1]]
    if missing:
        raise FileProblem(path, say("verify.counts-missing", file=path, names=", ".join(missing)))
    return each(path, rows, lambda row: _placed(row, need, 0.0 if zeros else LEAST_APPLIED_N))


def _placed(row: dict[str, str], channels: int, least_n: float) -> Placed:
    applied = number(row, "applied_n", least_n, 1e6)
    place_u = optional_number(row, "place_uncertainty_mm", 0.0)
    applied_u = optional_number(row, "applied_uncertainty_n", 0.0)
    names = [f"counts{c}" for c in range(channels)]
    return Placed(
        ap_mm=number(row, "ap_mm", -10_000, 10_000),
        ml_mm=number(row, "ml_mm", -10_000, 10_000),
        applied_n=applied,
        counts=tuple(number(row, n, COUNTS_MIN, COUNTS_MAX) if n in row else 0.0 for n in names),
        place_u_mm=PLACE_U_MM if place_u is None else place_u,
        applied_u_n=APPLIED_U * applied if applied_u is None else applied_u,
    )


def parts_of(rig: Rig) -> dict[str, list[int]]:
    """Every plate of the rig, feet's and crutches': its cells, as places in ``rig.cells``."""
    plates = [p for p in rig.cells_of if rig.cells_of[p] and rig.cells[rig.cells_of[p][0]].ap_mm is not None]
    return {part: rig.cells_of[part] for part in plates}


def measure(placed: list[Placed], rig: Rig, calibration: Calibration) -> list[Place]:
    """What the rig shows at each place, with the same uncertainty as everywhere else."""
    cells = cell_forces(rig, calibration)
    table = ForceTable.of(cells)
    sources = sources_of(Setup(rig, _no_stance(), None, None, False), cells, calibration.gain_error, 0.0)
    counts = np.array([p.counts for p in placed])
    forces = _newtons(table, counts)
    readings = table.readings(np.ascontiguousarray(forces.T)).T
    return [_place(p, rig, f, x, sources) for p, f, x in zip(placed, forces, readings, strict=True)]


def _newtons(table: ForceTable, counts: Array) -> Array:
    x = counts[:, table.channels] - table.zero_counts
    return np.asarray(table.a1 * x + table.a2 * x * x, dtype=np.float64)


def _no_stance() -> Stance:
    """Masses have no shoes: a stance that enters nothing here."""
    foot = {"heel_edge_ap_mm": 0.0, "heel_edge_ml_mm": 0.0, "usable_length_mm": 1.0, "heel_width_mm": 1.0, "forefoot_width_mm": 1.0}  # fmt: skip
    return Stance.model_validate({"schema": 1, "left_foot": foot, "right_foot": foot})


def nearest_part(rig: Rig, ap_mm: float, ml_mm: float) -> str:
    """The plate whose cells' middle is nearest to a place, measured in that plate's own size."""

    def far(cells: list[int]) -> float:
        ap = [rig.cells[i].ap_mm or 0.0 for i in cells]
        ml = [rig.cells[i].ml_mm or 0.0 for i in cells]
        half = (max((max(v) - min(v)) / 2, 20.0) for v in (ap, ml))
        middle = ((max(v) + min(v)) / 2 for v in (ap, ml))
        return max(abs(at - m) / h for at, m, h in zip((ap_mm, ml_mm), middle, half, strict=True))

    parts = parts_of(rig)
    return min(parts, key=lambda part: far(parts[part]))


def _place(p: Placed, rig: Rig, forces: Array, x: Array, sources: Sources) -> Place:
    part = nearest_part(rig, p.ap_mm, p.ml_mm)
    cells = rig.cells_of[part]
    load = float(forces[cells].sum())
    row = np.zeros(sources.columns)
    _through_forces(row, cells, x, np.ones(len(cells)))
    load_u = math.hypot(math.sqrt(float(row @ sources.moved @ row)), p.applied_u_n)
    points: list[tuple[float, float]] = []
    at = np.array([[rig.cells[i].ap_mm or 0.0, rig.cells[i].ml_mm or 0.0] for i in cells])
    for axis in (0, 1):
        r = float(forces[cells] @ at[:, axis]) / load if load else math.nan
        row = np.zeros(sources.columns)
        _through_forces(row, cells, x, (at[:, axis] - r) / load)
        for k, i in enumerate(cells):
            row[OF_A_CELL * i + 3 + axis] = forces[cells][k] / load
        points.append((r, math.hypot(math.sqrt(float(row @ sources.moved @ row)), p.place_u_mm)))
    seen = len(set(at[:, 1].tolist())) > 1
    (ap, ap_u), (ml, ml_u) = points
    return Place(p, part, forces, load, load_u, ap, ap_u, ml if seen else None, ml_u if seen else None)


def _through_forces(row: Array, cells: list[int], x: Array, factors: Array) -> None:
    for i, factor in zip(cells, factors.tolist(), strict=True):
        at = OF_A_CELL * i
        row[at : at + 3] = factor, factor * x[i], factor * x[i] ** 2


def coverage_factor(places: list[Place]) -> float:
    """k such that all errors of a good rig lie within k standard uncertainties 95 times in 100."""
    from scipy.special import ndtri

    count = sum(len(place.errors) for place in places)
    return float(ndtri(1 - (1 - TOGETHER ** (1 / count)) / 2))


def verification(places: list[Place]) -> dict[str, Any]:
    """The result as `bandstand verify-rig` prints it, without what is wrong."""
    k = coverage_factor(places)
    rows = []
    for place in places:
        p = place.placed
        rows.append(
            {
                "ap_mm": p.ap_mm, "ml_mm": p.ml_mm, "part": place.part, "applied_n": p.applied_n,
                "load_n": place.load_n, "load_error_n": place.load_n - p.applied_n, "load_uncertainty_n": place.load_u_n,
                "cop_ap_mm": place.ap_mm, "cop_ap_error_mm": place.ap_mm - p.ap_mm, "cop_ap_uncertainty_mm": place.ap_u_mm,
                "cop_ml_mm": place.ml_mm, "cop_ml_error_mm": None if place.ml_mm is None else place.ml_mm - p.ml_mm,
                "cop_ml_uncertainty_mm": place.ml_u_mm, "agrees": place.agrees(k),
            }
        )  # fmt: skip
    return {"places": rows, "coverage_factor": k, "agrees": all(row["agrees"] for row in rows)}
