"""Newtons by a calibration above a zero that was just read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.forces import ForceTable, cell_forces
from balance.rig import Rig

Array = npt.NDArray[np.float64]


class FreshForces:
    """For guided steps: no uncertainty, no faults, only what a person needs to see while they work."""

    def __init__(self, rig: Rig, calibration: Calibration) -> None:
        self._table = ForceTable.of(cell_forces(rig, calibration))
        self._at = {
            cell.channel: (i, cell.ap_mm or 0.0, cell.ml_mm or 0.0) for i, cell in enumerate(rig.cells)
        }

    def newtons(self, channels: Sequence[int], above: Array) -> Array:
        """(…, cells) of ``channels`` from counts above the zero (…, all channels)."""
        rows = [self._at[c][0] for c in channels]
        x = above[..., list(channels)]
        return np.asarray(self._table.a1[rows] * x + self._table.a2[rows] * x * x, dtype=np.float64)

    def on(self, channels: Sequence[int], above: Array) -> float:
        """The load on these cells together, from counts above the zero (all channels,)."""
        return float(self.newtons(channels, above).sum())

    def point_mm(self, channels: Sequence[int], above: Array) -> Array:
        """(n, 2) AP and ML of the load point on these cells, from counts above the zero (n, all channels)."""
        forces = self.newtons(channels, above)
        places = np.array([self._at[c][1:] for c in channels])
        return np.asarray(forces @ places / forces.sum(axis=1, keepdims=True), dtype=np.float64)
