"""``python -m tests.faults 200``: the campaign at length, on all cores; prints the table of DEVELOPERS.md."""

from __future__ import annotations

import collections
import os
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from joblib import Parallel, delayed

from tests.faults import disk
from tests.faults import stream as s


def one_stream(name: str, seed: int) -> s.Outcome:
    """One run of a fault of board or line."""
    fault = next(f for n, f, _ in s.stream_items() if n == name)
    return s.in_a_new_folder(fault(s.clean(), np.random.default_rng([seed, len(name)])))


def one_full_disk(seed: int) -> tuple[str, int]:
    """One run of a disk that is full at a random byte."""
    with tempfile.TemporaryDirectory() as scratch, pytest.MonkeyPatch.context() as patch:
        return disk.on_a_full_disk(
            Path(scratch) / "r", int(np.random.default_rng(seed).integers(200, 40_000)), patch
        )


def cuts(step: int) -> int:
    """Power loss at every byte of the last block; how many."""
    with tempfile.TemporaryDirectory() as scratch:
        source, before = disk.running_recording(Path(scratch) / "source")
        size = (source / "samples.csv").stat().st_size
        places = list(range(before, size + 1, step))
        for at in places:
            disk.cut_at(source, Path(scratch) / "cut", at)
        return len(places)


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(
        "| fault | times | what is said (most often) | rows lost, median and most of 796 | wrong rows | wrong live totals |"
    )
    print("|---|---|---|---|---|---|", flush=True)
    with Parallel(n_jobs=os.cpu_count()) as parallel:
        for name, _, _ in s.stream_items():
            outcomes = parallel(delayed(one_stream)(name, seed) for seed in range(times))
            said = collections.Counter(_plain(words) for o in outcomes for words in o.said)
            most = said.most_common(1)[0][0] if said else "nothing: nothing is lost"
            lost = [o.lost for o in outcomes]
            print(
                f"| {name} | {times} | {most} | {np.median(lost):.0f}, {max(lost)} | {sum(o.wrong for o in outcomes)} | {sum(o.implausible for o in outcomes)} |",
                flush=True,
            )
        full = parallel(delayed(one_full_disk)(seed) for seed in range(times))
        print(
            f"| the disk is full at any byte | {times} | {_plain(full[0][0])} | all that came after; what was written is repaired | 0 | – |"
        )
    print(
        f"| power lost at every byte of the last block | {cuts(1)} | after `repair`: a valid recording; a second repair changes nothing | the row that was cut | 0 | – |"
    )


def _plain(words: str) -> str:
    """Without figures and folders, so that like sentences count together."""
    import re

    return re.sub(r"\d[\d.,]*", "n", re.sub(r"/\S+", "FOLDER", words))


if __name__ == "__main__":
    main()
