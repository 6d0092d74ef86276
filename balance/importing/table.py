"""A text table read by its mapping: time, and each plate's force and point."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.files import FileProblem
from balance.importing.mapping import MM, N_MM, Column, Mapping, N, Plate, S
from balance.words import say

Array = npt.NDArray[np.float64]

SEPARATORS = {"tab": "\t", "comma": ",", "semicolon": ";", "space": r"\s+"}
LARGEST_BYTES = 2_000_000_000
MOST_ROWS = 20_000_000
LEAST_N = 1.0  # below it a plate's point is not taken: noise divided by nothing; tool default


@dataclass(frozen=True)
class Measured:
    """One plate's rows: force_n (n,), ap_mm, ml_mm (n,), nan below ``LEAST_N``."""

    force_n: Array
    ap_mm: Array
    ml_mm: Array


def read_table(path: Path, mapping: Mapping) -> tuple[Array, dict[str, Measured]]:
    """time_s (n,) from the first row on, and by foot what its plate measured. Raises FileProblem, which names line and column."""
    import pandas as pd

    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise FileProblem(
                path, say("file.too-large", file=path, size=path.stat().st_size, limit=LARGEST_BYTES)
            )
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileProblem(path, say("import.no-text", file=path)) from None
    except OSError as error:
        raise FileProblem(
            path, say("command.os-error", file=path, reason=error.strerror or str(error))
        ) from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter(
                "error", pd.errors.ParserWarning
            )  # more fields than the header names: none is dropped in silence
            table = pd.read_csv(
                io.StringIO(text), sep=SEPARATORS[mapping.delimiter], header=0 if mapping.header else None, skiprows=mapping.skip_rows, dtype=str,
                keep_default_na=False, nrows=MOST_ROWS, engine="c", skipinitialspace=True, index_col=False,
            )  # fmt: skip
    except (ValueError, pd.errors.ParserWarning) as error:  # pandas' own errors are of the first kind
        raise FileProblem(
            path, say("import.no-table", file=path, reason=str(error).strip().splitlines()[0])
        ) from None
    table.columns = (
        [str(name).strip() for name in table.columns]
        if mapping.header
        else list(range(1, len(table.columns) + 1))
    )
    reader = _Reader(path, mapping, table)
    if len(table) < 2:
        raise FileProblem(path, say("import.no-rows", file=path))
    if mapping.time is not None:
        time_s = reader.values(mapping.time, S)
        if not (np.diff(time_s) > 0).all():
            row = int(np.flatnonzero(np.diff(time_s) <= 0)[0]) + 1
            raise FileProblem(path, say("import.time-back", file=path, line=reader.line(row)))
    else:
        assert mapping.rate_hz is not None
        time_s = np.arange(len(table)) / mapping.rate_hz
    return time_s - time_s[0], {plate.foot: _measured(plate, reader) for plate in mapping.plates}


@dataclass(frozen=True)
class _Reader:
    path: Path
    mapping: Mapping
    table: Any

    def line(self, row: int) -> int:
        """The file's line of a row of the table."""
        return self.mapping.skip_rows + int(self.mapping.header) + row + 1

    def values(self, column: Column, units: dict[str, float]) -> Array:
        """(n,) in mm, N, N·mm or s."""
        names = column.column if isinstance(column.column, list) else [column.column]
        found = sum((self._numbers(name) for name in names), np.zeros(len(self.table)))
        return np.asarray((found - column.offset) * column.sign * units[column.unit])

    def _numbers(self, name: str | int) -> Array:
        if name not in self.table.columns:
            known = ", ".join(map(str, self.table.columns[:40]))
            raise FileProblem(self.path, say("import.no-column", file=self.path, column=name, known=known))
        texts = self.table[name]
        if self.mapping.decimal == ",":
            texts = texts.str.replace(",", ".", regex=False)
        try:
            with np.errstate(over="ignore"):  # a figure too large for a number is named below
                found = np.asarray(texts.to_numpy(dtype=str).astype(np.float64))
        except ValueError:
            found = np.array([float(text) if _is_number(text) else np.nan for text in texts])
        if not np.isfinite(found).all():
            row = int(np.flatnonzero(~np.isfinite(found))[0])
            facts = {"line": self.line(row), "column": name, "text": texts.iloc[row][:40]}
            raise FileProblem(self.path, say("import.no-number", file=self.path, **facts))
        return found


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _measured(plate: Plate, reader: _Reader) -> Measured:
    force = reader.values(plate.force, N)
    loaded = force >= LEAST_N
    points = []
    for given, moment, horizontal, centre_mm in (
        (plate.ap, plate.moment_about_ml, plate.force_ap, plate.centre_ap_mm),
        (plate.ml, plate.moment_about_ap, plate.force_ml, plate.centre_ml_mm),
    ):
        if given is not None:
            at = reader.values(given, MM)
        else:
            assert moment is not None
            turning = reader.values(moment, N_MM)
            if horizontal is not None:
                turning = turning - reader.values(horizontal, N) * plate.height_mm
            at = np.divide(turning, force, out=np.full(len(force), np.nan), where=loaded)
        points.append(np.where(loaded, at + centre_mm, np.nan))
    return Measured(force, *points)
