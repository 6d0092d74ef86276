"""Done steps on the disk: a job that was broken off goes on from there."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from balance.files import FileProblem, read_text
from balance.guiding.guide import PARTS, Step, Taken
from balance.recording.writing import write_private
from balance.words import say

MOST_BYTES = 10_000_000


def keep(path: Path, day: str, steps: Sequence[Step], taken: Sequence[Taken]) -> None:
    """Writes the steps that are done, whole or not at all."""
    done = [{"key": t.key, "parts": t.parts.tolist(), "seconds_on": t.seconds_on} for t in taken]
    write_private(path, json.dumps({"day": day, "steps": [s.key for s in steps], "taken": done}) + "\n")


def kept(path: Path, day: str, steps: Sequence[Step]) -> list[Taken]:
    """The done steps of the same job on the same day; [] where there is no file. Raises FileProblem for another job's.

    Steps since the last anchor, and that one, are left out: who knows which plugs were pulled meanwhile.
    """
    if not path.exists():
        return []
    other = FileProblem(path, say("guide.other-job", file=path))
    try:
        data = json.loads(read_text(path, MOST_BYTES))
        taken = [Taken(t["key"], np.array(t["parts"], dtype=np.float64), float(t["seconds_on"])) for t in data["taken"]]  # fmt: skip
        same = data["day"] == day and data["steps"] == [s.key for s in steps]
    except (ValueError, KeyError, TypeError):
        raise other from None
    in_order = all(t.key == s.key for t, s in zip(taken, steps, strict=False)) and len(taken) <= len(steps)
    whole = all(t.parts.ndim == 2 and len(t.parts) == PARTS and np.isfinite(t.parts).all() for t in taken)
    if not (same and in_order and whole):
        raise other
    anchors = [i for i in range(len(taken)) if steps[i].anchors]
    return taken[: anchors[-1]] if anchors else taken
