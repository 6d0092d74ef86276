"""Real standing recordings through the whole program: a recording made of four cells' loads, then ``analyse``.

Santos & Duarte 2016, PeerJ 4:e2648 (BDS00001): published ellipse area, mean velocity (path over N/rate: converted in the open)
and mean frequency under Welch. dos Santos et al. 2017, PeerJ 5:e3626 (PDS13OR1): right share and each foot's mean AP, recomputed.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from tests.published.open_data import open_data
from tests.support import findings_of

PER_COUNT = 5e-5  # N: finer than the files' own digits need, and 24 bits still hold the loads


def a_recording(folder: Path, table: np.ndarray, ap: tuple[float, float], ml: tuple[float, float]) -> Path:
    """A recording in our format from loads of four cells in newtons, 100 samples a second."""
    folder.mkdir()
    counts = np.rint(table / PER_COUNT).astype(np.int64)
    rows = [f"{i},{i * 10_000},0,{','.join(map(str, c))}" for i, c in enumerate(counts.tolist())]
    text = "sequence,board_us,status,ch0,ch1,ch2,ch3\n" + "\n".join(rows) + "\n"
    (folder / "samples.csv").write_text(text)
    places = [
        ("left heel", ap[0], ml[0]),
        ("left forefoot", ap[1], ml[0]),
        ("right heel", ap[0], ml[1]),
        ("right forefoot", ap[1], ml[1]),
    ]
    cells = [
        {"channel": c, "under": u, "ap_mm": a, "ml_mm": m, "capacity_n": 1000.0}
        for c, (u, a, m) in enumerate(places)
    ]
    foot = {
        "heel_edge_ap_mm": ap[0],
        "usable_length_mm": ap[1] - ap[0],
        "heel_width_mm": 60.0,
        "forefoot_width_mm": 90.0,
    }
    channel = {
        "zero_counts": 0.0,
        "zero_uncertainty_counts": 0.0,
        "newton_per_count": PER_COUNT,
        "covariance": [[0.0]],
        "residual_n": 0.0,
    }
    trial = {
        "schema": 1, "state": "complete", "protocol": "quiet standing", "rate_hz": 100.0,
        "rig": {"schema": 1, "name": "open data", "cell": cells},
        "stance": {"schema": 1, "left_foot": {**foot, "heel_edge_ml_mm": ml[0]}, "right_foot": {**foot, "heel_edge_ml_mm": ml[1]}},
        "calibration": {"schema": 1, "rig": "open data", "made": "2026-01-01T00:00:00+00:00", "channels": [{"channel": c, **channel} for c in range(4)]},
        "samples": {"file": "samples.csv", "rows": len(counts), "sha256": hashlib.sha256(text.encode()).hexdigest()},
    }  # fmt: skip
    (folder / "trial.json").write_text(json.dumps(trial))
    return folder


def test_single_plate(tmp_path: Path) -> None:
    table = np.genfromtxt(open_data("BDS00001_4cells.csv"), delimiter=",", skip_header=1)[:, 1:]
    folder = a_recording(tmp_path / "x", table, (-180.0, 20.0), (-100.0, 100.0))
    found = findings_of(folder, cutoff=None, spectrum="welch")
    sway, n, rate = found["sway"]["resultant"], found["time"]["samples"], found["time"]["rate_hz"]
    assert sway["ellipse95_area_mm2"] / 100 == pytest.approx(0.9446915167229832, rel=1e-5)
    assert sway["mean_speed_mm_s"] / 10 * ((n - 1) / n) == pytest.approx(0.620189911656219, rel=1e-5)
    assert sway["weighted_mean_frequency_hz"] == pytest.approx(0.2565758824783575, rel=1e-5)
    assert rate == pytest.approx(100.0)
    assert found["load"]["right_pct"] == pytest.approx(54.85092181, rel=1e-6)


def test_dual_plates(tmp_path: Path) -> None:
    table = np.genfromtxt(open_data("PDS13OR1_4cells.csv"), delimiter=",", skip_header=1)[:, 1:]
    found = findings_of(a_recording(tmp_path / "x", table, (100.0, 340.0), (-88.8, 88.4)), cutoff=None)
    assert found["load"]["right_pct"] == pytest.approx(45.55473525, rel=1e-6)
    plates = np.genfromtxt(open_data("PDS13OR1grf_9cols.txt"), delimiter="\t", skip_header=1)
    for line, column in (("right", 3), ("left", 5)):
        ap_mm = found["load_line"][line]["mean_mm"] + 100.0
        assert ap_mm == pytest.approx(float(plates[:, column].mean() * 1000), abs=0.01)
