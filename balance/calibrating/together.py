"""Gains of all cells under a plate, solved together from loads on marked places: balance of force and of both moments.

At every place Σ g·x = F, Σ g·x·AP = F·AP₀ and Σ g·x·ML = F·ML₀, x counts above zero, g newtons a count, (AP₀, ML₀) the mark. Each
equation is weighted by what is known of its load and place. A person's sway is no place: their rows carry a place so uncertain
that only the balance of force is left of them.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.calibrating.limits import Limits, source_of
from balance.calibrating.result import COUNTS_FOR_GAIN, CREEP_UNKNOWN_PCT
from balance.calibration import Calibration
from balance.quality import Quality
from balance.rig import Rig
from balance.verifying.places import Placed, nearest_part, parts_of
from balance.words import say

Array = npt.NDArray[np.float64]

WORST_CONDITION = 50.0  # of the equations with columns of length 1; tool default
RANK_BELOW = 1e-6  # of the largest singular value: what is smaller, is nothing


@dataclass(frozen=True)
class Solved:
    """One plate. slopes (cells,) newtons a count in the rig's order of its cells; covariance (cells, cells) of them.

    rank, condition  of the equations with moments in parts of the plate's half size, columns scaled to length 1
    zero_moved       (cells,) counts from the first zero row to the last; None with one row only
    off_n            (places,) load shown less load applied · chi2_dof  weighted sum of squares over freedoms
    """

    part: str
    cells: list[int]
    slopes: Array
    covariance: Array
    zero_counts: Array
    zero_u_counts: Array
    zero_moved: Array | None
    rank: int
    condition: float
    off_n: Array
    chi2_dof: float
    loaded: list[Placed]
    largest_n: float

    @property
    def zero_return_pct(self) -> Array | None:
        """(cells,) last zero less first zero, % of the largest load; signed."""
        return None if self.zero_moved is None else 100 * self.zero_moved * self.slopes / self.largest_n

    @property
    def off_pct(self) -> float:
        """Largest |load shown less applied|, % of the largest load."""
        return 100 * float(np.abs(self.off_n).max()) / self.largest_n


class CannotTell(ValueError):
    """The places cannot tell the cells apart; the message says why."""


def solve(placed: list[Placed], rig: Rig) -> list[Solved]:
    """Every plate that has loaded places. Raises CannotTell."""
    zeros = np.array([p.counts for p in placed if p.applied_n == 0])
    loaded = [p for p in placed if p.applied_n != 0]
    solved = []
    for part, cells in parts_of(rig).items():
        own = [p for p in loaded if nearest_part(rig, p.ap_mm, p.ml_mm) == part]
        if own:
            solved.append(_plate(part, cells, own, zeros, rig))
    return solved


def _plate(part: str, cells: list[int], loaded: list[Placed], zeros: Array, rig: Rig) -> Solved:
    if len(loaded) < 2:
        raise CannotTell(say("together.few", part=part, count=len(loaded), least=2))
    channels = [rig.cells[i].channel for i in cells]
    at = np.array([[rig.cells[i].ap_mm or 0.0, rig.cells[i].ml_mm or 0.0] for i in cells])
    at_u = float(np.mean([rig.cells[i].position_uncertainty_mm for i in cells]))
    zero = zeros[:, channels].mean(axis=0)
    x = np.array([p.counts for p in loaded])[:, channels] - zero
    force = np.array([p.applied_n for p in loaded])
    u_force = np.array([p.applied_u_n for p in loaded])
    u_place = np.array([p.place_u_mm for p in loaded])
    middle = at.mean(axis=0)
    reach = np.maximum(np.abs(at - middle).max(axis=0), 1.0)  # half the plate's size: moments in parts of it
    design, wanted, weight = [x], [force], [1 / np.maximum(u_force, 1e-9)]
    for axis, name in ((0, "ap_mm"), (1, "ml_mm")):
        if len(set(at[:, axis].tolist())) < 2:
            continue
        place = (np.array([getattr(p, name) for p in loaded]) - middle[axis]) / reach[axis]
        design.append(x * (at[:, axis] - middle[axis]) / reach[axis])
        wanted.append(force * place)
        weight.append(1 / np.hypot(force * np.hypot(u_place, at_u) / reach[axis], u_force * np.abs(place)))
    rank, condition = _told_apart(np.concatenate(design))
    if rank < len(cells):
        raise CannotTell(say("together.rank", part=part, cells=len(cells), rank=rank))
    if condition > WORST_CONDITION:
        raise CannotTell(say("together.condition", part=part, condition=condition, most=WORST_CONDITION))
    w = np.concatenate(weight)
    rows, y = np.concatenate(design) * w[:, None], np.concatenate(wanted) * w
    lengths = np.linalg.norm(rows, axis=0)
    left, singular, right = np.linalg.svd(rows / lengths, full_matrices=False)
    inverse = right.T / singular
    slopes = inverse @ (left.T @ y) / lengths
    residuals = y - rows @ slopes
    dof = len(y) - len(cells)
    chi2 = float(residuals @ residuals) / dof if dof > 0 else math.nan
    scale = max(chi2, 1.0) if dof > 0 else 1.0  # errors larger than declared count as they are
    return Solved(
        part=part,
        cells=cells,
        slopes=slopes,
        covariance=inverse @ inverse.T / np.outer(lengths, lengths) * scale,
        zero_counts=zero,
        zero_u_counts=zeros[:, channels].std(axis=0, ddof=1) if len(zeros) >= 3 else np.zeros(len(cells)),
        zero_moved=zeros[-1, channels] - zeros[0, channels] if len(zeros) > 1 else None,
        rank=rank,
        condition=condition,
        off_n=x @ slopes - force,
        chi2_dof=chi2,
        loaded=loaded,
        largest_n=float(np.abs(force).max()),
    )


def _told_apart(design: Array) -> tuple[int, float]:
    """Rank and condition of the equations, columns scaled to length 1."""
    lengths = np.linalg.norm(design, axis=0)
    if (lengths == 0).any():
        return int((lengths > 0).sum()), math.inf
    singular = np.linalg.svd(design / lengths, compute_uv=False)
    rank = int((singular > RANK_BELOW * singular[0]).sum())
    return rank, float(singular[0] / singular[-1]) if rank == design.shape[1] else math.inf


def calibrate_together(placed: list[Placed], rig: Rig, limits: Limits | None = None, *, anyway: bool = False) -> dict[str, Any]:  # fmt: skip
    """The result with the keys of ``calibrating.result.calibrate``, and ``plates``. Raises CannotTell."""
    limits, quality = limits or Limits(), Quality()
    solved = solve(placed, rig)
    quality.add("together", "channels.nonlinearity_pct", "channels.hysteresis_pct", "channels.repeatability_pct", "channels.r2", "channels.f_test_p", "channels.zero_offset_n", "channels.zero_offset_p")  # fmt: skip
    quality.add("gains-correlated")
    quality.add("creep-not-measured", "channels.creep_pct", taken=CREEP_UNKNOWN_PCT)
    rows = [_row(plate, k, rig, limits) for plate in solved for k in range(len(plate.cells))]
    if any(row["zero_return_pct"] is None for row in rows):
        quality.add("one-zero", "channels.zero_return_pct")
    missed = [(row["channel"], one) for row in rows for one in row["limits"] if not one["met"]]
    for channel, one in missed:
        quality.add("limit-not-met", apart=f"{channel} {one['name']}", channel=channel, name=one["name"], value=one["value"], limit=one["limit"], cause=say(f"cause.{one['name']}"))  # fmt: skip
    accepted = not missed
    heavy = [p for p in placed if p.applied_n >= COUNTS_FOR_GAIN * max(q.applied_n for q in placed)]
    made = datetime.datetime.now().astimezone()
    calibration = Calibration.model_validate(
        {
            "schema": 1,
            "rig": rig.name,
            "made": made.isoformat(timespec="seconds"),
            "shared_gain_uncertainty": max(p.applied_u_n / p.applied_n for p in heavy),
            "creep_pct": CREEP_UNKNOWN_PCT,
            "channels": [one for plate in solved for one in _channels(plate, rig)],
            "places": [{**vars(p), "counts": list(p.counts)} for p in placed],
            **({"accepted_anyway": True} if anyway and not accepted else {}),
        }
    )
    return {
        "calibration": calibration.model_dump(mode="json", by_alias=True, exclude_none=True),
        "channels": rows,
        "plates": [
            {"part": p.part, "cells": len(p.cells), "places": len(p.loaded), "rank": p.rank, "condition": p.condition,
             "together_pct": p.off_pct, "chi2_dof": None if math.isnan(p.chi2_dof) else p.chi2_dof,
             "correlation": (p.covariance / np.sqrt(np.outer(np.diag(p.covariance), np.diag(p.covariance)))).tolist()}
            for p in solved
        ],
        "accepted": accepted,
        "quality": quality.entries(),
    }  # fmt: skip


def _channels(plate: Solved, rig: Rig) -> list[dict[str, Any]]:
    """The calibration of each cell; its points are what the solution makes of the readings, so that its range is known."""
    # What the plate's load was off by, shared evenly by the cells: the part that no gain explains.
    residual_n = float(np.sqrt(np.mean(plate.off_n**2))) / math.sqrt(len(plate.cells))
    rows = []
    for k, i in enumerate(plate.cells):
        channel = rig.cells[i].channel
        slope, zero = float(plate.slopes[k]), float(plate.zero_counts[k])
        points = [{"applied_n": slope * (p.counts[channel] - zero), "counts": p.counts[channel]} for p in plate.loaded]  # fmt: skip
        rows.append(
            {
                "channel": channel, "zero_counts": zero, "zero_uncertainty_counts": float(plate.zero_u_counts[k]),
                "newton_per_count": slope, "newton_per_count2": 0.0, "covariance": [[float(plate.covariance[k, k])]],
                "residual_n": residual_n, "hysteresis_n": None, "points": points,
            }
        )  # fmt: skip
    return rows


def _row(plate: Solved, k: int, rig: Rig, limits: Limits) -> dict[str, Any]:
    """A channel as `bandstand calibrate` prints it: what one cell does alone is not measured."""
    absent = ("r2", "nonlinearity_pct", "hysteresis_pct", "repeatability_pct", "creep_pct", "f_test_p", "zero_offset_n", "zero_offset_p")  # fmt: skip
    back = plate.zero_return_pct
    held = [("together_pct", plate.off_pct, limits.nonlinearity_pct, "nonlinearity_pct")]
    if back is not None:
        held.append(("zero_return_pct", float(back[k]), limits.zero_return_pct, "zero_return_pct"))
    return {
        "channel": rig.cells[plate.cells[k]].channel,
        "degree": 1,
        "points": len(plate.loaded),
        "loads": len({round(p.applied_n, 6) for p in plate.loaded}),
        **dict.fromkeys(absent),
        "zero_return_pct": None if back is None else float(back[k]),
        "newton_per_count": float(plate.slopes[k]),
        "u_pct": 100 * math.sqrt(plate.covariance[k, k]) / abs(float(plate.slopes[k])),
        "limits": [
            {"name": name, "value": value, "limit": limit, "met": abs(value) <= limit, "source": source_of(source, limit)}
            for name, value, limit, source in held
        ],
    }  # fmt: skip


def together_lines(data: dict[str, Any]) -> list[str]:
    """The result as a person reads it."""
    known = data["calibration"]
    lines = [say("calibration.head", rig=known["rig"], made=known["made"])]
    lines += [say("together.words", load_pct=plate["together_pct"], **plate) for plate in data["plates"]]
    lines += [say("together.cell", channel=row["channel"], slope=row["newton_per_count"] * 1e6, u=row["u_pct"]) for row in data["channels"]]  # fmt: skip
    lines += [say("summary.quality", text=entry["text"]) for entry in data["quality"]]
    lines.append(say("calibration.accepted" if data["accepted"] else "calibration.refused"))
    return lines
