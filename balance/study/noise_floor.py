"""What the rig alone makes of each measure: a dead weight's trial as the floor that a person's values are held against."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from balance.measures.noise_bias import Noise
from balance.words import say

AT_FLOOR = 2.0  # times the floor: below it a value is the rig's as much as the person's; tool default
GROWS = (
    "_mm",
    "_mm_s",
    "_mm2",
    "_mm2_s",
)  # units of what noise adds to; frequencies, exponents and times it only distorts


@dataclass(frozen=True)
class Floor:
    """A noise-floor recording, under one filter and spectrum. sizes: each sway value by its path; noise: its points."""

    sizes: dict[str, float]
    noise: Noise


class NoFloor(Exception):
    """The recording is of another protocol; the message names it."""


def read_floor(folder: Path, cutoff_hz: float | None, spectrum: Literal["multitaper", "welch"]) -> Floor:
    """Raises FileProblem; NoFloor where it is no noise-floor trial or holds no stretch of one."""
    from balance.analysis import findings
    from balance.exporting.signals import signals_of
    from balance.recording import read_recording

    recording = read_recording(folder)
    if recording.trial.protocol != "noise floor":
        raise NoFloor(recording.trial.protocol)
    found = findings(recording, cutoff_hz=cutoff_hz, spectrum=spectrum)
    signals = signals_of(recording, found["time"]["cutoff_hz"])
    start, end = max(signals.stretches, key=lambda one: one[1] - one[0])
    points = signals.point_mm["feet"][start:end].T
    known = np.isfinite(points).all(axis=0)
    if not known.any():
        raise NoFloor(recording.trial.protocol)
    points = points[:, known]
    load_n = float((signals.load_n["left"] + signals.load_n["right"])[start:end].mean())
    return Floor(_sizes(found), Noise(points - points.mean(axis=1, keepdims=True), signals.rate_hz, load_n))


def _sizes(found: dict[str, Any]) -> dict[str, float]:
    """The sizes in the sway of a noise-floor trial's findings, by their paths."""
    return {
        f"sway.{axis}.{key}": value
        for axis, block in found["sway"].items()
        for key, value in block.items()
        if value is not None and key.endswith(GROWS) and "critical" not in key
    }


def mark_at_floor(found: dict[str, Any], floor: dict[str, float]) -> dict[str, Any]:
    """The findings with a quality entry that names the values at the floor; without a floor as they are."""
    low = []
    for path, least in floor.items():
        _, axis, key = path.split(".")
        value = found["sway"][axis].get(key)
        if value is not None and value < AT_FLOOR * least:
            low.append(path)
    if low and found["protocol"] != "noise floor":
        entry = {
            "level": "warning",
            "code": "below-floor",
            "text": say("quality.below-floor", times=AT_FLOOR),
            "keys": low,
        }
        found["quality"] = [*found["quality"], entry]
    return found
