"""A scenario: who stands how, and what they do (TOML)."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from balance.files import Described, read_toml
from balance.rig import Side
from balance.words import say

MAX_SECONDS = 7200.0


class Move(Described):
    """Something the person does: in ``ramp_s`` to other values, held for ``hold_s``, and back. Absent: unchanged."""

    start_s: float = Field(ge=0)
    ramp_s: float = Field(default=1.0, gt=0)
    hold_s: float = Field(default=4.0, ge=0)
    line_pct: float | None = Field(default=None, ge=-50, le=150)
    left_share_pct: float | None = Field(default=None, ge=0, le=100)
    left_crutch_pct: float | None = Field(default=None, ge=0, le=60)
    right_crutch_pct: float | None = Field(default=None, ge=0, le=60)

    @property
    def end_s(self) -> float:
        return self.start_s + 2 * self.ramp_s + self.hold_s


class Shift(Move):
    """A move of load to a side, which the truth lists as a shift."""

    side: Side
    share_pct: float = Field(ge=50, le=100)


class Unplugged(Described):
    """A time at which the board's plug is out."""

    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)


class Seated(Described):
    """The person sits on the chair behind, feet on the plates, between stand-ups."""

    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)


class Faults(Described):
    """What electronics and line do to the readings; absent: the simulated board's defaults."""

    dead_channel: int | None = Field(default=None, ge=0, lt=14)
    stuck_channel: int | None = Field(default=None, ge=0, lt=14)
    lost_bytes: float = Field(default=0.0, ge=0, le=0.5)
    corrupted_bytes: float = Field(default=0.0, ge=0, le=0.5)
    unplugged: list[Unplugged] = Field(default_factory=list)
    noise_n: float | None = Field(default=None, ge=0, le=100)
    creep_pct: float | None = Field(default=None, ge=0, le=10)
    hysteresis_pct_of_capacity: float | None = Field(default=None, ge=0, le=10)
    drift_n_in_10_min: float | None = Field(default=None, ge=0, le=1000)


class Load(Described):
    """A mass that stands on one cell alone (``channel``, its plate off), or on a plate at a place; also a hand that presses."""

    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)
    mass_kg: float = Field(gt=0, le=500)
    channel: int | None = Field(default=None, ge=0, lt=14)
    ap_mm: float | None = None
    ml_mm: float | None = None

    @model_validator(mode="after")
    def _somewhere(self) -> Load:
        if (self.channel is None) == (self.ap_mm is None or self.ml_mm is None):
            raise ValueError(say("scenario.load-place"))
        return self


class Gain(Described):
    """A cell that shows so many times its load."""

    channel: int = Field(ge=0, lt=14)
    factor: float


class Drifting(Described):
    """A cell whose zero wanders."""

    channel: int = Field(ge=0, lt=14)
    n_in_10_min: float


class Hidden(Described):
    """What is wrong with the rig, unknown to its files."""

    gain: list[Gain] = Field(default_factory=list)
    swapped: list[int] | None = Field(
        default=None, min_length=2, max_length=2
    )  # channels whose plugs are exchanged
    drifting: list[Drifting] = Field(default_factory=list)


class Scenario(Described):
    """line_pct: where the feet's point stands on the usable lengths, 0 heel edges, 100 rocker lines.

    arrives_s, leaves_s: when the person steps up and is gone; without them they stand the whole time.
    """

    schema_: Literal[1] = Field(alias="schema")
    subject: str = "R7T"
    protocol: Literal["quiet standing", "weight shift", "crutch load", "lean", "noise floor", "free"] = (
        "quiet standing"
    )
    mass_kg: float = Field(gt=5, le=300)
    height_m: float = Field(default=1.7, gt=0.5, le=2.5)
    seconds: float = Field(default=20.0, gt=0, le=MAX_SECONDS)
    posture: Literal["own", "knees flexed", "hips flexed", "other"] = "own"
    orthosis_side: Literal["none", "left", "right", "both"] = "both"
    placing: int = 1
    line_pct: float = Field(default=55.0, ge=-20, le=120)
    left_share_pct: float = Field(default=50.0, gt=0, lt=100)
    left_crutch_pct: float = Field(default=0.0, ge=0, le=60)
    right_crutch_pct: float = Field(default=0.0, ge=0, le=60)
    sway_ap_mm: float = Field(default=4.0, ge=0, le=50)
    sway_ml_mm: float = Field(default=3.0, ge=0, le=50)
    sway_time_s: float = Field(default=0.8, gt=0.05, le=20)
    tips_ahead_mm: float | None = Field(
        default=None, ge=-500, le=1500
    )  # of both tips, AP, instead of the stance's
    arrives_s: float | None = Field(default=None, ge=0)
    leaves_s: float | None = Field(default=None, ge=0)
    seated: list[Seated] = Field(default_factory=list)
    faults: Faults = Faults()
    hidden: Hidden = Hidden()
    loads: list[Load] = Field(default_factory=list, alias="load")
    shifts: list[Shift] = Field(default_factory=list, alias="shift")
    moves: list[Move] = Field(default_factory=list, alias="move")


def read_scenario(path: Path) -> Scenario:
    """A scenario file. Raises FileProblem."""
    return read_toml(path, Scenario)
