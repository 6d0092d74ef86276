"""Small comma-separated tables that people write: read, checked in full, all faults at once with their lines."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from balance.files import FileProblem, read_text
from balance.words import say

MOST_BYTES = 64_000_000
MOST_ROWS = 100_000  # some dozens are usual: more is another file
MOST_FAULTS = 20  # told at once

Made = TypeVar("Made")


def read_table(
    path: Path, required: tuple[str, ...], optional: tuple[str, ...], prefix: str | None = None
) -> list[tuple[int, dict[str, str]]]:
    """(line, row) of a comma-separated table whose header holds ``required``; other names only of ``optional`` or
    ``prefix`` with a number. Raises FileProblem."""
    text = read_text(path, MOST_BYTES)
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


def whole(row: dict[str, str], name: str, low: float, high: float) -> int:
    """A whole number of a row. Raises ValueError with a sentence."""
    value = number(row, name, low, high)
    if value != int(value):
        raise ValueError(say("points.not-whole", name=name, text=row[name][:30]))
    return int(value)


def each(
    path: Path, rows: list[tuple[int, dict[str, str]]], make: Callable[[dict[str, str]], Made]
) -> list[Made]:
    """``make`` of every row; its ValueErrors are the faults. Raises FileProblem with all of them and their lines."""
    made, faults = [], []
    for line, row in rows:
        try:
            made.append(make(row))
        except ValueError as error:
            faults.append(say("points.line", file=path, line=line, what=str(error)))
            if len(faults) >= MOST_FAULTS:
                break
    if faults:
        raise FileProblem(path, *faults)
    return made
