"""Writes a recording as it happens, by a thread of its own, from a bounded lossless queue."""

from __future__ import annotations

import contextlib
import csv
import datetime
import hashlib
import io
import json
import os
import queue
import re
import threading
import time
from pathlib import Path
from typing import Any

from balance.files import FileProblem, as_data
from balance.recording.reading import EVENT_HEADER
from balance.trial import Trial
from balance.words import say
from drivers.samples import SampleBlock

QUEUE_BLOCKS = (
    20_000  # minutes of blocks even at one sample a block: a disk this late is a fault, not a delay
)
FSYNC_S = 0.8  # rows are safe on the disk at least once a second


def next_folder(out: Path, subject: str, day: str, protocol: str) -> Path:
    """OUT/SUBJECT/YYYY-MM-DD/NN-protocol, NN one more than the highest there. Raises FileProblem for a bad code."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", subject):
        raise FileProblem(out, say("recording.subject-code", code=subject[:60]))
    folder = out / subject / day
    taken = [
        int(m[1]) for p in (folder.iterdir() if folder.is_dir() else []) if (m := re.match(r"(\d+)-", p.name))
    ]
    return folder / f"{max(taken, default=0) + 1:02d}-{protocol.replace(' ', '-')}"


def write_private(path: Path, text: str) -> None:
    """Writes a file that only its owner reads, on the disk before it takes its name."""
    temporary = path.with_name(path.name + ".new")
    with os.fdopen(
        os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8"
    ) as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    temporary.replace(path)


def trial_text(data: dict[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def amend(folder: Path, **entries: Any) -> None:
    """Adds or corrects entries of a closed recording's trial.json; its samples stay as they are, and so does, under
    'corrected', what a corrected entry said before. Raises OSError."""
    path = folder / "trial.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    when = datetime.datetime.now().astimezone().isoformat(timespec="seconds")
    log = [
        {"when": when, "entry": name, "was": data[name]}
        for name, value in entries.items()
        if data.get(name) is not None and not _only_adds(data[name], value)
    ]
    if log:
        entries["corrected"] = [*(data.get("corrected") or []), *log]
    write_private(path, trial_text({**data, **entries}))


def _only_adds(was: Any, now: Any) -> bool:
    if isinstance(was, dict) and isinstance(now, dict):
        return all(value is None or now.get(key) == value for key, value in was.items())
    return bool(was == now)


class Recorder:
    """One recording being written. ``put`` and ``event`` may be called from one thread and never wait.

    problem: the sentence of what went wrong (a full disk, a vanished folder, an overflow); what was recorded stays.
    """

    def __init__(self, folder: Path, trial: Trial, *, queue_blocks: int = QUEUE_BLOCKS) -> None:
        self.folder = folder
        self.problem: str | None = None
        self._data = {
            **as_data(trial),
            "state": "recording",
            "samples": {"file": "samples.csv", "rows": None, "sha256": None},
        }
        try:
            folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            folder.mkdir(mode=0o700)
            write_private(folder / "trial.json", trial_text(self._data))
            self._samples = self._create("samples.csv")
            self._events = self._create("events.csv")
            self._events.write((",".join(EVENT_HEADER) + "\n").encode())
        except FileExistsError:
            raise FileProblem(folder, say("recording.exists", folder=folder)) from None
        except OSError as error:
            raise FileProblem(
                folder, say("recording.cannot-create", folder=folder, reason=error.strerror)
            ) from None
        self._queue: queue.Queue[SampleBlock | tuple[int, str, str] | None] = queue.Queue(queue_blocks)
        self._sum = hashlib.sha256()
        self._rows = 0
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._thread.start()

    def _create(self, name: str) -> io.FileIO:
        return io.FileIO(os.open(self.folder / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w")

    def put(self, block: SampleBlock) -> None:
        """Queues a block; an overflow spoils the trial loudly instead of losing rows in silence."""
        self._offer(block)

    def event(self, board_us: int, kind: str, detail: str) -> None:
        """Queues a line of events.csv."""
        self._offer((board_us, kind, detail))

    def _offer(self, item: SampleBlock | tuple[int, str, str]) -> None:
        try:
            self._queue.put_nowait(item)
        except queue.Full:
            self.problem = self.problem or say("recording.overflow", folder=self.folder)

    def close(self, clock: dict[str, float] | None = None) -> Path:
        """Writes what is queued, the counts and the checksum, and closes as complete (interrupted after a problem).

        clock: how the board's clock ran against the host's, noted beside what the board said of itself.
        """
        if self._thread.is_alive():
            self._queue.put(None)
            self._thread.join()
        for file in (self._samples, self._events):
            with contextlib.suppress(OSError):
                file.close()
        self._data["state"] = "complete" if self.problem is None else "interrupted"
        self._data["samples"] = {"file": "samples.csv", "rows": self._rows, "sha256": self._sum.hexdigest()}
        if self.problem is not None:  # what reached the disk is for `repair` to say
            self._data["samples"] = {"file": "samples.csv", "rows": None, "sha256": None}
        if clock is not None:
            self._data["board"] = {**(self._data.get("board") or {}), **clock}
        try:
            write_private(self.folder / "trial.json", trial_text(self._data))
        except OSError as error:
            self.problem = self.problem or say("recording.write", folder=self.folder, reason=error.strerror)
        return self.folder

    def _run(self) -> None:
        synced = time.monotonic()
        dirty = False
        while True:
            try:
                item = self._queue.get(timeout=FSYNC_S)
            except queue.Empty:
                item = ()  # type: ignore[assignment]  # nothing came: only the disk is brought up to date
            try:
                if item is None:
                    self._sync()
                    return
                if isinstance(item, SampleBlock):
                    self._write(item)
                    dirty = True
                elif item:
                    self._write_event(*item)
                    dirty = True
                if dirty and time.monotonic() - synced >= FSYNC_S:
                    self._sync()
                    synced, dirty = time.monotonic(), False
            except OSError as error:
                self.problem = self.problem or say(
                    "recording.write", folder=self.folder, reason=error.strerror
                )
                if item is None:
                    return

    def _write(self, block: SampleBlock) -> None:
        if self.problem is not None or len(block) == 0:
            return  # nothing after a hole: what is on the disk stays one piece
        text = ""
        if self._rows == 0:
            m = block.counts.shape[1]
            names = ["sequence", "board_us", "status", *(f"ch{i}" for i in range(m))]
            names += [f"dt{i}" for i in range(m)] if block.dt_us is not None else []
            text = ",".join(names) + "\n"
        dt = [[]] * len(block) if block.dt_us is None else block.dt_us.tolist()
        rows = zip(
            block.sequence.tolist(),
            block.board_us.tolist(),
            block.status.tolist(),
            block.counts.tolist(),
            dt,
            strict=True,
        )
        text += "".join(f"{s},{t},{f},{','.join(map(str, c + d))}\n" for s, t, f, c, d in rows)
        data = text.encode()
        written = 0
        while written < len(data):
            written += self._samples.write(data[written:]) or 0
        self._sum.update(data)
        self._rows += len(block)

    def _write_event(self, board_us: int, kind: str, detail: str) -> None:
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow([board_us, kind, " ".join(detail.split())])
        self._events.write(line.getvalue().encode())

    def _sync(self) -> None:
        os.fsync(self._samples.fileno())
        os.fsync(self._events.fileno())
        if not self.folder.is_dir():
            raise FileNotFoundError(2, "the folder has vanished")
