"""A table of masses and counts (points.csv): read, checked in full, all faults at once with their lines."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from balance.files import FileProblem, read_text
from balance.rig import MAX_CHANNELS, Rig
from balance.words import say
from drivers.samples import COUNTS_MAX, COUNTS_MIN

GRAVITY = 9.80665  # standard acceleration, m/s² (ISO 80000-3); another place's by --gravity
MOST_ROWS = 100_000
MOST_FAULTS = 20
OF_CAPACITY = 2.0  # a load beyond this part of a cell's capacity is asked about: grams, perhaps?
FEWEST_BYTES = 64_000_000

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
    columns = set(rows[0][1]) if rows else set()
    if ("applied_n" in columns) == ("mass_kg" in columns):
        raise FileProblem(path, say("points.load-column", file=path))
    faults: list[str] = []
    points: list[AppliedPoint] = []
    for line, row in rows:
        try:
            points.append(_point(row, gravity))
        except ValueError as error:
            faults.append(say("points.line", file=path, line=line, what=str(error)))
            if len(faults) >= MOST_FAULTS:
                break
    if faults:
        raise FileProblem(path, *faults)
    _check_whole(path, points, rig, "mass_kg" in columns)
    return points


def read_table(
    path: Path, required: tuple[str, ...], optional: tuple[str, ...], prefix: str | None = None
) -> list[tuple[int, dict[str, str]]]:
    """(line, row) of a comma-separated table whose header holds ``required``; other names only of ``optional`` or
    ``prefix`` with a number. Raises FileProblem."""
    text = read_text(path, FEWEST_BYTES)
    try:
        reader = csv.reader(io.StringIO(text), strict=True)
        header = [name.strip() for name in next(reader, [])]
        missing = [name for name in required if name not in header]
        numbered = [n for n in header if prefix and n.startswith(prefix) and n[len(prefix) :].isdigit()]
        unknown = [n for n in header if n not in (*required, *optional, *numbered)]
        if len(header) == 1 and ";" in header[0]:
            raise FileProblem(path, say("points.semicolon", file=path))
        if missing or unknown or len(set(header)) != len(header):
            names = ", ".join((*required, *optional, *([f"{prefix}0, {prefix}1, …"] if prefix else [])))
            wrong = ", ".join(missing + unknown) or ", ".join(header)
            raise FileProblem(path, say("points.header", file=path, wrong=wrong[:100], names=names))
        rows = []
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            if len(row) != len(header):
                what = say("points.fields", found=len(row), wanted=len(header))
                raise FileProblem(path, say("points.line", file=path, line=reader.line_num, what=what))
            rows.append((reader.line_num, dict(zip(header, (cell.strip() for cell in row), strict=True))))
            if len(rows) > MOST_ROWS:
                raise FileProblem(path, say("points.too-many", file=path, most=MOST_ROWS))
    except csv.Error as error:
        raise FileProblem(
            path, say("points.line", file=path, line=reader.line_num, what=str(error))
        ) from None
    if not rows:
        raise FileProblem(path, say("points.empty", file=path))
    return rows


def number(row: dict[str, str], name: str, low: float = -math.inf, high: float = math.inf) -> float:
    """A finite number of a row. Raises ValueError with a sentence."""
    text = row[name]
    try:
        value = float(text)
    except ValueError:
        key = "points.decimal-comma" if text.count(",") == 1 else "points.not-a-number"
        raise ValueError(say(key, name=name, text=text[:30])) from None
    if not math.isfinite(value):
        raise ValueError(say("points.not-a-number", name=name, text=text[:30]))
    if not low <= value <= high:
        raise ValueError(say("points.out-of-range", name=name, text=text[:30], low=low, high=high))
    return value


def optional_number(row: dict[str, str], name: str, low: float, high: float = math.inf) -> float | None:
    """The same, None where the column or its value is absent."""
    return number(row, name, low, high) if row.get(name) else None


def _whole(row: dict[str, str], name: str, low: float, high: float) -> int:
    value = number(row, name, low, high)
    if value != int(value):
        raise ValueError(say("points.not-whole", name=name, text=row[name][:30]))
    return int(value)


def _point(row: dict[str, str], gravity: float) -> AppliedPoint:
    by_mass = "mass_kg" in row
    load = number(row, "mass_kg" if by_mass else "applied_n", -1e7, 1e7) * (gravity if by_mass else 1.0)
    u = optional_number(row, "mass_uncertainty_kg", 0.0)
    u_n = optional_number(row, "applied_uncertainty_n", 0.0) if u is None else u * gravity
    direction = row.get("direction") or None
    if direction not in (None, "up", "down"):
        raise ValueError(say("points.direction", text=str(direction)[:30]))
    return AppliedPoint(
        channel=_whole(row, "channel", 0, MAX_CHANNELS - 1),
        applied_n=load,
        counts=number(row, "counts", COUNTS_MIN, COUNTS_MAX),
        direction="up" if direction == "up" else "down" if direction == "down" else None,
        run=_whole(row, "run", 0, 1e6) if row.get("run") else None,
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
