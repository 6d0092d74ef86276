"""Hostile files and bytes: valid ones with anything done to them. A reader answers with what it read or with its sentence, in time and memory.

`python -m tests.faults.hostile 100000` is the long run: so many inputs for each reader, on all cores. `… 100000 500000 1`: from seed 500,000 on,
so that nothing is tried twice, in one process; names of readers behind it: only those.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import resource
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import numpy as np

from balance import demo
from balance.analysis import analyse_recording
from balance.calibrating.points import read_points
from balance.calibration import read_calibration
from balance.command_line.settings import read_settings
from balance.day.notes import read_notes
from balance.files import FileProblem
from balance.filters import ImpossibleCutoff
from balance.importing.mapping import read_mapping
from balance.importing.table import read_table
from balance.rig import read_rig
from balance.simulated_person import read_scenario
from balance.stance import read_stance
from drivers import wire
from tests.balance.day.a_day import AFTER

DATA = Path(__file__).parents[1] / "published" / "data"
ALLOWED = (FileProblem, ImpossibleCutoff)
LONGEST_S = 2.0
WORDS = (b"nan", b"inf", b"-1", b"0", b"1e999", b"1" * 400, b"null", b"true", b"[]", b"{}", b'""', b"9223372036854775808", b"\xff\xfe", b"\x00", b"\r", b"..", b"/",
         b"\xef\xbb\xbf", b"-0.0", b"1e-320", b"[[[[[[", "٣".encode(), b"2147483648", b"'", b'"', b"\n", b",", b"=", b"#")  # fmt: skip


def damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """One to five changes: bits, bytes, slices, numbers for others, words that break things."""
    out = bytearray(data)
    for _ in range(int(rng.integers(1, 6))):
        at, kind = int(rng.integers(len(out) + 1)), int(rng.integers(8))
        if kind == 0 and at < len(out):
            out[at] ^= 1 << int(rng.integers(8))
        elif kind == 1:
            del out[at : at + int(rng.integers(1, 40))]
        elif kind == 2:
            out[at:at] = rng.bytes(int(rng.integers(1, 8)))
        elif kind == 3:
            out[at:at] = out[at : at + int(rng.integers(1, 300))]
        elif kind == 4:
            out[at:at] = WORDS[int(rng.integers(len(WORDS)))]
        elif kind == 5:
            del out[at:]
        else:
            numbers = list(re.finditer(rb"-?\d[\d.eE+-]*|\"[^\"\n]{0,40}\"", bytes(out)))
            if numbers:
                hit = numbers[int(rng.integers(len(numbers)))]
                out[hit.start() : hit.end()] = WORDS[int(rng.integers(len(WORDS)))]
    return bytes(out[: 4 * len(data) + 4000])


def of_file(
    name: str, valid: bytes, read: Callable[[Path], object]
) -> Callable[[np.random.Generator, Path], None]:
    """A reader of one file."""

    def attempt(rng: np.random.Generator, scratch: Path) -> None:
        path = scratch / name
        path.write_bytes(damaged(valid, rng))
        with contextlib.suppress(*ALLOWED):
            read(path)

    return attempt


@cache
def whole_recording() -> dict[str, bytes]:
    """The files of a valid recording of some seconds, interrupted, so that no checksum stands in anybody's way."""
    trial = json.loads((AFTER / "trial.json").read_text())
    trial |= {"state": "interrupted", "samples": {"file": "samples.csv", "rows": None, "sha256": None}}
    lines = (AFTER / "samples.csv").read_bytes().splitlines(keepends=True)[:400]
    return {
        "trial.json": json.dumps(trial).encode(),
        "samples.csv": b"".join(lines),
        "events.csv": b"board_us,kind,detail\n100000,cue,shift left 50\n",
    }


def a_recording(rng: np.random.Generator, scratch: Path) -> None:
    """One of its three files is damaged."""
    folder, whole = scratch / "recording", whole_recording()
    folder.mkdir(exist_ok=True)
    which = ("trial.json", "samples.csv", "events.csv")[int(rng.integers(3))]
    for name, data in whole.items():
        (folder / name).write_bytes(damaged(data, rng) if name == which else data)
    with contextlib.suppress(*ALLOWED):
        json.dumps(analyse_recording(folder, basic=bool(rng.integers(4))), allow_nan=False)


def a_line(rng: np.random.Generator, scratch: Path) -> None:
    """The decoder takes anything, and keeps count of it."""
    good = b"".join(
        wire.encode(wire.Command(wire.PING, k, b"12345678")) for k in range(3)
    ) + wire.encode_samples(1, 2, 0, [0] * 6, [1] * 6, [7] * 6)
    data, decoder = damaged(good * int(rng.integers(1, 30)), rng), wire.Decoder()
    for at in range(0, len(data), 61):
        decoder.feed(data[at : at + 61])
    assert decoder.decoded + decoder.skipped + decoder.pending == len(data)
    assert decoder.pending <= wire.MAX_FRAME


def an_import(rng: np.random.Generator, scratch: Path) -> None:
    """A table under a good mapping."""
    mapping = read_mapping(DATA / "one_plate.toml")
    path = scratch / "table.txt"
    path.write_bytes(damaged(TABLE, rng))
    with contextlib.suppress(*ALLOWED):
        read_table(path, mapping)


TABLE = b"Time[s]\tFz[N]\tCOPx[cm]\tCOPy[cm]\n" + b"".join(
    f"{k / 100:.3f}\t{540 + k % 7}\t{-8 + k % 5 / 10}\t{1 + k % 3 / 10}\n".encode() for k in range(60)
)
POINTS = "channel,applied_n,counts,direction,run\n" + "".join(
    f"0,{10 * k},{1000 + 900 * k + k % 3},up,1\n" for k in range(8)
)
NOTES = {"schema": 1, "adjustments": [{"when": "2026-03-02T10:00:00+01:00", "what": "shoe", "from": 1, "to": 2, "unit": "mm"}], "crutch_limit_pct": 20.0,
         "set_aside": [{"recording": "01-x", "reason": "a hand"}], "placings": [{"number": 1, "how": "by eye"}]}  # fmt: skip

# name → what the file is called, a valid one, and its reader
FILES: dict[str, tuple[str, bytes, Callable[[Path], object]]] = {
    "rig": ("rig.toml", demo.path("rig.toml").read_bytes(), read_rig),
    "stance": ("stance.toml", demo.path("stance.toml").read_bytes(), read_stance),
    "calibration": ("calibration.json", demo.path("calibration.json").read_bytes(), read_calibration),
    "scenario": ("scenario.toml", demo.path("session.toml").read_bytes(), read_scenario),
    "mapping": ("mapping.toml", (DATA / "two_plates.toml").read_bytes(), read_mapping),
    "session.json": ("session.json", json.dumps(NOTES).encode(), lambda path: read_notes(path.parent)),
    "settings": (
        "bandstand.toml",
        b'rig = "a"\nconditions = ["eyes"]\nrepeats = 3\n',
        lambda path: read_settings(path.parent),
    ),
    "points": ("points.csv", POINTS.encode(), read_points),
}
READERS: dict[str, Callable[[np.random.Generator, Path], None]] = {
    **{name: of_file(*file) for name, file in FILES.items()},
    "import table": an_import,
    "recording": a_recording,
    "wire": a_line,
}


def attempts(name: str, times: int, seed: int = 0) -> Iterator[tuple[int, str]]:
    """Runs a reader; gives (seed, what was wrong) for each input that it did not take as it should."""
    analyse_recording(AFTER)  # loads what is loaded when first needed: that is not a reader's time
    with tempfile.TemporaryDirectory() as scratch, warnings.catch_warnings():
        warnings.simplefilter("error")
        for k in range(seed, seed + times):
            start = time.perf_counter()
            try:
                READERS[name](np.random.default_rng([k, len(name)]), Path(scratch))
            except Exception as error:
                yield k, f"{type(error).__name__}: {error}"
            took_s = time.perf_counter() - start
            if took_s > LONGEST_S:
                yield k, f"took {took_s:.1f} s"


def _some(name: str, times: int, seed: int) -> tuple[list[tuple[int, str]], float]:
    """With the most memory that this worker ever had, MB."""
    return list(attempts(name, times, seed)), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    from joblib import Parallel, delayed

    given = [int(word) for word in sys.argv[1:4]]
    times, first, processes = [*given, *(100_000, 0, os.cpu_count() or 1)[len(given) :]]
    lump = 500
    for name in sys.argv[4:] or READERS:
        start = time.perf_counter()
        lumps = Parallel(n_jobs=processes)(
            delayed(_some)(name, min(lump, times - k), first + k) for k in range(0, times, lump)
        )
        wrong, mb = [one for some, _ in lumps for one in some], max(mb for _, mb in lumps)
        print(
            f"{name}: {times} inputs from seed {first}, {len(wrong)} wrong, {time.perf_counter() - start:.0f} s, at most {mb:.0f} MB",
            *wrong[:5],
            sep="\n  ",
            flush=True,
        )


if __name__ == "__main__":
    main()
