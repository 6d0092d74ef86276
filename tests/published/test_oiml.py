"""OIML R 60-1:2021 and R 76-1:2006: the largest errors of load cells and scales, beside which a calibration's limits are shown."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from balance.calibrating.limits import CLASS_D_PCT

DATA = Path(__file__).parent / "data"


def rows(name: str, key: str, wanted: str) -> list[dict[str, str]]:
    with (DATA / name).open() as file:
        return [r for r in csv.DictReader(file) if r[key] == wanted]


def test_class_d_as_parts_of_capacity() -> None:
    """1000 intervals v, apportionment p = 0.7: errors of 1.5 p v at the top; creep 0.7 of it; return half an interval."""
    top = rows("oiml_r60_mpe.csv", "class", "D")[-1]
    assert float(top["load_max_incl_v"]) == 1000
    largest = 0.7 * float(top["mpe_factor_times_pLC_v"]) / 1000 * 100
    assert CLASS_D_PCT["nonlinearity_pct"] == CLASS_D_PCT["hysteresis_pct"] == pytest.approx(largest)
    assert CLASS_D_PCT["repeatability_pct"] == pytest.approx(largest)
    assert CLASS_D_PCT["creep_pct"] == pytest.approx(0.7 * largest)
    assert CLASS_D_PCT["zero_return_pct"] == pytest.approx(0.5 / 1000 * 100)


def test_a_verified_scale_in_service() -> None:
    """Class III with 3000 intervals: a person at half of the scale's reach is known to 1/500 of that or better."""
    band = [r for r in rows("oiml_r76_mpe_initial.csv", "class", "III") if int(r["load_min_excl_e"]) < 1500]
    assert float(band[-1]["mpe_e_in_service"]) / 1500 <= 0.002
