"""dos Santos, Fukuchi, Fukuchi & Duarte 2017, PeerJ 5:e3626: recording PDS13OR1, one foot on each of two plates.

Published: mean velocity and frequency of the net point; its area, the right share and each foot's mean AP recomputed.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.published.authors_figures import authors_figures
from tests.published.open_data import open_data
from tests.published.open_recording import a_recording
from tests.support import findings_of


def test_dual_plate_recording() -> None:
    """dos Santos et al. 2017, recording PDS13OR1: published mean velocity and frequency of the net CoP, and its area."""
    d = np.genfromtxt(open_data("PDS13OR1grf_9cols.txt"), delimiter="\t", skip_header=1)
    found = authors_figures(d[:, 7] * 100, d[:, 8] * 100)
    assert found == pytest.approx((3.4690475628580293, 1.3771350071588582, 0.1936755219596234), rel=1e-6)


def test_dual_plates(tmp_path: Path) -> None:
    table = np.genfromtxt(open_data("PDS13OR1_4cells.csv"), delimiter=",", skip_header=1)[:, 1:]
    found = findings_of(a_recording(tmp_path / "x", table, (100.0, 340.0), (-88.8, 88.4)), cutoff=None)
    assert found["load"]["right_pct"] == pytest.approx(45.55473525, rel=1e-6)
    plates = np.genfromtxt(open_data("PDS13OR1grf_9cols.txt"), delimiter="\t", skip_header=1)
    for line, column in (("right", 3), ("left", 5)):
        ap_mm = found["load_line"][line]["mean_mm"] + 100.0
        assert ap_mm == pytest.approx(float(plates[:, column].mean() * 1000), abs=0.01)
