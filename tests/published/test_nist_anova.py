"""NIST StRD, one-way analysis of variance (the sets that scipy's own tests carry): ICC(1,1) out of our mean squares against that out of the
certified ones. The average and higher sets have 1e6 and 1e12 added to every value: float64 itself keeps fewer digits of them."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from balance.day.reliability import agreement

FOLDER = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
TOLERANCE = {"SiRstv": 1e-9, "SmLs01": 1e-9, "SmLs02": 1e-9, "SmLs04": 1e-7, "SmLs05": 1e-7, "SmLs07": 1e-2}


@pytest.mark.parametrize("name", TOLERANCE)
def test_mean_squares(name: str) -> None:
    path = FOLDER / f"{name}.dat"
    if not path.exists():
        pytest.skip(f"this scipy carries no {path.name}")
    text = path.read_text()
    between, within = (
        float(re.search(rf"{word}[^\n]*?\s+\d+\s+\S+\s+(\S+)", text)[1]) for word in ("Between", "Within")
    )
    rows = [line.split() for line in text.splitlines() if re.fullmatch(r"\s*\d+\s+-?[\d.]+\s*", line)]
    groups: dict[str, list[float]] = {}
    for group, value in rows:
        groups.setdefault(group, []).append(float(value))
    table = np.array(list(groups.values()))
    k = table.shape[1]
    certified = (between - within) / (between + (k - 1) * within)
    assert agreement(table)["icc_1_1"] == pytest.approx(certified, rel=TOLERANCE[name])
