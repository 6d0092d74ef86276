"""A table of masses and counts (points.csv): read, checked in full, all faults at once with their lines."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from balance.files import FileProblem
from balance.rig import MAX_CHANNELS, Rig
from balance.tables import each, number, optional_number, read_table, whole
from balance.words import say
from drivers.samples import COUNTS_MAX, COUNTS_MIN

GRAVITY = 9.80665  # standard acceleration, m/s² (ISO 80000-3); another place's by --gravity
OF_CAPACITY = 2.0  # a load beyond this part of a cell's capacity is asked about: grams, perhaps?

REQUIRED = ("channel", "counts")
OPTIONAL = (
    "applied_n", "mass_kg", "direction", "run", "seconds", "applied_uncertainty_n", "mass_uncertainty_kg",
)  # fmt: skip


@dataclass(frozen=True)
class AppliedPoint:
    """One reading under a known load; applied_n 0 is a zero. Uncertainty is standard."""

    channel: int
    applied_n: float
    counts: float
    direction: Literal["up", "down"] | None = None
    run: int | None = None
    seconds: float | None = None
    applied_uncertainty_n: float | None = None


def read_points(path: Path, gravity: float = GRAVITY, rig: Rig | None = None) -> list[AppliedPoint]:
    """The points of a file in their order. Raises FileProblem with every fault."""
    rows = read_table(path, REQUIRED, OPTIONAL)
    columns = rows[0][1].keys()
    if ("applied_n" in columns) == ("mass_kg" in columns):
        raise FileProblem(path, say("points.load-column", file=path))
    points = each(path, rows, lambda row: _point(row, gravity))
    _check_whole(path, points, rig, "mass_kg" in columns)
    return points


def _point(row: dict[str, str], gravity: float) -> AppliedPoint:
    by_mass = "mass_kg" in row
    load = number(row, "mass_kg" if by_mass else "applied_n", -1e7, 1e7) * (gravity if by_mass else 1.0)
    u = optional_number(row, "mass_uncertainty_kg", 0.0)
    u_n = optional_number(row, "applied_uncertainty_n", 0.0) if u is None else u * gravity
    direction = row.get("direction") or None
    if direction not in (None, "up", "down"):
        raise ValueError(say("points.direction", text=str(direction)[:30]))
    return AppliedPoint(
        channel=whole(row, "channel", 0, MAX_CHANNELS - 1),
        applied_n=load,
        counts=number(row, "counts", COUNTS_MIN, COUNTS_MAX),
        direction="up" if direction == "up" else "down" if direction == "down" else None,
        run=whole(row, "run", 0, 1e6) if row.get("run") else None,
        seconds=optional_number(row, "seconds", 0.0),
        applied_uncertainty_n=u_n,
    )


def _check_whole(path: Path, points: list[AppliedPoint], rig: Rig | None, by_mass: bool) -> None:
    """Faults that show only in all of a channel's rows together. Raises FileProblem."""
    faults = []
    capacities = {c.channel: c.capacity_n for c in rig.cells} if rig else {}
    for channel in sorted({p.channel for p in points}):
        own = [p for p in points if p.channel == channel]
        loads = {round(p.applied_n, 6) for p in own if p.applied_n != 0}
        if len(own) == len([p for p in own if p.applied_n != 0]):
            faults.append(say("points.no-zero", file=path, channel=channel))
        if len(loads) < 2:
            faults.append(say("points.one-load", file=path, channel=channel, count=len(loads)))
        elif len({p.counts for p in own}) == 1:
            faults.append(say("points.same-counts", file=path, channel=channel, counts=own[0].counts))
        largest = max((abs(p.applied_n) for p in own), default=0.0)
        capacity = capacities.get(channel)
        if capacity is not None and largest > OF_CAPACITY * capacity:
            key = "points.grams" if by_mass else "points.beyond-capacity"
            faults.append(say(key, file=path, channel=channel, load=largest, capacity=capacity))
    if faults:
        raise FileProblem(path, *faults)
