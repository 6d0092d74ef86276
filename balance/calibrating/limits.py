"""What a calibration is held against: limits that the user can edit, each with its source.

Classes of load cells are fractions of capacity; ours are of the largest applied load, because people stand on a part of
the capacity. Class D with 1000 intervals, the coarsest of OIML R 60-1:2021 (5.3, p_LC 0.7), allows 1.05 v = 0.105 % of
capacity for non-linearity and hysteresis, as much between repeats (5.4), 0.7 × that for creep in 30 min (5.5.1), and half
an interval = 0.05 % on return to no load (5.5.2). Standing needs less: half a percent of 350 N on a foot's four cells, all
in one cell, moves the foot's point by 0.4 mm on a plate of 160 mm.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import Field

from balance.files import Described, read_toml
from balance.words import say

CLASS_D_PCT = {  # of capacity, OIML R 60-1:2021, class D, n = 1000, p_LC = 0.7
    "nonlinearity_pct": 0.105,
    "hysteresis_pct": 0.105,
    "repeatability_pct": 0.105,
    "zero_return_pct": 0.05,
    "creep_pct": 0.0735,
}


class Limits(Described):
    """Largest values, % of the largest applied load; tool defaults, see above for what they are set against."""

    nonlinearity_pct: float = Field(default=0.5, gt=0)
    hysteresis_pct: float = Field(default=0.5, gt=0)
    repeatability_pct: float = Field(default=0.25, gt=0)
    zero_return_pct: float = Field(default=0.25, gt=0)
    creep_pct: float = Field(default=0.5, gt=0)

    @property
    def by_name(self) -> dict[str, float]:
        return {name: float(getattr(self, name)) for name in CLASS_D_PCT}


def read_limits(path: Path) -> Limits:
    """A limits file (TOML): the keys above, those left out keep their default. Raises FileProblem."""
    return read_toml(path, Limits)


def source_of(name: str, limit: float) -> str:
    """Where a limit comes from: the tool's default beside the class that it was set against, or the user's file."""
    key = "limits.source" if limit == getattr(Limits(), name) else "limits.edited"
    return say(key, default=limit, class_pct=CLASS_D_PCT[name])
