"""What the live chain hands on: numbers of every sample, and a full picture about ten times a second."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# The names of the six lines: foot points, the feet's point, the body line, and the body line seen on each shoe.
LINES = ("left", "right", "feet", "body", "body_on_left", "body_on_right")
POINTS = ("left", "right", "feet", "body")  # those that are a place on the floor
PARTS = ("left", "right", "left_crutch", "right_crutch")
Verdict = Literal["inside", "outside", "undecided"]
StandsOn = Literal["feet", "feet and crutches", "undecided"]


@dataclass(frozen=True, slots=True)
class LinePlace:
    """Where one line falls on its usable length. Distances from the heel edge; uncertainty is standard."""

    position_pct: float
    mean_mm: float
    uncertainty_mm: float
    offset_mm: float  # 0 in the band, negative behind, positive ahead
    probability_inside: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything that a screen shows, at one sample. What is absent is None or missing in its dict.

    load_n        newtons on 'left', 'right' (feet), 'left_crutch', 'right_crutch' (the hands' part)
    point_mm      (AP, ML) of 'left', 'right', 'feet', 'body' in the floor frame
    lines         of LINES, those that are valid
    support_mm    corners of the feet's support (k, 2), anticlockwise, AP and ML
    tips_mm       (AP, ML) of each crutch tip whose place is known, by 'left_crutch', 'right_crutch'
    absent        name → catalogue key of the reason, for lines and values that are not there
    """

    sequence: int
    board_us: int
    delay_ms: float
    load_n: dict[str, float]
    total_n: float
    total_n_u: float
    body_weight_n: float | None
    left_pct: float | None  # of both feet's load
    right_pct: float | None
    crutch_pct: float | None
    crutch_from: Literal["cells", "weight"] | None
    unmeasured_n: float | None
    unmeasured_n_u: float | None
    unmeasured_beyond_limit: bool
    point_mm: dict[str, tuple[float, float]]
    point_u_mm: dict[str, tuple[float, float]]
    lines: dict[str, LinePlace]
    support_mm: Array
    tips_mm: dict[str, tuple[float, float]]
    body_margin_mm: float | None
    probability_on_feet: float | None
    stands_on: StandsOn | None
    ankle_nm: dict[str, float]
    beyond_calibration: tuple[int, ...] = ()  # channels
    absent: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlayedMark:
    """An event of a replayed recording, seconds after its first row."""

    at_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Played:
    """Where a replay stands, seconds; how fast it goes; the recording's events."""

    position_s: float
    duration_s: float
    paused: bool
    speed: float = 1.0
    marks: tuple[PlayedMark, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """The live chain's answer to one block; arrays over the n samples that could be used.

    load_n        part → (n,) newtons, filtered; crutches: the hands' part
    point_mm      'left', 'right', 'feet', 'body' → (n, 2) AP, ML; NaN where not valid
    position_pct  of LINES → (n,); NaN where not valid
    left_out      samples of the block that could not be used: a fault bit, a converter at its end, beyond capacity
    """

    sequence: npt.NDArray[np.int64]
    board_us: npt.NDArray[np.int64]
    load_n: dict[str, Array]
    point_mm: dict[str, Array]
    position_pct: dict[str, Array]
    left_out: int
    snapshots: tuple[Snapshot, ...]


def without_parts(snapshot: Snapshot | None, parts: frozenset[str]) -> Snapshot | None:
    """The same picture without what comes from ``parts`` (of PARTS): their loads and points, and every sum that they enter."""
    if snapshot is None or not parts:
        return snapshot
    feet = bool(parts & {"left", "right"})
    gone = parts | {"body"} | ({"feet"} if feet else set())
    lines = {k: v for k, v in snapshot.lines.items() if k not in gone and not k.startswith("body_on")}
    return replace(
        snapshot, lines=lines, body_margin_mm=None, probability_on_feet=None, stands_on=None, crutch_pct=None,
        unmeasured_n=None, unmeasured_n_u=None, unmeasured_beyond_limit=False,
        load_n={k: v for k, v in snapshot.load_n.items() if k not in parts},
        point_mm={k: v for k, v in snapshot.point_mm.items() if k not in gone},
        ankle_nm={k: v for k, v in snapshot.ankle_nm.items() if k not in parts},
        left_pct=None if feet else snapshot.left_pct, right_pct=None if feet else snapshot.right_pct,
    )  # fmt: skip


def without_places(snapshot: Snapshot | None) -> Snapshot | None:
    """The same picture without what needs to know where feet and tips stand: loads and shares stay."""
    if snapshot is None:
        return None
    return replace(
        snapshot, lines={}, tips_mm={}, body_margin_mm=None, probability_on_feet=None, stands_on=None, ankle_nm={},
        point_mm={k: v for k, v in snapshot.point_mm.items() if k != "body"},
    )  # fmt: skip
