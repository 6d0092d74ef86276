"""A mapping (TOML): which columns of a text table are time, force and centre of pressure or moments; units, axes, signs."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from balance.files import Described, read_toml
from balance.words import say

MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
N = {"N": 1.0, "kN": 1000.0, "kgf": 9.80665}
N_MM = {"N·m": 1000.0, "Nm": 1000.0, "N·mm": 1.0, "Nmm": 1.0}
S = {"s": 1.0, "ms": 1e-3}


class Column(Described):
    """One column by the name in the table's header, or by its number from 1 where there is no header; of several the sum."""

    column: str | int | list[str | int]
    unit: str
    sign: Literal[1, -1] = 1
    offset: float = 0.0  # in the table's unit, taken off before anything else


class Plate(Described):
    """One plate: its vertical force (down positive after ``sign``), and its centre of pressure or the moments about its centre.

    ap: forward, ml: to the person's right, after ``sign``, on the floor frame · moment_about_ml, moment_about_ap: moments that are divided by
    the force: ap = moment_about_ml / force, ml = moment_about_ap / force, each with its sign · force_ap, force_ml with ``height_mm``: what a
    horizontal force adds where the plate's surface lies above the origin of its moments
    """

    foot: Literal["left", "right", "both"]
    force: Column
    ap: Column | None = None
    ml: Column | None = None
    moment_about_ml: Column | None = None
    moment_about_ap: Column | None = None
    force_ap: Column | None = None
    force_ml: Column | None = None
    height_mm: float = 0.0
    centre_ap_mm: float = 0.0
    centre_ml_mm: float = 0.0

    @model_validator(mode="after")
    def _complete(self) -> Plate:
        points, moments = (self.ap, self.ml), (self.moment_about_ml, self.moment_about_ap)
        if (None in points) == (None in moments):
            raise ValueError(say("mapping.point-or-moments"))
        for column, units in ((self.force, N), (self.ap, MM), (self.ml, MM), (self.moment_about_ml, N_MM), (self.moment_about_ap, N_MM), (self.force_ap, N), (self.force_ml, N)):  # fmt: skip
            if column is not None and column.unit not in units:
                raise ValueError(
                    say("mapping.unit", unit=column.unit, column=column.column, known=", ".join(units))
                )
        return self


class Mapping(Described):
    """schema 1. decimal: the sign between whole numbers and fractions · skip_rows: lines before the header · time or rate_hz · foot_length_mm and
    such only lay out the lanes: without a stance of your own they are a default."""

    schema_: Literal[1] = Field(alias="schema")
    name: str = Field(min_length=1, max_length=200)
    source: str | None = Field(default=None, max_length=2000)
    delimiter: Literal["tab", "comma", "semicolon", "space"]
    decimal: Literal[".", ","] = "."
    header: bool = True
    skip_rows: int = Field(default=0, ge=0, le=1000)
    time: Column | None = None
    rate_hz: float | None = Field(default=None, gt=0, le=100_000)
    protocol: str = "quiet standing"
    plates: list[Plate] = Field(alias="plate", min_length=1, max_length=2)

    @model_validator(mode="after")
    def _consistent(self) -> Mapping:
        if (self.time is None) == (self.rate_hz is None):
            raise ValueError(say("mapping.time-or-rate"))
        if self.time is not None and self.time.unit not in S:
            raise ValueError(
                say("mapping.unit", unit=self.time.unit, column=self.time.column, known=", ".join(S))
            )
        if sorted(plate.foot for plate in self.plates) not in (["both"], ["left", "right"]):
            raise ValueError(say("mapping.feet"))
        return self

    @property
    def one_plate(self) -> bool:
        """Both feet on one plate: the feet's loads are not told apart."""
        return len(self.plates) == 1


def read_mapping(path: Path) -> Mapping:
    """Raises FileProblem."""
    return read_toml(path, Mapping)
