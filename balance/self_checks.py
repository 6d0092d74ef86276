"""The rig tells on itself: what a stretch of samples shows to be wrong with a cell, a converter, the rate or the load.

The same checks serve the live view, on its newest seconds, and the analysis, on a whole recording in pieces as long.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np
import numpy.typing as npt

from balance.chain import measured_rate_hz
from balance.forces import CellForce, ForceTable
from balance.rig import SIDES, Rig
from balance.steadiness import NORMAL_MEDIAN, movement
from balance.words import say
from drivers.samples import (
    CHANNEL_SATURATED,
    CHANNEL_STUCK,
    CHANNEL_TIMEOUT,
    COUNTS_MAX,
    COUNTS_MIN,
    VALUE_FLAGS,
    SampleBlock,
    channel_status,
    concatenate,
)

Array = npt.NDArray[np.float64]

WINDOW_S = 5.0  # so much is looked at at once
EVERY_S = 1.0  # live, so often
SLOW_TIMES = 0.7  # of the messages: converters' own oscillators reach 0.86; tool default
SLOW_STEPS = 20  # from one message to the next: fewer show nothing; tool default
MOST_PIECES, HUM_PIECES = 120, 3  # of a recording; hum comes and goes with plugs only
OFTEN = 0.1  # of the samples: a fault bit on more of them is a fault of the cell; tool default
STUCK_SAMPLES = 20
STUCK_S = 2.0  # a 24-bit converter repeats no reading for so long; tool default
NOISY_TIMES, NOISY_N = 5.0, 0.5  # of the other cells' median noise, and newtons; tool default
QUIET_TIMES = 0.1  # of the other cells' median noise: a bridge that is not connected; tool default
DRIFT_TIMES = 3.0  # an empty cell may be off by so many times the rig's zero_drift_n; tool default
RESTING = 0.02  # of capacity: an empty plate's cell that shows more carries something; tool default
HUM_N = 0.2  # amplitude; tool default
HUM_TIMES = 5.0  # the amplitude beside it; tool default
HUM_STEP_HZ, HUM_STEPS = 0.25, 10  # looked at up to 2.5 Hz to both sides
HUM_NEAR = slice(HUM_STEPS - 2, HUM_STEPS + 3)  # a ceramic resonator is off by so much of 50 Hz
HUM_BESIDE = [0, 2, 4, -5, -3, -1]
MAINS_HZ = (50.0, 60.0)
SLOW_SAMPLES = 15  # what is slower than their time is taken out before
SLOWEST_ALIAS_HZ = 5.0  # slower, a person's sway would be taken for hum
RATE_OFF = 0.02  # as in the analysis
GRAVITY = 9.80665


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong: the code of a quality entry, what it is about, and its sentence."""

    code: str
    about: str
    sentence: str


def troubles(
    block: SampleBlock, rig: Rig, cells: list[CellForce], nominal_hz: float | None, *, hum: bool = True
) -> list[Trouble]:
    """What is wrong in a stretch of some seconds (at least 2 s; []: all is well, or it is too short to say).

    cells: in the rig's order · nominal_hz: the rate that the board said of itself · hum: look for it, in the newest five seconds
    """
    usable = (block.status & VALUE_FLAGS) == 0
    if usable.sum() < 20 or (block.board_us[-1] - block.board_us[0]) < STUCK_S * 0.95e6:
        return []
    rows = np.flatnonzero(usable)
    block = SampleBlock(
        block.sequence[rows], block.board_us[rows], block.status[rows], block.counts[rows],
        None if block.dt_us is None else block.dt_us[rows],
    )  # fmt: skip
    found = _Found(rig)
    good = _converters(block, rig, found)
    forces = ForceTable.of(cells).newtons(block.counts)
    slow = _slow_converters(block, cells, good, found)
    quick = [i for i in good if i not in slow]
    humming = _hum(block, cells, forces, quick, found) if hum else set()
    _noise(block, cells, forces, [i for i in quick if cells[i].channel not in humming], found)
    _empty_plates(block, rig, cells, forces, good, found)
    _loads(rig, cells, forces, good, found)
    rate_hz = measured_rate_hz(block)
    if nominal_hz is not None and abs(rate_hz - nominal_hz) > RATE_OFF * nominal_hz:
        found.all.append(Trouble("rate-differs", "", say("quality.rate-differs", measured=rate_hz, nominal=nominal_hz)))  # fmt: skip
    return found.all


class _Found:
    def __init__(self, rig: Rig) -> None:
        self.rig, self.all = rig, list[Trouble]()

    def cell(self, code: str, i: int, **facts: object) -> None:
        cell = self.rig.cells[i]
        name = say("verify.cell", channel=cell.channel, under=cell.under)
        sentence = say(f"quality.{code}", cell=name, **facts)
        self.all.append(Trouble(code, str(cell.channel), sentence[0].upper() + sentence[1:]))


def _converters(block: SampleBlock, rig: Rig, found: _Found) -> list[int]:
    """Dead, stuck and saturated cells; the others, as places in the rig's cells."""
    channels = [cell.channel for cell in rig.cells]
    counts, status = (
        block.counts[:, channels],
        np.stack([channel_status(block.status, c) for c in channels], axis=1),
    )
    at_end = (counts <= COUNTS_MIN) | (counts >= COUNTS_MAX) | (status == CHANNEL_SATURATED)
    dead, ended, stuck = (
        np.mean(one, axis=0) > OFTEN for one in (status == CHANNEL_TIMEOUT, at_end, status == CHANNEL_STUCK)
    )
    still = np.count_nonzero(counts[1:] == counts[:-1], axis=0)
    good = []
    for i in range(len(rig.cells)):
        if dead[i]:
            found.cell("cell-dead", i)
        elif ended[i]:
            found.cell("cell-saturated", i)
        elif stuck[i] or (still[i] >= STUCK_SAMPLES - 1 and _repeats(counts[:, i], block.board_us)):
            found.cell("cell-stuck", i)
        else:
            good.append(i)
    return good


def _repeats(counts: npt.NDArray[np.int64], board_us: npt.NDArray[np.int64]) -> bool:
    """The same reading for two seconds, and for at least ``STUCK_SAMPLES``."""
    changes = np.flatnonzero(np.diff(counts))
    edges = np.concatenate(([0], changes + 1, [len(counts) - 1]))
    longest_us = np.diff(board_us[edges]).max()
    return bool(longest_us >= STUCK_S * 0.95e6 and np.diff(edges).max() >= STUCK_SAMPLES)


def _noise(block: SampleBlock, cells: list[CellForce], forces: Array, good: list[int], found: _Found) -> None:
    """The conversions' own noise, by third differences, which a person's movement hardly enters."""
    if len(good) < 3:
        return
    noise_n = [_noise_n(_conversions(block, cells[i].channel, forces[:, i])[1]) for i in good]
    for place, (i, noise) in enumerate(zip(good, noise_n, strict=True)):
        others = median(noise_n[:place] + noise_n[place + 1 :])
        if noise > max(NOISY_TIMES * others, NOISY_N):
            found.cell("cell-noisy", i, noise=noise, others=others)
        elif noise < QUIET_TIMES * others:
            found.cell("cell-out-of-family", i, noise=noise, others=others)


def _slow_converters(block: SampleBlock, cells: list[CellForce], good: list[int], found: _Found) -> set[int]:
    """Places of converters that are left at a slower rate than their board sends; only their own times show it."""
    if block.dt_us is None:
        return set()
    rate_hz, slow = measured_rate_hz(block), set[int]()
    side_by_side = np.diff(block.sequence) == 1  # over a gap nobody knows how often it converted
    for i in good if np.count_nonzero(side_by_side) >= SLOW_STEPS else ():
        times_us = block.board_us + block.dt_us[:, cells[i].channel]
        own_hz = rate_hz * float(np.mean(np.diff(times_us)[side_by_side] != 0))
        if own_hz < SLOW_TIMES * rate_hz:
            found.cell("cell-slow", i, own=own_hz, rate=rate_hz)
            slow.add(i)
    return slow


def _noise_n(conversions_n: Array) -> float:
    """SD of white noise from the median |third difference|; √20 is the SD of a third difference of unit noise."""
    return float(np.median(np.abs(np.diff(conversions_n, 3)))) / NORMAL_MEDIAN / 20**0.5


def _conversions(block: SampleBlock, channel: int, force_n: Array) -> tuple[Array, Array]:
    """A cell's conversion times, s, and forces, each once."""
    times_us = block.board_us if block.dt_us is None else block.board_us + block.dt_us[:, channel]
    new = np.diff(times_us, prepend=times_us[0] - 1) != 0
    return (times_us[new] - times_us[0]) * 1e-6, force_n[new]


def _empty_plates(block: SampleBlock, rig: Rig, cells: list[CellForce], forces: Array, good: list[int], found: _Found) -> None:  # fmt: skip
    """A foot's plate that carries less than a foot and stands still: its cells must show nothing."""
    newest = block.board_us >= block.board_us[-1] - STUCK_S * 1e6
    least = rig.minimum_foot_load_n or 20.0
    for side in SIDES:
        own = rig.foot_cells(side)
        if any(i not in good for i in own) or abs(float(forces[newest][:, own].sum(axis=1).mean())) >= least:
            continue
        if any(movement(block.counts[newest, cells[i].channel].astype(np.float64)) > 1 for i in own):
            continue
        for i in own:
            shown = float(forces[newest, i].mean())
            limit = DRIFT_TIMES * rig.zero_drift_n
            if abs(shown) > max(RESTING * cells[i].capacity_n, limit):
                found.cell("cell-loaded-empty", i, shown=shown)
            elif abs(shown) > limit:
                found.cell("zero-drifted", i, shown=shown, limit=limit)


def _hum(
    block: SampleBlock, cells: list[CellForce], forces: Array, good: list[int], found: _Found
) -> set[int]:
    """Channels with a line at the mains' frequency, on the conversions' own times where they are known: aliasing then hides nothing."""
    newest = slice(int(np.searchsorted(block.board_us, block.board_us[-1] - int(WINDOW_S * 1e6))), None)
    block, forces = block[newest], forces[newest]
    rate_hz = measured_rate_hz(block)
    alias_hz = {mains: abs(mains - round(mains / rate_hz) * rate_hz) for mains in MAINS_HZ}
    seen = [mains for mains in MAINS_HZ if alias_hz[mains] >= SLOWEST_ALIAS_HZ]
    humming: dict[float, list[int]] = {}
    for i in good if seen else ():
        t_s, windowed_n = _fast_part(block, cells[i].channel, forces[:, i])
        if 2 * float(np.abs(windowed_n).sum()) <= HUM_N:
            continue  # no line can be higher than that
        for mains in seen:
            lines = _lines_n(mains, t_s, windowed_n)
            if lines[HUM_NEAR].max() > max(HUM_N, HUM_TIMES * float(np.median(lines[HUM_BESIDE]))):
                humming.setdefault(mains, []).append(cells[i].channel)
    if humming:
        mains = max(humming, key=lambda hz: len(humming[hz]))
        alias = alias_hz[mains]
        sentence = say(
            "quality.mains-hum", channels=", ".join(map(str, humming[mains])), mains=mains, alias=alias
        )
        found.all.append(Trouble("mains-hum", "", sentence))
    return {channel for channels in humming.values() for channel in channels}


def _fast_part(block: SampleBlock, channel: int, force_n: Array) -> tuple[Array, Array]:
    """A cell's conversion times, s, and what is faster than a few hertz in them, under a Hann window: sway sampled unevenly would
    else leak to everywhere."""
    t_s, force_n = _conversions(block, channel, force_n)
    fast = force_n - force_n.mean()
    width = min(SLOW_SAMPLES, len(fast) // 2)
    for _ in range(3):
        fast = fast - np.convolve(fast, np.full(width, 1 / width), mode="same")
    window = np.hanning(len(fast))
    return t_s, fast * window / window.sum()


def _lines_n(mains_hz: float, t_s: Array, windowed_n: Array) -> Array:
    """Amplitudes at ``mains_hz`` − 2.5, − 2.25, … + 2.5 Hz."""
    turn = np.exp(-2j * np.pi * HUM_STEP_HZ * t_s)
    wave = np.exp(-2j * np.pi * (mains_hz - HUM_STEPS * HUM_STEP_HZ) * t_s) * windowed_n
    turns = np.vander(turn, 2 * HUM_STEPS + 1, increasing=True)
    lines: Array = 2 * np.abs(wave @ turns)
    return lines


def _loads(rig: Rig, cells: list[CellForce], forces: Array, good: list[int], found: _Found) -> None:
    for i in good:
        largest = float(np.abs(forces[:, i]).max())
        if largest > cells[i].capacity_n:
            found.cell("beyond-capacity", i, largest=largest, capacity=cells[i].capacity_n)
    on_feet = [i for side in SIDES for i in rig.foot_cells(side)]
    if rig.max_person_kg is not None and all(i in good for i in on_feet):
        kg = float(np.median(forces[:, on_feet].sum(axis=1))) / GRAVITY
        if kg > rig.max_person_kg:
            found.all.append(Trouble("person-too-heavy", "", say("quality.person-too-heavy", kg=kg, limit=rig.max_person_kg)))  # fmt: skip


def of_recording(block: SampleBlock, rig: Rig, cells: list[CellForce]) -> Iterator[Trouble]:
    """What is wrong in a recording, piece by piece; hum, which comes and goes with plugs only, in a few of them."""
    parts = list(pieces(block))
    for number, part in enumerate(parts):
        yield from troubles(part, rig, cells, None, hum=number % -(-len(parts) // HUM_PIECES) == 0)


def pieces(block: SampleBlock) -> Iterator[SampleBlock]:
    """A recording in stretches of ``WINDOW_S``, of a long one longer; the last one may be longer still."""
    span_s = (int(block.board_us[-1]) - int(block.board_us[0])) / 1e6
    count = min(max(int(span_s / WINDOW_S), 1), MOST_PIECES)
    edges = block.board_us[0] + (np.arange(count) * (span_s * 1e6 / count)).astype(np.int64)
    starts = [*np.searchsorted(block.board_us, edges).tolist(), len(block)]
    for start, end in pairwise(starts):
        if end - start > 1:
            yield block[start:end]


class SelfWatch:
    """The live checks: fed with blocks, once a second they say anew what is wrong."""

    def __init__(self, rig: Rig, cells: list[CellForce], nominal_hz: float) -> None:
        self._rig, self._cells, self._nominal_hz = rig, cells, nominal_hz
        self._blocks: deque[SampleBlock] = deque()
        self._checked_us = 0
        self.now: tuple[Trouble, ...] = ()

    def feed(self, block: SampleBlock) -> bool:
        """True where ``now`` was made anew."""
        newest = int(block.board_us[-1])
        if self._blocks and newest < int(self._blocks[-1].board_us[-1]):
            self._blocks.clear()  # a replay went back
            self._checked_us = newest
        self._blocks.append(block)
        while newest - int(self._blocks[0].board_us[-1]) > WINDOW_S * 1e6:
            self._blocks.popleft()
        if newest - self._checked_us < EVERY_S * 1e6:
            return False
        self._checked_us = newest
        self.now = tuple(troubles(concatenate(list(self._blocks)), self._rig, self._cells, self._nominal_hz))
        return True
