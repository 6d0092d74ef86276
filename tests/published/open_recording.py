"""A recording in our format from an open table of four cells' loads; each cell's range laid out over 24 bits of counts."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np

REACH = 8_000_000  # counts either way from the middle of a cell's range


def a_recording(folder: Path, table: np.ndarray, ap: tuple[float, float], ml: tuple[float, float]) -> Path:
    """Loads (n, 4) in newtons, 100 samples a second, as a closed recording; counts finer than 1e-4 N."""
    folder.mkdir()
    middle = (table.max(axis=0) + table.min(axis=0)) / 2
    per_count = np.ptp(table, axis=0) / (2 * REACH)
    assert (per_count < 1e-4).all()
    zero = np.rint(-middle / per_count)
    counts = np.rint(table / per_count + zero).astype(np.int64)
    rows = [f"{i},{i * 10_000},0,{','.join(map(str, c))}" for i, c in enumerate(counts.tolist())]
    text = "sequence,board_us,status,ch0,ch1,ch2,ch3\n" + "\n".join(rows) + "\n"
    (folder / "samples.csv").write_text(text)
    places = [("left heel", ap[0], ml[0]), ("left forefoot", ap[1], ml[0]), ("right heel", ap[0], ml[1]), ("right forefoot", ap[1], ml[1])]  # fmt: skip
    cells = [
        {"channel": c, "under": u, "ap_mm": a, "ml_mm": m, "capacity_n": 1000.0}
        for c, (u, a, m) in enumerate(places)
    ]
    channels = [
        {"channel": c, "zero_counts": zero[c], "zero_uncertainty_counts": 0.0, "newton_per_count": per_count[c],
         "covariance": [[0.0]], "residual_n": 0.0}
        for c in range(4)
    ]  # fmt: skip
    foot = {
        "heel_edge_ap_mm": ap[0],
        "usable_length_mm": ap[1] - ap[0],
        "heel_width_mm": 60.0,
        "forefoot_width_mm": 90.0,
    }
    trial = {
        "schema": 1, "state": "complete", "protocol": "quiet standing", "rate_hz": 100.0,
        "rig": {"schema": 1, "name": "open data", "cell": cells},
        "stance": {"schema": 1, "left_foot": {**foot, "heel_edge_ml_mm": ml[0]}, "right_foot": {**foot, "heel_edge_ml_mm": ml[1]}},
        "calibration": {"schema": 1, "rig": "open data", "made": "2026-01-01T00:00:00+00:00", "channels": channels},
        "samples": {"file": "samples.csv", "rows": len(counts), "sha256": hashlib.sha256(text.encode()).hexdigest()},
    }  # fmt: skip
    (folder / "trial.json").write_text(json.dumps(trial))
    return folder
