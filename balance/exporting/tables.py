"""csv and parquet: one row a sample, events and the description beside it."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

from balance.exporting.signals import Signals, meanings
from balance.files import as_data
from balance.words import say


def write_csv(signals: Signals, out: Path, stem: str) -> list[Path]:
    """OUT/STEM.csv with every digit, OUT/STEM.events.csv, OUT/STEM.json."""
    path = out / f"{stem}.csv"
    columns = signals.columns()
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(
            [_cell(value) for value in row]
            for row in zip(*(v.tolist() for v in columns.values()), strict=True)
        )
    return [path, *_beside(signals, out, stem)]


def write_parquet(signals: Signals, out: Path, stem: str) -> list[Path]:
    """OUT/STEM.parquet, the same columns; units and meanings also in the columns' own metadata."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    said = meanings(signals)
    fields, arrays = [], []
    for column, values in signals.columns().items():
        arrays.append(pa.array(values, from_pandas=True))
        fields.append(
            pa.field(
                column, arrays[-1].type, metadata={k.encode(): v.encode() for k, v in said[column].items()}
            )
        )
    path = out / f"{stem}.parquet"
    pq.write_table(pa.table(arrays, schema=pa.schema(fields)), path)
    return [path, *_beside(signals, out, stem)]


def _cell(value: Any) -> Any:
    return "" if isinstance(value, float) and math.isnan(value) else value


def _beside(signals: Signals, out: Path, stem: str) -> list[Path]:
    events, words = out / f"{stem}.events.csv", out / f"{stem}.json"
    with events.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["time_s", "kind", "detail"])
        writer.writerows(signals.events)
    said = {
        "rate_hz": signals.rate_hz,
        "columns": meanings(signals),
        "not_carried": not_carried(),
        "trial": as_data(signals.trial),
    }
    words.write_text(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    return [events, words]


def not_carried() -> list[str]:
    """What stays behind in the recording."""
    return [say("export.not-counts"), say("export.not-status")]
