"""The person as a board sees it: forces on channels, each channel's counts a newton from the calibration."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.simulated_person.person import SimulatedPerson

Array = npt.NDArray[np.float64]


class PersonLoads:
    """What drivers.simulated_board asks of its loads."""

    def __init__(self, person: SimulatedPerson, calibration: Calibration) -> None:
        self._person = person
        rig = person.rig
        channels = max(rig.channels) + 1
        self._cell_of = {cell.channel: i for i, cell in enumerate(rig.cells)}
        self.counts_per_newton = np.ones(channels)
        self.zero_counts = np.zeros(channels)
        self.capacity_n = np.full(channels, 1000.0)
        hidden = person.scenario.hidden
        self._drift_n_s = {d.channel: d.n_in_10_min / 600 for d in hidden.drifting}
        for cell in rig.cells:
            known = calibration.of(cell.channel)
            self.counts_per_newton[cell.channel] = 1 / known.newton_per_count
            self.zero_counts[cell.channel] = known.zero_counts
            self.capacity_n[cell.channel] = cell.capacity_n
        for gain in hidden.gain:
            self.counts_per_newton[gain.channel] *= gain.factor
        if hidden.swapped:  # a cell takes its gain and zero along to the other plug
            a, b = hidden.swapped
            self._cell_of[a], self._cell_of[b] = self._cell_of[b], self._cell_of[a]
            for of_cells in (self.counts_per_newton, self.zero_counts, self.capacity_n):
                of_cells[[a, b]] = of_cells[[b, a]]

    def newtons(self, t_s: Array, channel: int) -> Array:
        """(n,) true force on a channel's cell; 0 on a channel that no cell is on."""
        if channel not in self._cell_of:
            return np.zeros(len(t_s))
        forces = self._person.forces_n(t_s) + self._person.masses_n(t_s)
        drift_n = self._drift_n_s.get(channel, 0.0) * t_s
        return np.ascontiguousarray(forces[:, self._cell_of[channel]] + drift_n)
