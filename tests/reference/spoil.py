"""Rows of a made-up recording as a board would give them, and what can go wrong with them."""

from dataclasses import dataclass

import numpy as np

WAYS = ("short gaps", "long gap", "faults", "harmless faults", "saturated", "spike", "late rows")


@dataclass
class Rows:
    """The columns of samples.csv; counts and dt_us (rows, channels)."""

    sequence: np.ndarray
    board_us: np.ndarray
    status: np.ndarray
    counts: np.ndarray
    dt_us: np.ndarray | None

    @classmethod
    def of(cls, rng: np.random.Generator, forces: np.ndarray, rig: dict, calibration: dict, rate: float):
        """Counts of these cell forces (rows, cells), with noise, on a clock of its own."""
        n = len(forces)
        period = 1e6 / rate * (1 + (rng.uniform(-0.005, 0.005) if rng.random() < 0.85 else 0.03))
        jitter = rng.uniform(-0.04, 0.04, n) * period if rng.random() < 0.5 else np.zeros(n)
        board_us = np.round(np.arange(n) * period + jitter).astype(np.int64)
        board_us += int(rng.choice([0, 12345, 2**32 + 17])) - min(0, board_us[0])
        forces = forces + rng.normal(0, 0.3, forces.shape)
        dt_us = None
        if rng.random() < 0.3 or (rate == 10 and rng.random() < 0.5):
            own = rng.uniform(-0.45, -0.02, len(calibration["channels"])) * period
            spread = rng.uniform(-0.02, 0.02, (n, len(own))) * period
            dt_us = np.round((own + spread) / 4).astype(np.int64) * 4
        counts = np.round(rng.normal(0, 3e4, (n, len(calibration["channels"])))).astype(np.int64)
        for i, cell in enumerate(rig["cell"]):
            c = cell["channel"]
            f = forces[:, i]
            if dt_us is not None:
                f = np.interp(board_us + dt_us[:, c], board_us, f)
            counts[:, c] = to_counts(f, calibration["channels"][c])
        if dt_us is not None:
            _repeat_conversions(rng, board_us, counts, dt_us)
        start = int(rng.choice([0, 1, 70000]))
        return cls(np.arange(n, dtype=np.int64) + start, board_us, np.zeros(n, np.int64), counts, dt_us)

    def drop(self, gone: np.ndarray) -> None:
        """Rows that never came."""
        for name in ("sequence", "board_us", "status", "counts", "dt_us"):
            column = getattr(self, name)
            if column is not None:
                setattr(self, name, column[~gone])


def to_counts(f: np.ndarray, entry: dict) -> np.ndarray:
    """The reading for a force: the calibration turned round."""
    a1, a2 = entry["newton_per_count"], entry["newton_per_count2"]
    x = 2 * f / (a1 + np.sign(a1) * np.sqrt(a1**2 + 4 * a2 * f))
    return np.round(entry["zero_counts"] + x).astype(np.int64)


def _repeat_conversions(rng, board_us, counts, dt_us) -> None:
    """Some rows carry a channel's conversion of the row before."""
    for c in range(counts.shape[1]):
        for i in rng.choice(np.arange(1, len(board_us)), 5, replace=False):
            counts[i, c] = counts[i - 1, c]
            dt_us[i, c] = board_us[i - 1] + dt_us[i - 1, c] - board_us[i]


def spoil(rng: np.random.Generator, rows: Rows, rig: dict, calibration: dict) -> None:
    """Up to three troubles."""
    n = len(rows.sequence)
    channels = [cell["channel"] for cell in rig["cell"]]
    idle = [c for c in range(rows.counts.shape[1]) if c not in channels]
    gone = np.zeros(n, bool)
    for way in rng.choice(WAYS, int(rng.integers(0, 4)), replace=False):
        some = rng.choice(np.arange(20, n - 20), 4, replace=False)
        if way == "short gaps":
            for i in some:
                gone[i : i + int(rng.integers(1, 6))] = True
        elif way == "long gap":
            gone[some[0] : some[0] + int(rng.integers(15, 80))] = True
        elif way == "faults":
            rows.status[some[0]] |= int(rng.integers(1, 4)) << (8 + 2 * channels[0])
            rows.status[some[1]] |= int(rng.choice([16, 32]))
        elif way == "harmless faults":
            rows.status[some] |= np.array([1, 2, 4, 64])
            for c in idle:
                rows.status[some[3]] |= 3 << (8 + 2 * c)
        elif way == "saturated":
            rows.counts[some[0], channels[-1]] = 2**23 - 1
            rows.counts[some[1], channels[0]] = -(2**23)
        elif way == "spike":
            beyond = 1.7 * rig["cell"][0]["capacity_n"]
            rows.counts[some[0], channels[0]] = to_counts(
                np.array([beyond]), calibration["channels"][channels[0]]
            )[0]
        elif way == "late rows":
            step = int(np.median(np.diff(rows.board_us)))
            for i in some:
                rows.board_us[i] += round(0.4 * step)
    rows.drop(gone)
