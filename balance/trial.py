"""What a recording says of itself (trial.json): whom, how, on which rig, with which stance and calibration."""

from __future__ import annotations

from typing import Any, Literal, get_args

from pydantic import ConfigDict, Field

from balance.calibration import Calibration
from balance.files import Described
from balance.rig import Rig, Side
from balance.stance import Stance

PROTOCOLS = ("quiet standing", "weight shift", "crutch load", "lean", "noise floor", "free")
State = Literal["recording", "complete", "interrupted"]
Touched = Literal["none", "steadied", "held", "unknown"]
PostureKind = Literal["own", "knees flexed", "hips flexed", "other"]
POSTURES: tuple[PostureKind, ...] = get_args(PostureKind)


class Open(Described):
    """A part of trial.json: more keys than ours may stand in it and are kept."""

    model_config = ConfigDict(
        extra="allow", strict=True, allow_inf_nan=False, frozen=True, populate_by_name=True
    )


class Subject(Open):
    code: str | None = None
    body_weight_n: float | None = Field(default=None, gt=0)
    body_weight_from: Literal["entered", "measured"] | None = None
    body_weight_uncertainty_n: float | None = Field(default=None, ge=0)
    height_m: float | None = Field(default=None, gt=0)


class Orthosis(Open):
    side: Literal["none", "left", "right", "both"] | None = None
    note: str | None = None


class Posture(Open):
    kind: PostureKind | None = None
    note: str | None = None
    left_shank_deg: float | None = None
    right_shank_deg: float | None = None
    knee_offset_mm: float | None = None
    hip_offset_mm: float | None = None

    def shank_deg(self, side: Side) -> float | None:
        return self.left_shank_deg if side == "left" else self.right_shank_deg


class SamplesFile(Open):
    file: str = "samples.csv"
    rows: int | None = Field(default=None, ge=0)
    sha256: str | None = None


class Trial(Open):
    """trial.json; optional values may be null or absent alike."""

    schema_: Literal[1] = Field(alias="schema")
    software: str | None = None
    state: State
    protocol: str
    protocol_settings: dict[str, Any] | None = None
    started: str | None = None
    subject: Subject | None = None
    orthosis: Orthosis | None = None
    adjustments: list[dict[str, Any]] | None = None
    placing: int | None = None
    posture: Posture | None = None
    touched: Touched | None = None
    person_says: dict[str, Any] | None = None
    conditions: dict[str, Any] | None = None
    rig: Rig
    stance: Stance
    calibration: Calibration
    board: dict[str, Any] | None = None
    rate_hz: float | None = Field(default=None, gt=0, le=100_000)
    zero_after_counts: list[float | None] | None = None
    imported: dict[str, Any] | None = None  # of another laboratory's table: which, and what it could not tell
    samples: SamplesFile = SamplesFile()
    notes: Any = None

    @property
    def body_weight_n(self) -> float | None:
        return self.subject.body_weight_n if self.subject else None

    @property
    def body_weight_u_n(self) -> float:
        """Standard uncertainty of the body weight; defaults 3 N measured, 10 N entered (tool default)."""
        subject = self.subject
        if subject is None or subject.body_weight_uncertainty_n is None:
            return 3.0 if subject is not None and subject.body_weight_from == "measured" else 10.0
        return subject.body_weight_uncertainty_n

    @property
    def is_touched(self) -> bool:
        """A helper steadied or held the person."""
        return self.touched in ("steadied", "held")
