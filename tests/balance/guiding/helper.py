"""Somebody at the rig who does what a step says: forces on the cells that a test changes while the board runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from balance.calibration import Calibration
from balance.guiding.guide import Guide, Step
from balance.rig import Rig
from balance.verifying.places import nearest_part, parts_of
from drivers.samples import LinkEvent, SampleBlock
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.electronics import Electronics
from drivers.simulated_board.source import SimulatedSource

GRAVITY = 9.80665
PATIENCE_S = 60.0  # a step that has not been taken by then is not taken


class Rigged:
    """The loads of a simulated board, changed by hand; what is wrong with the rig is hidden in ``gain``, ``swapped``, ``drift``."""

    def __init__(self, rig: Rig, calibration: Calibration, *, gain: dict[int, float] | None = None, swapped: tuple[int, int] | None = None, drift_n_s: dict[int, float] | None = None) -> None:  # fmt: skip
        self.rig = rig
        self.force_n = {cell.channel: 0.0 for cell in rig.cells}
        self.drift_n_s = drift_n_s or {}
        self.cell_of = {c: c for c in self.force_n}
        known = [calibration.of(c) for c in range(max(rig.channels) + 1)]
        self.counts_per_newton = np.array([1 / k.newton_per_count for k in known])
        for channel, factor in (gain or {}).items():
            self.counts_per_newton[channel] *= factor
        self.zero_counts = np.array([k.zero_counts for k in known])
        self.capacity_n = np.full(len(known), 500.0)
        if swapped:
            a, b = swapped
            self.cell_of[a], self.cell_of[b] = b, a
            for values in (self.counts_per_newton, self.zero_counts):
                values[[a, b]] = values[[b, a]]

    def newtons(self, t_s: np.ndarray, channel: int) -> np.ndarray:
        return self.force_n[self.cell_of[channel]] + self.drift_n_s.get(channel, 0.0) * t_s

    def nothing(self) -> None:
        self.force_n = dict.fromkeys(self.force_n, 0.0)

    def on_cell(self, channel: int, kg: float) -> None:
        self.nothing()
        self.force_n[channel] = kg * GRAVITY

    def on_plate(self, ap_mm: float, ml_mm: float, kg: float) -> None:
        """A rigid plate on its cells: the smallest forces that balance load and moments."""
        self.nothing()
        cells = parts_of(self.rig)[nearest_part(self.rig, ap_mm, ml_mm)]
        rows = np.array([[1.0, self.rig.cells[i].ap_mm or 0, self.rig.cells[i].ml_mm or 0] for i in cells]).T
        forces = np.linalg.pinv(rows) @ (kg * GRAVITY * np.array([1.0, ap_mm, ml_mm]))
        for i, force in zip(cells, forces.tolist(), strict=True):
            self.force_n[self.rig.cells[i].channel] = force


QUIET = Electronics(noise_n=0.02, creep_pct=0.0, hysteresis_pct_of_capacity=0.0, drift_n_in_10_min=0.0)


def walk(
    rigged: Rigged, steps: Sequence[Step], obey: Callable[[str], None], *, electronics: Electronics = QUIET,
    patience_s: float = PATIENCE_S, guide: Guide | None = None,
) -> tuple[Guide, list[str]]:  # fmt: skip
    """Goes through the steps; ``obey`` is told each step's key. Ends when all are done or one is not taken within its patience.
    Also every alarm that was shown."""
    source = SimulatedSource(SimulatedBoard(rigged, 80.0, 3, electronics), 36_000.0)
    source.open()
    guide = guide or Guide(steps, asks=False)
    at, since_us, alarms = -1, 0, []
    while guide.step is not None:
        for item in source.read():
            if isinstance(item, LinkEvent):
                guide.happened(item)
                continue
            assert isinstance(item, SampleBlock)
            if guide.step is not None and at != len(guide.taken):
                at, since_us = len(guide.taken), int(item.board_us[-1])
                obey(guide.step.key)
            guide.feed(item)
            if guide.is_alarmed and guide.words not in alarms[-1:]:
                alarms.append(guide.words)
            if item.board_us[-1] - since_us > patience_s * 1e6:
                return guide, alarms
    return guide, alarms
