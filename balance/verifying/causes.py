"""What would explain errors at the places: two cells swapped, a wrong sign, a wrong place, one gain off.

Each cause is tried on all places at once; one explains them where everything then agrees. Places are few and a plate on four
cells is statically undetermined, so that several causes can explain the same errors: all that do about as well are named.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from balance.rig import Rig
from balance.verifying.places import Place, coverage_factor, parts_of
from balance.words import say

Array = npt.NDArray[np.float64]

AS_GOOD = (
    4.0  # causes whose sum of squared errors (in uncertainties) lies this near the best one's; tool default
)


@dataclass(frozen=True)
class Cause:
    """A sentence, the sum of squared errors it leaves, and its size (mm or relative) where it has one."""

    sentence: str
    left: float


def causes(places: list[Place], rig: Rig) -> list[Cause]:
    """The causes that explain the errors, the best first; [] where nothing is wrong or nothing simple explains it."""
    whole = _Equations(places, rig)
    k = coverage_factor(places)
    if whole.agree(whole.forces, whole.ap, whole.ml, k):
        return []
    tried = [*_swaps(whole, k), *_signs(whole, k), *_gains(whole, k), *_shifts(whole, k)]
    tried.sort(key=lambda cause: cause.left)
    return [cause for cause in tried if cause.left <= tried[0].left + AS_GOOD]


class _Equations:
    """Balance of force and of both moments at every place, and nothing on the other plates, in uncertainties."""

    def __init__(self, places: list[Place], rig: Rig) -> None:
        self.rig, self.places, self.parts = rig, places, parts_of(rig)
        self.forces = np.array([p.forces_n for p in places])
        self.ap = np.array([c.ap_mm or 0.0 for c in rig.cells])
        self.ml = np.array([c.ml_mm or 0.0 for c in rig.cells])
        self.on_plates = sorted(i for cells in self.parts.values() for i in cells)

    def left(self, forces: Array, ap: Array, ml: Array) -> Array:
        """All errors over their standard uncertainties."""
        out = []
        for p, f in zip(self.places, forces, strict=True):
            cells, applied = self.parts[p.part], p.placed.applied_n
            out.append((f[cells].sum() - applied) / p.load_u_n)
            out.append((f[cells] @ ap[cells] / applied - p.placed.ap_mm) / p.ap_u_mm)
            if p.ml_u_mm is not None:
                out.append((f[cells] @ ml[cells] / applied - p.placed.ml_mm) / p.ml_u_mm)
            out += [f[other].sum() / p.load_u_n for part, other in self.parts.items() if part != p.part]
        return np.array(out)

    def agree(self, forces: Array, ap: Array, ml: Array, k: float) -> bool:
        return bool(np.abs(self.left(forces, ap, ml)).max() <= k)

    def cause(self, sentence: str, forces: Array, ap: Array, ml: Array, k: float) -> list[Cause]:
        left = self.left(forces, ap, ml)
        return [Cause(sentence, float(left @ left))] if np.abs(left).max() <= k else []

    def name(self, i: int) -> str:
        cell = self.rig.cells[i]
        return say("verify.cell", channel=cell.channel, under=cell.under)


def _swaps(e: _Equations, k: float) -> list[Cause]:
    found = []
    for i, j in combinations(e.on_plates, 2):
        swapped = e.forces.copy()
        swapped[:, [i, j]] = e.forces[:, [j, i]]
        found += e.cause(say("verify.swapped", a=e.name(i), b=e.name(j)), swapped, e.ap, e.ml, k)
    return found


def _signs(e: _Equations, k: float) -> list[Cause]:
    found = []
    for i in e.on_plates:
        turned = e.forces.copy()
        turned[:, i] *= -1
        found += e.cause(say("verify.sign", cell=e.name(i)), turned, e.ap, e.ml, k)
    return found


def _gains(e: _Equations, k: float) -> list[Cause]:
    """The factor by least squares: every error is linear in it."""
    found = []
    base = e.left(e.forces, e.ap, e.ml)
    for i in e.on_plates:
        scaled = e.forces.copy()
        scaled[:, i] *= 2
        step = e.left(scaled, e.ap, e.ml) - base
        if step @ step == 0:
            continue
        factor = 1 - float(step @ base) / float(step @ step)
        if factor <= 0.2:
            continue  # nearer to a dead cell or a wrong sign than to a gain
        scaled[:, i] = e.forces[:, i] * factor
        size = 100 * (1 / factor - 1)
        key = "verify.gain-high" if size > 0 else "verify.gain-low"
        found += e.cause(say(key, cell=e.name(i), pct=abs(size)), scaled, e.ap, e.ml, k)
    return found


def _shifts(e: _Equations, k: float) -> list[Cause]:
    """A cell that stands elsewhere than rig.toml says: both directions by least squares."""
    found = []
    base = e.left(e.forces, e.ap, e.ml)
    for i in e.on_plates:
        moved_ap, moved_ml = e.ap.copy(), e.ml.copy()
        moved_ap[i] += 1
        moved_ml[i] += 1
        steps = np.stack([e.left(e.forces, moved_ap, e.ml) - base, e.left(e.forces, e.ap, moved_ml) - base])
        try:
            by = np.linalg.lstsq(steps.T, -base, rcond=None)[0]
        except np.linalg.LinAlgError:
            continue
        moved_ap[i], moved_ml[i] = e.ap[i] + by[0], e.ml[i] + by[1]
        sentence = say("verify.place", cell=e.name(i), ap=float(by[0]), ml=float(by[1]))
        found += e.cause(sentence, e.forces, moved_ap, moved_ml, k)
    return found
