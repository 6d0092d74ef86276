"""Calibrating one cell after the other: zero, masses up and down, and what the readings say as points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from balance.calibrating.evaluate import LATE_S
from balance.calibrating.points import AppliedPoint
from balance.guiding.guide import Judgement, Step, Taken
from balance.guiding.standing import standing
from balance.rig import Cell, Rig
from balance.steadiness import movement, noise_counts
from balance.words import say

Array = npt.NDArray[np.float64]

LEAST_CHANGE_COUNTS = 500.0  # a load that moves its cell by less was not put on; tool default
CHANGE_TIMES_NOISE = 20.0  # the same, for noisy cells; tool default
WRONG_MASS = 0.05  # of the mass: a reading further off is not taken by itself; tool default
NEWEST = 10  # of a window that moves its last tenth is shown
ZERO_OFF = 0.02  # of the largest load: a cell that returns to no nearer than this is not empty; tool default


@dataclass(frozen=True)
class Masses:
    """Kilograms in the order in which they go on, totals; u: standard uncertainty of each total, kg, None where not known."""

    totals_kg: tuple[float, ...]
    u_kg: float | None
    runs: int = 1
    dwell: bool = False


@dataclass(frozen=True)
class Load:
    """What stands on the cell of ``channel`` in one step; a zero (mass 0) is read on all of ``channels``."""

    channels: tuple[int, ...]
    mass_kg: float
    direction: Literal["up", "down"] | None
    run: int
    late: bool = False

    @property
    def channel(self) -> int:
        return self.channels[0]

    @property
    def key(self) -> str:
        way = "late" if self.late else self.direction or "zero"
        return f"{','.join(map(str, self.channels))} {self.mass_kg:g} {way} {self.run}"


class CellJob:
    """The steps of one calibration of ``cells``, and its points."""

    def __init__(self, rig: Rig, masses: Masses) -> None:
        self.rig, self.masses = rig, masses
        self.loads = _loads([c.channel for c in rig.cells], masses)
        self._cells = {cell.channel: cell for cell in rig.cells}
        self.steps = [self._step(i) for i in range(len(self.loads))]

    def _step(self, number: int) -> Step:
        load = self.loads[number]
        last_before = self.loads[number - 1].channel if number else None
        return Step(
            load.key,
            _sentence(load, self._cells[load.channel], last_before, self._cells),
            (lambda counts, taken: self._zero(number, counts, taken))
            if load.mass_kg == 0
            else (lambda counts, taken: self._mass(number, counts, taken)),
            load.channels,
            after_s=LATE_S if load.late else 0.0,
            asks=number == 0,
            anchors=load.mass_kg == 0,
        )

    def _zero(self, number: int, counts: Array, taken: Sequence[Taken]) -> Judgement:
        load = self.loads[number]
        now = standing(counts, load.channels)
        off = 0.0
        for channel in load.channels:
            earlier = self._zero_counts(channel, taken)
            largest = max((abs(t.counts[channel] - earlier) for t, at in zip(taken, self.loads, strict=False) if at.channel == channel and at.mass_kg), default=None)  # fmt: skip
            if largest:
                off = max(off, abs(float(counts[:, channel].mean()) - earlier) / largest)
        if off > ZERO_OFF:
            last = taken[-1].counts[list(load.channels)]
            came_off = (
                float(np.abs(counts[:, list(load.channels)].mean(axis=0) - last).max()) >= LEAST_CHANGE_COUNTS
            )
            return Judgement(
                now.stands, False, say("guide.not-empty", pct=100 * off), alarm=now.stands and came_off
            )
        return now

    def _mass(self, number: int, counts: Array, taken: Sequence[Taken]) -> Judgement:
        load, channel = self.loads[number], self.loads[number].channel
        column, zero = counts[:, channel], self._zero_counts(channel, taken)
        above = float(column.mean()) - zero
        now = standing(counts, (channel,), above)
        if not now.stands:  # what is shown meanwhile is what is there now
            above = float(column[-max(len(column) // NEWEST, 1) :].mean()) - zero
        kg = self._kg(channel, above, taken)
        reads = say("guide.counts", counts=above) if kg is None else say("guide.kg", kg=kg)
        changes = np.abs(counts.mean(axis=0) - taken[-1].counts)
        least = max(LEAST_CHANGE_COUNTS, CHANGE_TIMES_NOISE * noise_counts(column))
        if not load.late and changes[channel] < least:
            known = [c for c in self.rig.channels if c != channel]
            other = max(known, key=lambda c: changes[c], default=channel)
            if changes[other] >= least and movement(counts[:, other], changes[other]) <= 1:
                return Judgement(
                    False, False, say("guide.other-cell", other=other, channel=channel), alarm=True
                )
            return Judgement(False, False, say("guide.put-on", reads=reads))
        if now.stands and kg is not None and abs(kg - load.mass_kg) > WRONG_MASS * load.mass_kg:
            return Judgement(
                now.stands, False, say("guide.wrong-mass", kg=kg, wanted=load.mass_kg), alarm=True
            )
        return replace(now, words=say("guide.reads", reads=reads, moving=now.words))

    def _zero_counts(self, channel: int, taken: Sequence[Taken]) -> float:
        """The channel's zero read first."""
        for one, load in zip(taken, self.loads, strict=False):
            if load.mass_kg == 0 and channel in load.channels:
                return float(one.counts[channel])
        return 0.0

    def _kg(self, channel: int, above: float, taken: Sequence[Taken]) -> float | None:
        """Kilograms by the largest load that the cell has seen in this job; None before the first."""
        zero = self._zero_counts(channel, taken)
        seen = [
            (load.mass_kg, float(one.counts[channel]) - zero)
            for one, load in zip(taken, self.loads, strict=False)
            if load.mass_kg > 0 and load.channel == channel
        ]
        if not seen:
            return None
        mass, counts = max(seen)
        return above / counts * mass if counts else None

    def points(self, taken: Sequence[Taken], gravity: float) -> list[AppliedPoint]:
        """The readings as the points of a calibration."""
        u_n = None if self.masses.u_kg is None else self.masses.u_kg * gravity
        points: list[AppliedPoint] = []
        seconds = 0.0
        for one, load in zip(taken, self.loads, strict=False):
            if load.mass_kg == 0:
                points += [AppliedPoint(c, 0.0, float(part[c]), None, load.run) for c in load.channels for part in one.parts]  # fmt: skip
                continue
            seconds = one.seconds_on + (seconds if load.late else 0.0)
            points.append(
                AppliedPoint(
                    load.channel,
                    load.mass_kg * gravity,
                    float(one.counts[load.channel]),
                    load.direction,
                    load.run,
                    round(seconds, 2),
                    u_n,
                )
            )
        return points


def _loads(channels: list[int], masses: Masses) -> list[Load]:
    """Between two cells one zero is the end of the one and the beginning of the other."""
    totals = masses.totals_kg
    loads = [Load((channels[0],), 0.0, None, 1)]
    for place, channel in enumerate(channels):
        for run in range(1, masses.runs + 1):
            loads += [Load((channel,), kg, "up", run) for kg in totals]
            if masses.dwell and run == 1:
                loads.append(Load((channel,), totals[-1], "up", run, late=True))
            loads += [Load((channel,), kg, "down", run) for kg in reversed(totals[:-1])]
            last = run == masses.runs
            following = channels[place + 1 : place + 2] if last else []
            loads.append(Load((channel, *following), 0.0, None, run))
    return loads


def _sentence(load: Load, cell: Cell, before: int | None, cells: dict[int, Cell]) -> str:
    name = say("verify.cell", channel=cell.channel, under=cell.under)
    if load.mass_kg == 0:
        following = load.channels[1:]
        if cell.is_crutch and cell.ap_mm is None:
            sentence = say("guide.zero-shaft", cell=name)
        else:
            sentence = say("guide.zero-first" if before is None else "guide.zero", cell=name)
        if following:
            after = cells[following[0]]
            lifted = after.is_crutch and after.ap_mm is None
            sentence += " " + say("guide.then-shaft" if lifted else "guide.then", cell=say("verify.cell", channel=after.channel, under=after.under))  # fmt: skip
        return sentence
    if load.late:
        return say("guide.late", kg=load.mass_kg, cell=name)
    shaft = cell.is_crutch and cell.ap_mm is None
    return say("guide.load-shaft" if shaft else "guide.load", kg=load.mass_kg, cell=name)
