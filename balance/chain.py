"""The offline chain: a recording's counts to low-passed newtons on even samples; what is left out, filled, split."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.filters import SHORTEST, fits, zero_phase
from balance.forces import CellForce, ForceTable
from drivers.samples import IntArray, SampleBlock

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

LONGEST_FILLED_S = 0.1  # longer gaps split the recording; tool default
UNEVEN = 0.2  # an interval this far from the median makes the samples be laid out anew


@dataclass(frozen=True)
class Prepared:
    """Even samples of all stretches, one after the other.

    raw_n       (cells, n) newtons, gaps filled, not filtered
    real        (n,) measured; False: filled in to feed filter and spectra
    time_s      (n,) seconds after the recording's first row
    stretches   [start, end) of unbroken samples, each of at least ten
    rate_hz     measured; kept and left out: rows of the file
    largest_n   a cell's largest |force| over the kept rows
    """

    raw_n: Array
    real: Mask
    time_s: Array
    stretches: list[tuple[int, int]]
    rate_hz: float
    left_out: int
    largest_n: list[float]

    def filtered_n(self, cutoff_hz: float | None) -> Array:
        """(cells, n) low-passed in each stretch; unfiltered for None or where the rate is too low for it."""
        if cutoff_hz is None or not fits(cutoff_hz, self.rate_hz):
            return self.raw_n
        parts = [zero_phase(self.raw_n[:, a:b], cutoff_hz, self.rate_hz) for a, b in self.stretches]
        return np.concatenate(parts, axis=1) if parts else self.raw_n


def measured_rate_hz(block: SampleBlock) -> float:
    """(last − first sequence number) / span of the board's clock; at least two rows with a span."""
    return float((block.sequence[-1] - block.sequence[0]) / ((block.board_us[-1] - block.board_us[0]) * 1e-6))


def prepare(block: SampleBlock, cells: list[CellForce]) -> Prepared:
    """The chain up to the filter."""
    rate_hz = measured_rate_hz(block)
    table = ForceTable.of(cells)
    forces = table.newtons(block.counts)
    good = table.usable(block.status, block.counts, forces)
    sequence, us = block.sequence[good], block.board_us[good]
    newtons = list(np.ascontiguousarray(forces[good].T))
    largest = [float(np.abs(f).max()) if len(f) else 0.0 for f in newtons]
    if block.dt_us is not None and len(us):
        newtons = [_at_rows(us, block.dt_us[good, c.channel], f) for c, f in zip(cells, newtons, strict=True)]
    # The unevenness is judged on all rows of the file; the layout uses those that can be used.
    step_us = np.diff(block.board_us) / np.diff(block.sequence)
    middle = float(np.median(step_us))
    uneven = bool((np.abs(step_us - middle) > UNEVEN * middle).any())
    pieces = _resampled(sequence, us, rate_hz) if uneven else _by_sequence(sequence, us)
    pieces = [piece for piece in pieces if len(piece[0]) >= SHORTEST]
    stretches, end = [], 0
    for grid, _ in pieces:
        stretches.append((end, end + len(grid)))
        end += len(grid)
    grid_us = np.concatenate([grid for grid, _ in pieces]) if pieces else np.zeros(0)
    real = np.concatenate([real for _, real in pieces]) if pieces else np.zeros(0, dtype=np.bool_)
    raw = [np.interp(grid_us, us, f) if len(us) else np.zeros(0) for f in newtons]
    return Prepared(
        raw_n=np.array(raw).reshape(len(cells), len(grid_us)),
        real=real,
        time_s=(grid_us - float(block.board_us[0])) * 1e-6,
        stretches=stretches,
        rate_hz=rate_hz,
        left_out=int((~good).sum()),
        largest_n=largest,
    )


def _at_rows(row_us: IntArray, dt_us: IntArray, force_n: Array) -> Array:
    """A channel's newtons from its own conversion times to the rows'; a conversion seen twice counts once."""
    times, first = np.unique(row_us + dt_us, return_index=True)
    return np.interp(row_us, times, force_n[first])


def _by_sequence(sequence: IntArray, us: IntArray) -> list[tuple[Array, Mask]]:
    """A sample each sequence number; a missing one stands evenly between its neighbours in time."""
    if len(sequence) == 0:
        return []
    splits = np.flatnonzero((np.diff(sequence) > 1) & (np.diff(us) > LONGEST_FILLED_S * 1e6)) + 1
    pieces = []
    for seq, time in zip(np.split(sequence, splits), np.split(us, splits), strict=True):
        whole = np.arange(seq[0], seq[-1] + 1)
        real = np.zeros(len(whole), dtype=np.bool_)
        real[seq - seq[0]] = True
        pieces.append((np.interp(whole, seq, time), real))
    return pieces


def _resampled(sequence: IntArray, us: IntArray, rate_hz: float) -> list[tuple[Array, Mask]]:
    """Samples at the measured rate from the first one on; what falls into a gap is filled, or splits."""
    if len(sequence) < 2:
        return []
    count = int(np.floor((us[-1] - us[0]) * 1e-6 * rate_hz + 1e-9)) + 1
    grid = us[0] + np.arange(count) * (1e6 / rate_hz)
    after = np.clip(np.searchsorted(us, grid, side="left"), 1, max(len(us) - 1, 1))
    before = after - 1
    between = (grid > us[before]) & (grid < us[after])
    skipped = np.diff(sequence)[before] > 1
    long = np.diff(us)[before] > LONGEST_FILLED_S * 1e6
    in_long = between & skipped & long
    real = ~(between & skipped)
    long_gaps = us[1:][(np.diff(sequence) > 1) & (np.diff(us) > LONGEST_FILLED_S * 1e6)]
    stretch = np.searchsorted(long_gaps, grid, side="right")
    pieces = []
    for number in range(len(long_gaps) + 1):
        inside = (stretch == number) & ~in_long
        if inside.any():
            pieces.append((grid[inside], real[inside]))
    return pieces
