"""What the finders of one trial share: its lines, its error sources, which samples count."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from balance.budget import Budgeted
from balance.chain import Prepared
from balance.error_sources import sources_of
from balance.forces import CellForce, ForceTable
from balance.load_line import Lines, Setup
from balance.quality import Quality
from balance.reading import LINES, POINTS
from balance.rig import SIDES, Side
from balance.trial import Trial
from balance.uncertainty import Sensitivities

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


@dataclass
class Found:
    """One trial on its way to its findings."""

    trial: Trial
    setup: Setup
    cells: list[CellForce]
    forces_n: Array  # (cells, n)
    all_lines: Lines  # validity without regard to what was filled in
    prepared: Prepared
    gain_error: float
    quality: Quality
    lines: Lines = field(init=False)
    budgeted: dict[str, Budgeted] = field(default_factory=dict)  # results whose uncertainty was worked out
    body_undecided: bool = False  # a hand, a helper or something unmeasured moves the body line unseen

    def __post_init__(self) -> None:
        from dataclasses import replace

        real = self.prepared.real
        self.lines = replace(self.all_lines, valid={k: v & real for k, v in self.all_lines.valid.items()})
        assert set(self.lines.valid) == set(LINES)

    def valid(self, line: str) -> Mask:
        """(n,) samples that count for a line: valid and measured, not filled in."""
        return self.lines.valid[line]

    def mean(self, values: Array, line: str = "feet") -> float:
        """Plain mean over the line's valid samples; at least one."""
        return float(values[self.valid(line)].mean())

    def u(self, name: str, value: float, unit: str, row: Array, own: dict[str, float] | None = None) -> float:
        """Standard uncertainty of a result by its row; kept for its budget under its key's path."""
        self.budgeted[name] = Budgeted(value, unit, row, own or {})
        return math.sqrt(self.sensitivities.u2(row) + sum((own or {}).values()))

    def shares(self, line: str) -> dict[Side, float]:
        """Each foot's mean share of both feet's load, over the line's valid samples."""
        return {side: self.mean(self.lines.share[side], line) for side in SIDES}

    @cached_property
    def sensitivities(self) -> Sensitivities:
        sources = sources_of(self.setup, self.cells, self.gain_error, self.trial.body_weight_u_n)
        return Sensitivities(self.forces_n, self.lines, self.setup, ForceTable.of(self.cells), sources)

    @cached_property
    def point_rows(self) -> dict[str, Array]:
        """(2, columns) sensitivities of each point that is valid at least once."""
        return self.sensitivities.points([point for point in POINTS if self.valid(point).any()])

    def unbroken(self, valid: Mask) -> list[tuple[int, int]]:
        """[start, end) of runs of ``valid`` inside the stretches, filled samples included."""
        runs = []
        for start, end in self.prepared.stretches:
            edges = np.diff(np.concatenate(([0], valid[start:end].astype(np.int8), [0])))
            runs += list(zip((np.flatnonzero(edges == 1) + start).tolist(), (np.flatnonzero(edges == -1) + start).tolist(), strict=True))  # fmt: skip
        return runs

    @cached_property
    def sway_stretch(self) -> tuple[int, int]:
        """[start, end) of the longest unbroken stretch with valid feet, the earliest of equals; (0, 0) for none."""
        runs = self.unbroken(self.all_lines.valid["feet"])
        return max(runs, key=lambda run: run[1] - run[0], default=(0, 0))
