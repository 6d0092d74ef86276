"""Reads a recording folder in full and checks it: every fault with file, line and remedy."""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
import json
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.calibration import check_fits
from balance.files import FileProblem, check, load_json
from balance.rig import Rig
from balance.trial import Trial
from balance.words import say
from drivers.samples import COUNTS_MAX, COUNTS_MIN, SampleBlock

MAX_SAMPLES_BYTES = 2_000_000_000  # a day at 80 samples a second and 10 channels is a third of it
MAX_SPAN = (
    20_000_000  # samples from first to last: nearly three days at 80 a second; more is a damaged counter
)
MAX_EVENTS_BYTES = 50_000_000
FIXED = ("sequence", "board_us", "status")
EVENT_HEADER = ["board_us", "kind", "detail"]


@dataclass(frozen=True, slots=True)
class Event:
    """One line of events.csv: cue, mark, step, fault, reconnect, zero."""

    board_us: int
    kind: str
    detail: str


def started(folder: Path) -> datetime.datetime | None:
    """When a recording began, by its header; None where that does not say it."""
    try:
        text = json.loads((folder / "trial.json").read_text(encoding="utf-8"))["started"]
        moment = datetime.datetime.fromisoformat(text)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return moment if moment.tzinfo is not None else None


@dataclass(frozen=True)
class Recording:
    """A recording as read; ``name`` is SUBJECT/date/NN-protocol as far as the folder's path gives it."""

    folder: Path
    name: str
    trial: Trial
    samples: SampleBlock
    events: list[Event]


def find_recordings(path: Path, unreadable: list[Path] | None = None) -> list[Path]:
    """Folders that hold a trial.json, in the order of their names: ``path`` itself or anything below it; links are not followed.

    unreadable: takes the folders that may not be looked into
    """

    def barred(error: OSError) -> None:
        if unreadable is not None:
            unreadable.append(Path(str(error.filename)))

    if (path / "trial.json").exists():
        return [path]
    found = []
    for root, folders, files in os.walk(path, onerror=barred, followlinks=False):
        folders.sort()
        if "trial.json" in files:
            found.append(Path(root))
    return sorted(found)


def read_recording(folder: Path) -> Recording:
    """The recording in ``folder``. Raises FileProblem with every fault found at one place."""
    if not folder.is_dir():
        raise FileProblem(folder, say("recording.no-folder", folder=folder))
    trial_path = folder / "trial.json"
    trial = check(trial_path, load_json(trial_path), Trial, {})
    check_fits(trial_path, trial.rig, trial.calibration)
    name = trial.samples.file
    if name != Path(name).name or name in ("", ".", "..") or "\\" in name or "\0" in name:
        raise FileProblem(trial_path, say("recording.path-trick", file=trial_path, name=name))
    open_state = trial.state != "complete"
    samples = read_samples(folder / name, trial, torn=open_state)
    return Recording(
        folder, recording_name(folder), trial, samples, read_events(folder / "events.csv", torn=open_state)
    )


def recording_name(folder: Path) -> str:
    """The last three parts of the folder's path, which are SUBJECT/date/NN-protocol in the usual layout."""
    name = "/".join(folder.resolve().parts[-3:]).lstrip("/")
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")  # a name may be no text at all


def _bytes(path: Path, limit: int) -> bytes:
    try:
        if not path.is_file():
            raise FileProblem(
                path, say("file.missing" if not path.exists() else "file.not-a-file", file=path)
            )
        size = path.stat().st_size
        if size > limit:
            raise FileProblem(path, say("file.too-large", file=path, size=size, limit=limit))
        return path.read_bytes()
    except OSError as error:
        raise FileProblem(path, say("file.unreadable", file=path, reason=error.strerror)) from None


def read_samples(path: Path, trial: Trial, *, torn: bool) -> SampleBlock:
    """samples.csv as a block. ``torn``: a last line without its newline is dropped, even if it parses."""
    data = _bytes(path, MAX_SAMPLES_BYTES)
    if trial.samples.sha256 is not None and hashlib.sha256(data).hexdigest() != trial.samples.sha256.lower():
        raise FileProblem(path, say("recording.checksum", file=path))
    body = data.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")
    if torn and not body.endswith(b"\n"):
        body = body[: body.rfind(b"\n") + 1]
    if not body:  # a trial that ended before its first sample
        raise FileProblem(path, say("recording.too-few-rows", file=path, rows=0))
    head, _, rows = body.partition(b"\n")
    channels, has_dt = _header(path, head, trial.rig)
    width = 3 + channels * (2 if has_dt else 1)
    table = _table(path, rows, width)
    if len(table) < 2:
        raise FileProblem(path, say("recording.too-few-rows", file=path, rows=len(table)))
    if trial.samples.rows is not None and trial.samples.rows != len(table):
        raise FileProblem(path, say("recording.rows", file=path, claimed=trial.samples.rows, rows=len(table)))
    _check_rows(path, table, channels)
    return SampleBlock(
        sequence=table[:, 0].copy(),
        board_us=table[:, 1].copy(),
        status=table[:, 2].copy(),
        counts=table[:, 3 : 3 + channels].copy(),
        dt_us=table[:, 3 + channels :].copy() if has_dt else None,
    )


def _header(path: Path, head: bytes, rig: Rig) -> tuple[int, bool]:
    names = head.decode("ascii", "replace").strip().split(",")
    channels = sum(bool(re.fullmatch(r"ch\d+", name)) for name in names)
    expected = [*FIXED, *(f"ch{i}" for i in range(channels))]
    with_dt = [*expected, *(f"dt{i}" for i in range(channels))]
    if channels == 0 or names not in (expected, with_dt):
        raise FileProblem(path, say("recording.header", file=path, expected=",".join(expected[:4]) + ",…"))
    if max(rig.channels) >= channels:
        raise FileProblem(
            path, say("recording.channels", file=path, channels=channels, needed=max(rig.channels) + 1)
        )
    return channels, names == with_dt


_INTEGER_BYTES = b"0123456789,-\n"


def _table(path: Path, rows: bytes, width: int) -> npt.NDArray[np.int64]:
    """(n, width) integers; the quick way where the bytes allow it, else the slow one, which names the line."""
    if not rows:
        return np.zeros((0, width), dtype=np.int64)
    if not rows.translate(None, _INTEGER_BYTES) and _even(rows, width):
        import pandas as pd

        try:
            frame = pd.read_csv(
                io.BytesIO(rows), header=None, dtype=np.int64, engine="c", skip_blank_lines=False
            )
        except (ValueError, OverflowError, pd.errors.ParserError):
            return _slow_table(path, rows, width)
        return frame.to_numpy()
    return _slow_table(path, rows, width)


def _even(rows: bytes, width: int) -> bool:
    """Every line holds the same number of commas."""
    marks = np.frombuffer(rows, dtype=np.uint8)
    marks = marks[(marks == 44) | (marks == 10)]
    if len(marks) % width == width - 1:
        marks = np.append(marks, 10)
    return len(marks) % width == 0 and bool((marks.reshape(-1, width)[:, -1] == 10).all())


def _slow_table(path: Path, rows: bytes, width: int) -> npt.NDArray[np.int64]:
    table = []
    for number, line in enumerate(rows.decode("utf-8", "replace").split("\n"), start=2):
        if line == "" and number > 2:
            continue
        cells = line.split(",")
        if len(cells) != width:
            raise FileProblem(
                path, say("recording.width", file=path, line=number, found=len(cells), expected=width)
            )
        try:
            if any(not re.fullmatch(r"-?\d{1,18}", cell) for cell in cells):
                raise ValueError
            table.append([int(cell) for cell in cells])
        except ValueError:
            raise FileProblem(
                path, say("recording.not-a-number", file=path, line=number, text=line[:60])
            ) from None
    return np.array(table, dtype=np.int64).reshape(-1, width)


def _check_rows(path: Path, table: npt.NDArray[np.int64], channels: int) -> None:
    def at(bad: Any, key: str, offset: int) -> None:
        if bad.any():
            raise FileProblem(path, say(key, file=path, line=int(np.argmax(bad)) + offset))

    at(np.diff(table[:, 0]) <= 0, "recording.sequence", 3)
    at(np.diff(table[:, 1]) < 0, "recording.clock-back", 3)
    at(table[:, 2] < 0, "recording.status", 2)
    counts = table[:, 3 : 3 + channels]
    at(((counts < COUNTS_MIN) | (counts > COUNTS_MAX)).any(axis=1), "recording.counts", 2)
    if table[-1, 0] - table[0, 0] > MAX_SPAN:
        line = int(np.argmax(np.diff(table[:, 0]))) + 3
        raise FileProblem(
            path, say("recording.span", file=path, line=line, span=int(table[-1, 0] - table[0, 0]))
        )
    if table[-1, 1] == table[0, 1]:
        raise FileProblem(path, say("recording.no-time", file=path))


def read_events(path: Path, *, torn: bool = False) -> list[Event]:
    """events.csv; [] where there is none."""
    if not path.exists():
        return []
    data = _bytes(path, MAX_EVENTS_BYTES)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileProblem(path, say("file.not-utf8", file=path, byte=error.start)) from None
    if torn and not text.endswith("\n"):
        text = text[: text.rfind("\n") + 1]
    if "\0" in text:
        raise FileProblem(
            path, say("recording.event", file=path, line=text[: text.index("\0")].count("\n") + 1)
        )
    events = []
    rows = csv.reader(io.StringIO(text, newline=""))
    try:
        for number, row in enumerate(rows, start=1):
            if number == 1:
                if row != EVENT_HEADER:
                    raise FileProblem(path, say("recording.event-header", file=path))
            elif row:
                if len(row) != 3 or not re.fullmatch(r"-?\d{1,18}", row[0]):
                    raise FileProblem(path, say("recording.event", file=path, line=rows.line_num))
                events.append(Event(int(row[0]), row[1], row[2]))
    except csv.Error:
        raise FileProblem(path, say("recording.event", file=path, line=rows.line_num)) from None
    return events
