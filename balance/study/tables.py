"""A study's table: csv, parquet or json lines, written whole or not at all, with a data dictionary beside it."""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import IO, Any, Literal

from balance.study.rows import dictionary, row_of

Form = Literal["csv", "parquet", "jsonl", "json"]
FORMS: dict[str, Form] = {"csv": "csv", "parquet": "parquet", "jsonl": "jsonl", "json": "json"}
Findings = Callable[
    [], Iterable[dict[str, Any]]
]  # may be called twice: the columns are known after the first time

ROWS_AT_ONCE = 500


def dictionary_path(out: Path) -> Path:
    return out.with_name(f"{out.stem}.dictionary.csv")


def write_table(out: Path, form: Form, findings: Findings) -> None:
    """Renamed into place when it is complete: what stood there before stays until then. Raises OSError."""
    scratch = out.with_name(f".{out.name}.writing")
    try:
        if form in ("csv", "parquet"):
            columns = columns_of(findings())
            _WRITERS[form](scratch, columns, (row_of(found) for found in findings()))
            words = dictionary_path(out).with_name(f".{dictionary_path(out).name}.writing")
            with words.open("w", encoding="utf-8", newline="") as file:
                write_dictionary(file, list(columns))
            words.replace(dictionary_path(out))
        else:
            with scratch.open("w", encoding="utf-8", newline="") as file:
                file.writelines(json_text(findings(), lines=form == "jsonl"))
        _synced(scratch)
        scratch.replace(out)
    except OSError:
        scratch.unlink(missing_ok=True)
        raise


def columns_of(findings: Iterable[dict[str, Any]]) -> dict[str, set[type]]:
    """Every column of any row with the kinds of its values, in the order in which they come up; ``error`` last."""
    seen: dict[str, set[type]] = {}
    for found in findings:
        for column, value in row_of(found).items():
            kinds = seen.setdefault(column, set())
            if value is not None:
                kinds.add(type(value))
    last = {"error": seen.pop("error")} if "error" in seen else {}
    return {**seen, **last}


def csv_text(findings: Findings) -> Iterator[str]:
    """The table's lines, header first."""
    import io

    columns = columns_of(findings())
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(columns)
    for found in findings():
        row = row_of(found)
        writer.writerow([_cell(row.get(column)) for column in columns])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()
    yield buffer.getvalue()


def _cell(value: Any) -> Any:
    return "" if value is None else value


def json_text(findings: Iterable[dict[str, Any]], *, lines: bool) -> Iterator[str]:
    """A list, or a line each."""
    if lines:
        yield from (json.dumps(found, ensure_ascii=False, allow_nan=False) + "\n" for found in findings)
        return
    mark = "["
    for found in findings:
        yield mark + json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False)
        mark = ",\n"
    yield "[]\n" if mark == "[" else "]\n"


def write_dictionary(file: IO[str], columns: list[str]) -> None:
    """What each column is."""
    writer = csv.DictWriter(
        file, ["column", "unit", "meaning", "formula", "source", "version"], lineterminator="\n"
    )
    writer.writeheader()
    writer.writerows(dictionary(columns))


def _write_csv(path: Path, columns: dict[str, set[type]], rows: Iterable[dict[str, Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([_cell(row.get(column)) for column in columns] for row in rows)


def _write_parquet(path: Path, columns: dict[str, set[type]], rows: Iterable[dict[str, Any]]) -> None:
    """Numbers as float64, words as text; a column that holds both is text. Some rows at a time: memory stays flat."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {column: _parquet_type(found) for column, found in columns.items()}
    schema = pa.schema(list(kinds.items()))
    with pq.ParquetWriter(path, schema) as writer:
        for some in _batches(iter(rows)):
            arrays = [
                pa.array([_of_type(row.get(column), kind) for row in some], type=kind)
                for column, kind in kinds.items()
            ]
            writer.write_table(pa.table(arrays, schema=schema))


def _batches(rows: Iterator[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    while some := list(islice(rows, ROWS_AT_ONCE)):
        yield some


def _parquet_type(found: set[type]) -> Any:
    import pyarrow as pa

    if found == {int}:
        return pa.int64()
    if found == {bool}:
        return pa.bool_()
    return pa.float64() if found and found <= {int, float} else pa.string()


def _of_type(value: Any, kind: Any) -> Any:
    return str(value) if value is not None and kind == "string" else value


_WRITERS: dict[str, Callable[[Path, dict[str, set[type]], Iterable[dict[str, Any]]], None]] = {
    "csv": _write_csv,
    "parquet": _write_parquet,
}


def _synced(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
