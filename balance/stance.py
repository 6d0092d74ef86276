"""The stance: shoes and placing together, where the feet and crutch tips are this time (stance.toml)."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from balance.files import Described, read_toml
from balance.rig import SIDES, Side
from balance.words import say

BAND = (0.5, 2 / 3)  # target band as fractions of the usable length; common practice, always editable


class ShoeFoot(Described):
    """What stays with one shoe or orthosis between visits; lengths in mm, distances from the heel edge along the foot's axis."""

    usable_length_mm: float = Field(gt=0, le=1000)
    heel_width_mm: float = Field(gt=0, le=1000)
    forefoot_width_mm: float = Field(gt=0, le=1000)
    length_uncertainty_mm: float = Field(default=2.0, ge=0, le=1000)
    ankle_mm: float | None = None
    knee_mm: float | None = None
    knee_height_mm: float | None = None
    joint_uncertainty_mm: float = Field(default=5.0, ge=0, le=1000)
    bench_line_mm: float | None = None
    heel_lift_mm: float | None = None
    resisting_moment_nm: float | None = Field(default=None, gt=0)
    resisting_at_shank_deg: float | None = None


class Foot(ShoeFoot):
    """One foot's usable support and placing: the shoe, and where it stands this time."""

    heel_edge_ap_mm: float = Field(ge=-10_000, le=10_000)
    heel_edge_ml_mm: float = Field(ge=-10_000, le=10_000)
    toe_out_deg: float = Field(default=0.0, gt=-90, lt=90)
    toe_out_uncertainty_deg: float = Field(default=2.0, ge=0, le=90)
    placement_uncertainty_mm: float = Field(default=2.0, ge=0, le=1000)


class Crutch(Described):
    """One crutch: its tip's place, its tilt from the vertical, what its cell reads with nobody leaning on it."""

    tip_ap_mm: float | None = Field(default=None, ge=-10_000, le=10_000)
    tip_ml_mm: float | None = Field(default=None, ge=-10_000, le=10_000)
    tip_uncertainty_mm: float = Field(default=15.0, ge=0, le=10_000)
    tilt_deg: float = Field(default=0.0, gt=-80, lt=80)
    tilt_uncertainty_deg: float = Field(default=3.0, ge=0, le=80)
    tilt_ap_deg: float | None = Field(default=None, gt=-80, lt=80)
    own_weight_n: float = Field(default=0.0, ge=-1000, le=1000)
    tip_height_mm: float = Field(default=0.0, ge=-1000, le=1000)

    @model_validator(mode="after")
    def _placed(self) -> Crutch:
        if (self.tip_ap_mm is None) != (self.tip_ml_mm is None):
            raise ValueError(say("stance.half-a-tip"))
        return self


class OtherSupport(Described):
    """A bar or walker without cells, held with the hands."""

    name: str
    ap_mm: float = Field(ge=-10_000, le=10_000)
    ml_mm: float = Field(ge=-10_000, le=10_000)
    uncertainty_mm: float = Field(default=20.0, ge=0, le=10_000)


class Stance(Described):
    """What a recording carries of shoes, placing, crutches and other support."""

    schema_: Literal[1] = Field(alias="schema")
    band: tuple[float, float] = Field(default=BAND, strict=False)
    crutches: Literal["none", "left", "right", "two"] = "none"
    left_foot: Foot
    right_foot: Foot
    left_crutch: Crutch | None = None
    right_crutch: Crutch | None = None
    other_support: OtherSupport | None = None

    @model_validator(mode="after")
    def _band(self) -> Stance:
        if not 0 <= self.band[0] < self.band[1] <= 1:
            raise ValueError(say("stance.band"))
        return self

    def foot(self, side: Side) -> Foot:
        return self.left_foot if side == "left" else self.right_foot

    def crutch(self, side: Side) -> Crutch | None:
        return self.left_crutch if side == "left" else self.right_crutch

    def uses_crutch(self, side: Side) -> bool:
        return self.crutches in (side, "two")

    @property
    def crutches_in_use(self) -> list[Side]:
        return [side for side in SIDES if self.uses_crutch(side)]


def read_stance(path: Path) -> Stance:
    """stance.toml. Raises FileProblem."""
    return read_toml(path, Stance)
