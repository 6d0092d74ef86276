"""Santos & Duarte 2016, A public data set of human balance evaluations, PeerJ 4:e2648: recording BDS00001.

Published: ellipse area, mean velocity (path over N/rate: converted in the open), mean frequency under Welch.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.published.authors_figures import authors_figures
from tests.published.open_data import open_data
from tests.published.open_recording import a_recording
from tests.support import findings_of

PUBLISHED = (0.9446915167229832, 0.620189911656219, 0.2565758824783575)  # cm², cm/s, Hz


def test_single_plate_recording() -> None:
    """Santos & Duarte 2016, recording BDS00001: published area, mean velocity, mean frequency."""
    d = np.genfromtxt(open_data("BDS00001.txt"), delimiter="\t", skip_header=1)
    found = authors_figures(d[:, 7], d[:, 8])
    assert found == pytest.approx((0.9446915167229832, 0.620189911656219, 0.2565758824783575), rel=1e-6)


def test_single_plate(tmp_path: Path) -> None:
    table = np.genfromtxt(open_data("BDS00001_4cells.csv"), delimiter=",", skip_header=1)[:, 1:]
    folder = a_recording(tmp_path / "x", table, (-180.0, 20.0), (-100.0, 100.0))
    found = findings_of(folder, cutoff=None, spectrum="welch")
    sway, n, rate = found["sway"]["resultant"], found["time"]["samples"], found["time"]["rate_hz"]
    assert sway["ellipse95_area_mm2"] / 100 == pytest.approx(0.9446915167229832, rel=1e-6)
    assert sway["mean_speed_mm_s"] / 10 * ((n - 1) / n) == pytest.approx(0.620189911656219, rel=1e-6)
    assert sway["weighted_mean_frequency_hz"] == pytest.approx(0.2565758824783575, rel=1e-6)
    assert rate == pytest.approx(100.0)
    assert found["load"]["right_pct"] == pytest.approx(54.85092181, rel=1e-6)
