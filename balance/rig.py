"""The rig: which load cell sits where, its capacity, which board channel it is on (rig.toml)."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from balance.files import Described, read_toml
from balance.words import say

Part = Literal["left heel", "left forefoot", "right heel", "right forefoot", "left crutch", "right crutch"]
Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")
MAX_CHANNELS = 27  # what a status word has room for; one message of the wire format carries up to 14


class Cell(Described):
    """One load cell. ``ap_mm`` and ``ml_mm`` are its place in the floor frame, AP forward, ML to the right;
    a cell in a crutch's shaft or tip has none: the stance says where the tip is."""

    channel: int = Field(ge=0, lt=MAX_CHANNELS)
    under: Part
    ap_mm: float | None = Field(default=None, ge=-10_000, le=10_000)
    ml_mm: float | None = Field(default=None, ge=-10_000, le=10_000)
    capacity_n: float = Field(gt=0, le=1e6)
    position_uncertainty_mm: float = Field(default=1.0, ge=0, le=1000)
    pad_length_mm: float = Field(default=0.0, ge=0, le=1000)  # 0: a common plate
    pad_width_mm: float = Field(default=0.0, ge=0, le=1000)

    @model_validator(mode="after")
    def _placed(self) -> Cell:
        if (self.ap_mm is None) != (self.ml_mm is None):
            raise ValueError(say("rig.half-a-place", channel=self.channel))
        if not self.is_crutch and self.ap_mm is None:
            raise ValueError(say("rig.foot-cell-without-place", channel=self.channel, under=self.under))
        return self

    @property
    def side(self) -> Side:
        return "left" if self.under.startswith("left") else "right"

    @property
    def is_crutch(self) -> bool:
        return self.under.endswith("crutch")


class Rig(Described):
    """A sensing floor: cells under two feet and, where there are any, under the crutches."""

    schema_: Literal[1] = Field(alias="schema")
    name: str = Field(min_length=1, max_length=200)
    minimum_foot_load_n: float | None = Field(default=None, gt=0, le=10_000)
    max_person_kg: float | None = Field(default=None, gt=0, le=1000)
    zero_drift_n: float = Field(default=0.5, ge=0, le=1000)
    cells: list[Cell] = Field(alias="cell", min_length=1, max_length=MAX_CHANNELS)

    @model_validator(mode="after")
    def _consistent(self) -> Rig:
        channels = [cell.channel for cell in self.cells]
        if twice := sorted({c for c in channels if channels.count(c) > 1}):
            raise ValueError(say("rig.channel-twice", channels=", ".join(map(str, twice))))
        for side in SIDES:
            if not self.foot_cells(side):
                raise ValueError(say("rig.foot-without-cell", side=side))
            if len({self.cells[i].ap_mm is None for i in self.crutch_cells(side)}) > 1:
                raise ValueError(say("rig.crutch-mixed", side=side))
        return self

    @cached_property
    def cells_of(self) -> dict[str, list[int]]:
        """Places in ``cells`` by part: 'left', 'right' (feet), 'left crutch', 'right crutch'."""
        parts: dict[str, list[int]] = {"left": [], "right": [], "left crutch": [], "right crutch": []}
        for i, cell in enumerate(self.cells):
            parts[cell.under if cell.is_crutch else cell.side].append(i)
        return parts

    @cached_property
    def crutch_plates(self) -> dict[str, bool]:
        """Whether a side's crutch cells have places: they are under a plate that its tip stands on."""
        return {s: any(self.cells[i].ap_mm is not None for i in self.crutch_cells(s)) for s in SIDES}

    def foot_cells(self, side: Side) -> list[int]:
        """Places in ``cells`` of the cells under that foot."""
        return self.cells_of[side]

    def crutch_cells(self, side: Side) -> list[int]:
        """Places in ``cells`` of the cells of that crutch, in its shaft or tip or under its plate."""
        return self.cells_of[f"{side} crutch"]

    def is_crutch_plate(self, side: Side) -> bool:
        return self.crutch_plates[side]

    @property
    def channels(self) -> list[int]:
        return [cell.channel for cell in self.cells]


def read_rig(path: Path) -> Rig:
    """rig.toml. Raises FileProblem."""
    return read_toml(path, Rig)
