"""Standard uncertainties of the trial's means, by moving every input and doing the whole trial again.

Central differences stand in for an analytic Jacobian: J of the mean outputs, column by column, from the full
computation for every sample with the samples that count held as they are; then J U Jᵀ.
"""

import copy
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.reference.facts import Facts, World, or_else
from tests.reference.standing import Masks, cell_forces, follow, means

STEP = 0.01  # of a standard uncertainty


@dataclass
class Source:
    """Inputs with errors that vary together: (World field, index) each, and their covariance."""

    inputs: list[tuple[str, int | tuple[int, int]]]
    covariance: np.ndarray


def single(name: str, index, u: float) -> Source:
    """One input with an error of its own."""
    return Source([(name, index)], np.array([[u**2]]))


def sources(facts: Facts) -> list[Source]:
    """Every input that carries an error."""
    return [*_cell_sources(facts), *_crutch_sources(facts), *_foot_sources(facts)]


def _cell_sources(facts: Facts) -> list[Source]:
    creep = or_else(facts.calibration, "creep_pct", 0.3) / 100
    shared = or_else(facts.calibration, "shared_gain_uncertainty", 0.01)
    found = [single("gain", 0, math.sqrt(shared**2 + creep**2 / 3)), single("common", 0, 1.0)]
    for i, (cell, channel) in enumerate(zip(facts.cells, facts.channels, strict=True)):
        covariance = np.array(channel["covariance"], float)
        names = [("a1", i), ("a2", i)][: len(covariance)]
        found.append(Source(names, covariance))
        found.append(single("zero", i, or_else(channel, "zero_uncertainty_counts", 0.0)))
        found.append(single("zero", i, facts.zero_drift_counts[i]))
        found.append(single("offset_n", i, or_else(channel, "residual_n", 0.0)))
        found.append(single("offset_n", i, facts.zero_drift_n[i]))
        place = or_else(cell, "position_uncertainty_mm", 1.0)
        for a, pad in ((0, "pad_length_mm"), (1, "pad_width_mm")):
            u = math.hypot(place, or_else(cell, pad, 0.0) / math.sqrt(12))
            found.append(single("place", (i, a), u))
    return found


def _crutch_sources(facts: Facts) -> list[Source]:
    found = []
    tilt, spread = np.zeros(2), np.zeros(2)
    for j in (0, 1):
        if facts.measured[j] and not facts.plate[j]:
            tilt[j] = math.radians(or_else(facts.crutch[j], "tilt_deg", 0.0))
            spread[j] = math.radians(or_else(facts.crutch[j], "tilt_uncertainty_deg", 3.0))
            u = or_else(facts.crutch[j], "tip_uncertainty_mm", 15.0)
            found += [single("tip", (j, a), u) for a in (0, 1)]
    own = (tilt**4 + 6 * tilt**2 * spread**2 + 3 * spread**4) / 12
    shared = (tilt[0] ** 2 + spread[0] ** 2) * (tilt[1] ** 2 + spread[1] ** 2) / 12
    found.append(Source([("tilt", 0), ("tilt", 1)], np.array([[own[0], shared], [shared, own[1]]])))
    found += [single("height", a, 1.0) for a in (0, 1)]
    if facts.weight_n is not None:
        found.append(single("weight_n", 0, facts.weight_u))
    if facts.from_weight:
        found += [single("other_place", a, facts.other_u[a]) for a in (0, 1)]
    return found


def _foot_sources(facts: Facts) -> list[Source]:
    found = []
    for k, foot in enumerate(facts.foot):
        placement = or_else(foot, "placement_uncertainty_mm", 2.0)
        joint = or_else(foot, "joint_uncertainty_mm", 5.0)
        found += [single("heel", (k, a), placement) for a in (0, 1)]
        found.append(single("length", k, or_else(foot, "length_uncertainty_mm", 2.0)))
        found.append(single("toe_out", k, math.radians(or_else(foot, "toe_out_uncertainty_deg", 2.0))))
        found += [single("ankle", k, joint), single("knee", k, joint)]
        if one_ml(facts, k):
            found.append(single("foot_ml", k, foot["heel_width_mm"] / math.sqrt(12)))
    return found


def one_ml(facts: Facts, k: int) -> bool:
    """All cells of this foot stand on one line: its ML is not seen."""
    side = ("left foot", "right foot")[k]
    return len({facts.cells[i]["ml_mm"] for i in facts.parts[side]}) == 1


class Spread:
    """Covariance of the trial's mean outputs, by output name."""

    def __init__(self, names: list[str], matrix: np.ndarray) -> None:
        self.names, self.matrix = names, matrix

    def u(self, name: str) -> float:
        """Standard uncertainty of one output."""
        return math.sqrt(self.matrix[self.names.index(name), self.names.index(name)])

    def pair(self, first: str, second: str) -> np.ndarray:
        """(2, 2) covariance of two outputs."""
        at = [self.names.index(first), self.names.index(second)]
        return self.matrix[np.ix_(at, at)]


def spread(facts: Facts, world: World, m: Masks, chain, cutoff_hz: float | None) -> Spread:
    """J U Jᵀ over all sources."""
    names = list(means(facts, world, follow(world, facts, cell_forces(world, facts, chain, cutoff_hz)), m))
    still = cell_forces(world, facts, chain, cutoff_hz)

    def outcome(moved: World, field: str) -> np.ndarray:
        of_force = field in ("a1", "a2", "zero", "offset_n", "gain", "common")
        forces = cell_forces(moved, facts, chain, cutoff_hz) if of_force else still
        found = means(facts, moved, follow(moved, facts, forces), m)
        return np.array([found[name] for name in names])

    total = np.zeros((len(names), len(names)))
    for source in sources(facts):
        size = np.sqrt(np.diag(source.covariance))
        used = [i for i in range(len(size)) if size[i] > 0]
        if not used:
            continue
        jacobian = np.stack([_slope(world, *source.inputs[i], STEP * size[i], outcome) for i in used], axis=1)
        total += jacobian @ source.covariance[np.ix_(used, used)] @ jacobian.T
    return Spread(names, total)


def _slope(world: World, field: str, index, step: float, outcome: Callable) -> np.ndarray:
    ends = []
    for sign in (1, -1):
        moved = copy.deepcopy(world)
        getattr(moved, field)[index] += sign * step
        ends.append(outcome(moved, field))
    return (ends[0] - ends[1]) / (2 * step)
