"""Before a trial: can it answer the question at all? The uncertainty that a usual stand on this rig would have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from balance.calibration import Calibration
from balance.error_sources import sources_of
from balance.findings_words import expanded
from balance.forces import ForceTable, cell_forces
from balance.load_line import Setup, lines_of
from balance.rig import SIDES, Rig, Side
from balance.stance import Stance
from balance.uncertainty import Sensitivities, line_uncertainty
from balance.verdict import TOO_NARROW
from balance.words import say

USUAL_N, USUAL_CRUTCH = (
    700.0,
    0.05,
)  # body weight where none is known, part of it on each crutch in use; tool default


@dataclass(frozen=True)
class Foreseen:
    """The body line on one shoe: its standard uncertainty, the band's width, the largest part of the uncertainty."""

    side: Side
    u_mm: float
    band_mm: float
    largest: str

    @property
    def possible(self) -> bool:
        """'in the band' can be reached at all."""
        return self.u_mm <= self.band_mm / TOO_NARROW

    @property
    def sentence(self) -> str:
        return say(
            "foreseen.too-narrow", side=self.side, pm=expanded(self.u_mm), band=self.band_mm,
            largest=say(f"part.{self.largest}"), help=say(f"help-part.{self.largest}"),
        )  # fmt: skip


def foresee(
    rig: Rig,
    stance: Stance,
    calibration: Calibration,
    body_weight_n: float | None = None,
    body_weight_u_n: float = 10.0,
) -> list[Foreseen]:
    """Both shoes with the weight evenly on the middles of their bands; [] where no body line can be measured."""
    setup = Setup(rig, stance, body_weight_n, body_weight_n or USUAL_N, False)
    weight = body_weight_n or USUAL_N
    forces = np.zeros((len(rig.cells), 1))
    hands = {s: USUAL_CRUTCH * weight if stance.uses_crutch(s) else 0.0 for s in SIDES}
    for side in SIDES:
        _stand(setup, forces, side, (weight - sum(hands.values())) / 2)
        cells = rig.crutch_cells(side)
        forces[cells] += hands[side] / setup.shaft_gain[side] / max(len(cells), 1)
    lines = lines_of(forces, setup)
    if not lines.valid["body"][0]:
        return []
    cells_of = cell_forces(rig, calibration)
    sources = sources_of(setup, cells_of, calibration.gain_error, body_weight_u_n)
    sens = Sensitivities(forces, lines, setup, ForceTable.of(cells_of), sources)
    rows = sens.points(["body"])["body"]
    point = (float(lines.point_mm["body"][0][0]), float(lines.point_mm["body"][1][0]))
    out = []
    for side in SIDES:
        line = f"body_on_{side}"
        shares = {s: float(lines.share[s][0]) for s in SIDES}
        u = line_uncertainty(
            line, setup, float(lines.along_mm[line][0]), point, sens.covariance_mm2(rows), shares
        )
        parts = u.parts(sources, rows)
        low, high = stance.band
        largest = max(parts, key=lambda name: parts[name])
        out.append(Foreseen(side, u.mm, (high - low) * stance.foot(side).usable_length_mm, largest))
    return out


def _stand(setup: Setup, forces: np.ndarray, side: Side, load_n: float) -> None:
    """One foot's load on its cells, at the middle of the band; a rigid plate's smallest forces."""
    frame, (low, high) = setup.frames[side], setup.stance.band
    at = [h + u * (low + high) / 2 * frame.length_mm for h, u in zip(frame.heel_mm, frame.along, strict=True)]
    cells = setup.rig.foot_cells(side)
    rows = np.array(
        [[1.0, setup.rig.cells[i].ap_mm or 0.0, setup.rig.cells[i].ml_mm or 0.0] for i in cells]
    ).T
    forces[cells, 0] += np.linalg.pinv(rows) @ (load_n * np.array([1.0, *at]))
