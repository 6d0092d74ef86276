"""A recording folder as plain arrays."""

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass
class Recording:
    """What the folder holds, rows as they stand in the file; counts and dt_us (rows, channels)."""

    trial: dict
    state: str
    sequence: np.ndarray
    board_us: np.ndarray
    status: np.ndarray
    counts: np.ndarray
    dt_us: np.ndarray | None
    events: list[tuple[int, str, str]]


def read(folder: Path) -> Recording:
    """The folder's trial.json, samples.csv and, where there is one, events.csv."""
    trial = json.loads(_text(folder / "trial.json"))
    state = trial.get("state") or "complete"
    unfinished = state in ("recording", "interrupted")
    name = (trial.get("samples") or {}).get("file") or "samples.csv"
    lines = _lines(_text(folder / name), drop_torn=unfinished)
    header = lines[0].split(",")
    table = np.array([[int(item) for item in line.split(",")] for line in lines[1:]], dtype=np.int64)
    channels = sum(1 for key in header if key.startswith("ch"))
    counts = np.stack([table[:, header.index(f"ch{c}")] for c in range(channels)], axis=1)
    dt_us = None
    if "dt0" in header:
        dt_us = np.stack([table[:, header.index(f"dt{c}")] for c in range(channels)], axis=1)
    return Recording(
        trial=trial,
        state="interrupted" if unfinished else state,
        sequence=table[:, header.index("sequence")],
        board_us=table[:, header.index("board_us")],
        status=table[:, header.index("status")],
        counts=counts,
        dt_us=dt_us,
        events=_events(folder / "events.csv", unfinished),
    )


def _events(path: Path, unfinished: bool) -> list[tuple[int, str, str]]:
    if not path.exists():
        return []
    lines = _lines(_text(path), drop_torn=unfinished)
    rows = csv.DictReader(io.StringIO("\n".join(lines)))
    return [(int(row["board_us"]), row["kind"], row["detail"]) for row in rows]


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8-sig")


def _lines(text: str, drop_torn: bool) -> list[str]:
    """The lines of a file; a last one without its newline is no line where the recording was cut off."""
    lines = text.split("\n")
    if lines[-1] == "" or drop_torn:
        lines = lines[:-1]
    return [line.rstrip("\r") for line in lines]
