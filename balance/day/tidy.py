"""A study's tidy table as the same kind of input that recordings are, for comparison and reliability without the recordings."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from balance.day.reading import Found
from balance.files import FileProblem
from balance.trial import Posture, Subject, Trial
from balance.words import say

NEEDED = ("recording", "subject", "protocol", "placing")
FORMS = (".csv", ".parquet", ".jsonl")


def is_table(path: Path) -> bool:
    return path.suffix in FORMS and path.is_file()


def found_in_table(path: Path) -> list[Found]:
    """One a row, in the table's order; rows with an error are left out. Raises FileProblem where it is no such table."""
    rows = _rows(path)
    lacks = [name for name in NEEDED if rows and name not in rows[0]]
    if lacks or not rows:
        raise FileProblem(path, say("tidy.no-table", file=path, columns=", ".join(lacks or NEEDED)))
    return [_found(path, row) for row in rows if not row.get("error")]


def _found(path: Path, row: dict[str, Any]) -> Found:
    """The trial holds what comparisons ask for; rig and stance stay with the recording."""
    conditions = {
        name.rsplit(".", 1)[1]: value
        for name, value in row.items()
        if name.startswith("provenance.conditions.") and value is not None
    }
    posture = row.get("posture")
    subject, placing, started = row["subject"], row["placing"], row.get("provenance.started")
    trial = Trial.model_construct(
        protocol=str(row["protocol"]),
        subject=None if subject is None else Subject(code=str(subject)),
        placing=None if placing is None else int(placing),
        started=started,
        posture=None if posture is None else Posture.model_construct(kind=posture),
        conditions=conditions or None,
        orthosis=None,
    )
    return Found(path.parent / str(row["recording"]), str(row["recording"]), trial, {"row": row})


def _rows(path: Path) -> list[dict[str, Any]]:
    import pandas as pd

    try:
        if path.suffix == ".jsonl":
            from balance.study.rows import row_of

            return [
                row_of(json.loads(line))
                for line in path.read_text(encoding="utf-8").splitlines()
                if line.strip()
            ]
        table = (
            pd.read_parquet(path)
            if path.suffix == ".parquet"
            else pd.read_csv(path, dtype=dict.fromkeys(("recording", "subject", "protocol"), str))
        )
    except (OSError, ValueError, TypeError, AttributeError, ImportError) as error:
        raise FileProblem(
            path, say("tidy.unreadable", file=path, reason=str(error).splitlines()[0])
        ) from None
    return [{str(k): None if _is_nan(v) else v for k, v in row.items()} for row in table.to_dict("records")]


def _is_nan(value: Any) -> bool:
    return isinstance(value, float) and math.isnan(value)
