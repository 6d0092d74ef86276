"""Loads on marked places of a plate, and people on it: for solving gains together, for verifying, for the daily minute."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.guiding.cells import CHANGE_TIMES_NOISE, LEAST_CHANGE_COUNTS
from balance.guiding.fresh_forces import FreshForces
from balance.guiding.guide import Judgement, Step, Taken
from balance.guiding.standing import empty, standing
from balance.rig import Rig
from balance.steadiness import movement, noise_counts
from balance.verifying.places import APPLIED_U, PLACE_U_MM, Placed, nearest_part, parts_of
from balance.words import say

Array = npt.NDArray[np.float64]

TOWARDS_CELLS = 0.6  # the marks stand so far from a plate's middle towards its cells; tool default
PERSON_S = 10.0  # a person's reading is the mean of so long: sway averages out
PERSON_MOVES = 0.02  # the halves of it may differ by so much of the person; tool default
GRAVITY = 9.80665
NO_PLACE_MM = 1000.0  # so uncertain a place enters nothing
WRONG_LOAD = 0.2  # of the load: a reading further off is not taken by itself; tool default


@dataclass(frozen=True)
class OnPlace:
    """A load on a mark; u: standard uncertainties, of a person's place None (their sway is not a place)."""

    ap_mm: float
    ml_mm: float
    applied_n: float
    applied_u_n: float
    place_u_mm: float = PLACE_U_MM
    person: bool = False


def marks_of(rig: Rig) -> list[tuple[float, float]]:
    """Of every plate its middle and a mark towards each cell, mm."""
    marks = []
    for cells in parts_of(rig).values():
        ap = [rig.cells[i].ap_mm or 0.0 for i in cells]
        ml = [rig.cells[i].ml_mm or 0.0 for i in cells]
        middle = (sum(ap) / len(ap), sum(ml) / len(ml))
        marks.append(middle)
        marks += [
            (middle[0] + TOWARDS_CELLS * (a - middle[0]), middle[1] + TOWARDS_CELLS * (m - middle[1]))
            for a, m in zip(ap, ml, strict=True)
        ]
    return [(round(a, 1), round(m, 1)) for a, m in marks]


def masses_on_marks(
    rig: Rig, masses_kg: Sequence[float], u_kg: float | None, gravity: float
) -> list[OnPlace]:
    """Each mass on each mark; where no uncertainty is given, 0.1 % of the load."""
    return [
        OnPlace(ap, ml, kg * gravity, APPLIED_U * kg * gravity if u_kg is None else u_kg * gravity)
        for ap, ml in marks_of(rig)
        for kg in masses_kg
    ]


def person_on_marks(rig: Rig, kg: float, u_kg: float, gravity: float) -> list[OnPlace]:
    """A person weighed on a verified scale, on every mark: of these readings the load counts, not the place."""
    return [
        OnPlace(ap, ml, kg * gravity, u_kg * gravity, NO_PLACE_MM, person=True) for ap, ml in marks_of(rig)
    ]


class PlateJob:
    """Zero with all plates empty, the loads one after the other, zero again.

    calibration: where the cells are calibrated, loads are shown and checked in kg; None while they are not.
    """

    def __init__(self, rig: Rig, loads: Sequence[OnPlace], calibration: Calibration | None = None) -> None:
        self.rig, self.loads = rig, list(loads)
        self._forces = None if calibration is None else FreshForces(rig, calibration)
        self._on_plates = sorted(rig.cells[i].channel for cells in parts_of(rig).values() for i in cells)
        channels = tuple(self._on_plates)
        self.steps = [Step("zero", say("guide.all-empty"), empty(channels), channels, asks=True)]
        for number, load in enumerate(self.loads):
            self.steps.append(self._step(number, load))
        self.steps.append(Step("zero again", say("guide.all-empty-again"), self._empty_again, channels))

    def _step(self, number: int, load: OnPlace) -> Step:
        part, channels = nearest_part(self.rig, load.ap_mm, load.ml_mm), self._of(load)
        key = f"{part} {load.ap_mm:g} {load.ml_mm:g} {load.applied_n:.1f}"
        sentence = say("guide.person-there" if load.person else "guide.mass-there", kg=load.applied_n / GRAVITY, part=part, ap=load.ap_mm, ml=load.ml_mm)  # fmt: skip
        return Step(
            key, sentence, lambda counts, taken: self._load(number, channels, counts, taken), channels,
            seconds=PERSON_S if load.person else 3.0,
        )  # fmt: skip

    def _empty_again(self, counts: Array, taken: Sequence[Taken]) -> Judgement:
        now = standing(counts, self._on_plates)
        last = list(self._of(self.loads[-1]))
        still = np.abs(counts.mean(axis=0) - taken[-1].counts)[last].max() < LEAST_CHANGE_COUNTS
        return Judgement(False, False, say("guide.still-there")) if still else now

    def zeros(self, taken: Sequence[Taken]) -> dict[int, float]:
        """Counts of the empty cells by channel: the mean of before and after."""
        return dict(enumerate(((taken[0].counts + taken[-1].counts) / 2).tolist()))

    def drifted_n(self, taken: Sequence[Taken]) -> dict[int, float]:
        """Newtons by which each cell's zero moved from the first step to the last, by channel; needs the calibration."""
        moved = taken[-1].counts - taken[0].counts
        return {} if self._forces is None else {c: self._forces.on([c], moved) for c in self._on_plates}

    def _of(self, load: OnPlace) -> tuple[int, ...]:
        part = nearest_part(self.rig, load.ap_mm, load.ml_mm)
        return tuple(self.rig.cells[i].channel for i in self.rig.cells_of[part])

    def _load(
        self, number: int, channels: tuple[int, ...], counts: Array, taken: Sequence[Taken]
    ) -> Judgement:
        load, means = self.loads[number], counts.mean(axis=0)
        changes = np.abs(means - taken[-1].counts)
        least = max(LEAST_CHANGE_COUNTS, *(CHANGE_TIMES_NOISE * noise_counts(counts[:, c]) for c in channels))
        above = means - taken[0].counts
        others = [c for c in self._on_plates if c not in channels]
        if float(changes.max()) < least or max(abs(above[c]) for c in channels) < least:
            moved = max(others, key=lambda c: abs(above[c]), default=None)
            if (
                moved is not None
                and min(abs(above[moved]), changes[moved]) >= least
                and movement(counts[:, moved], above[moved]) <= 1
            ):
                return Judgement(False, False, say("guide.other-plate", channel=moved), alarm=True)
            return Judgement(False, False, say("guide.put-there"))
        carried = float(np.abs(above[list(channels)]).sum())
        if load.person:
            half = len(counts) // 2
            apart = counts[:half].mean(axis=0) - counts[-half:].mean(axis=0)
            stands = abs(float(apart[list(channels)].sum())) <= PERSON_MOVES * carried
            now = Judgement(stands, True, say("guide.stands" if stands else "guide.moves"))
        else:
            now = standing(counts, channels, carried)
        kg = self._kg(channels, above)
        if kg is None:
            return now
        wanted = load.applied_n / GRAVITY
        if abs(kg - wanted) > WRONG_LOAD * wanted:
            return Judgement(
                now.stands, False, say("guide.wrong-mass", kg=kg, wanted=wanted), alarm=now.stands
            )
        return replace(now, words=say("guide.reads", reads=say("guide.kg", kg=kg), moving=now.words))

    def _kg(self, channels: tuple[int, ...], above: Array) -> float | None:
        """What the plate's cells show, by calibration and the zero of this job."""
        return None if self._forces is None else self._forces.on(channels, above) / GRAVITY

    def placed(self, taken: Sequence[Taken]) -> list[Placed]:
        """The readings as places, each with the counts of all channels; those of the two zeros as places without load."""
        empty_counts = [*taken[0].parts.tolist(), *taken[-1].parts.tolist()]
        zeros = [Placed(0.0, 0.0, 0.0, tuple(counts), 0.0, 0.0) for counts in empty_counts]
        return [
            *zeros,
            *(
                Placed(load.ap_mm, load.ml_mm, load.applied_n, tuple(one.counts.tolist()), load.place_u_mm, load.applied_u_n)
                for load, one in zip(self.loads, taken[1:-1], strict=True)
            ),
        ]  # fmt: skip
