"""From counts to low-passed newtons on an even row of samples: what is left out, filled, split, resampled."""

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.signal import butter, sosfiltfilt

from tests.reference.reading import Recording

LONGEST_FILLED_US = 100_000
SHORTEST_STRETCH = 10
TEST_STREAM, SETTLING = 16, 32
LOWEST, HIGHEST = -(2**23), 2**23 - 1


@dataclass
class Chain:
    """One recording's way from counts to newtons. Samples: those of all stretches, one after the other."""

    rate_hz: float
    counts: np.ndarray  # (kept rows, cells)
    board_us: np.ndarray  # (kept rows,)
    dt_us: np.ndarray | None  # (kept rows, cells)
    left_out: int
    grid_us: list[np.ndarray] = field(default_factory=list)  # a stretch each
    filled: np.ndarray = field(default_factory=lambda: np.zeros(0, bool))
    time_s: np.ndarray = field(default_factory=lambda: np.zeros(0))
    stretches: list[tuple[int, int]] = field(default_factory=list)

    def newtons(self, a1, a2, zero) -> np.ndarray:
        """(kept rows, cells), as calibrated, before anything else."""
        x = self.counts - zero
        return a1 * x + a2 * x**2

    def even(self, newtons: np.ndarray) -> np.ndarray:
        """(samples, cells): own conversion times brought to the rows, short gaps filled, or resampled."""
        at_rows = newtons
        if self.dt_us is not None:
            columns = []
            for c in range(newtons.shape[1]):
                times, first = np.unique(self.board_us + self.dt_us[:, c], return_index=True)
                columns.append(np.interp(self.board_us, times, newtons[first, c]))
            at_rows = np.stack(columns, axis=1)
        return np.concatenate(
            [
                np.stack([np.interp(grid, self.board_us, column) for column in at_rows.T], axis=1)
                for grid in self.grid_us
            ]
        )

    def low_passed(self, even: np.ndarray, cutoff_hz: float | None) -> np.ndarray:
        """Forward and backward in each stretch, so that both passes together have 1/√2 at the cut-off."""
        if cutoff_hz is None or not cutoff_hz < 0.4 * self.rate_hz:
            return even
        w = math.tan(math.pi * cutoff_hz / self.rate_hz) / (math.sqrt(2) - 1) ** 0.25
        sos = butter(2, self.rate_hz * math.atan(w) / math.pi, fs=self.rate_hz, output="sos")
        return np.concatenate([sosfiltfilt(sos, even[a:b], axis=0) for a, b in self.stretches])


def make_chain(recording: Recording, cells: list[dict], a1, a2, zero) -> Chain:
    """The chain of these cells; a1, a2, zero (cells,) tell the rows beyond what a cell can carry."""
    seq, us = recording.sequence, recording.board_us
    rate = (seq[-1] - seq[0]) / ((us[-1] - us[0]) * 1e-6)
    channels = [cell["channel"] for cell in cells]
    counts = recording.counts[:, channels]
    x = counts - zero
    forces = a1 * x + a2 * x**2
    capacity = np.array([cell["capacity_n"] for cell in cells])
    bad = (recording.status & (TEST_STREAM | SETTLING)) != 0
    for channel in channels:
        bad |= ((recording.status >> (8 + 2 * channel)) & 3) != 0
    bad |= ((counts == LOWEST) | (counts == HIGHEST)).any(axis=1)
    bad |= (np.abs(forces) > 1.5 * capacity).any(axis=1)
    kept = ~bad
    chain = Chain(
        rate_hz=float(rate),
        counts=counts[kept].astype(float),
        board_us=us[kept],
        dt_us=None if recording.dt_us is None else recording.dt_us[kept][:, channels],
        left_out=int(bad.sum()),
    )
    per_step = np.diff(us) / np.diff(seq)
    middle = np.median(per_step)
    uneven = bool((np.abs(per_step - middle) > 0.2 * middle).any())
    pieces = _resampled(seq[kept], us[kept], rate) if uneven else _by_sequence(seq[kept], us[kept])
    pieces = [(grid, filled) for grid, filled in pieces if len(grid) >= SHORTEST_STRETCH]
    chain.grid_us = [grid for grid, _ in pieces]
    chain.filled = np.concatenate([filled for _, filled in pieces])
    chain.time_s = (np.concatenate(chain.grid_us) - us[0]) * 1e-6
    end = 0
    for grid in chain.grid_us:
        chain.stretches.append((end, end + len(grid)))
        end += len(grid)
    return chain


def _by_sequence(seq, us):
    """A sample each sequence number; a missing one stands evenly between its neighbours in time."""
    pieces = []
    start = 0
    for i in range(1, len(seq) + 1):
        ends = i == len(seq) or (seq[i] - seq[i - 1] > 1 and us[i] - us[i - 1] > LONGEST_FILLED_US)
        if ends:
            whole = np.arange(seq[start], seq[i - 1] + 1)
            grid = np.interp(whole, seq[start:i], us[start:i])
            pieces.append((grid, ~np.isin(whole, seq[start:i])))
            start = i
    return pieces


def _resampled(seq, us, rate_hz):
    """Samples at the measured rate from the first one on; what falls into a gap is filled, or splits."""
    count = math.floor((us[-1] - us[0]) * 1e-6 * rate_hz + 1e-9) + 1
    grid = us[0] + np.arange(count) * 1e6 / rate_hz
    stretch = np.zeros(count, int)
    inside_long = np.zeros(count, bool)
    filled = np.zeros(count, bool)
    for i in range(1, len(seq)):
        if seq[i] - seq[i - 1] > 1:
            inside = (grid > us[i - 1]) & (grid < us[i])
            if us[i] - us[i - 1] > LONGEST_FILLED_US:
                inside_long |= inside
                stretch += grid >= us[i]
            else:
                filled |= inside
    return [
        (grid[(stretch == s) & ~inside_long], filled[(stretch == s) & ~inside_long])
        for s in range(stretch.max() + 1)
        if ((stretch == s) & ~inside_long).any()
    ]
