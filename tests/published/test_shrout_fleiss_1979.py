"""Shrout & Fleiss 1979, Psychol Bull 86:420–428, table 2: six targets, four judges; ICC forms as printed there (2 digits) and to six
digits as general-purpose packages compute them; the interval of ICC(2,1) after McGraw & Wong 1996."""

from __future__ import annotations

import numpy as np
import pytest

from balance.day.reliability import agreement

RATINGS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float
)
FOUND = agreement(RATINGS)


@pytest.mark.parametrize(
    ("form", "printed", "exact"),
    [
        ("icc_1_1", 0.17, 0.165742),
        ("icc_2_1", 0.29, 0.289764),
        ("icc_3_1", 0.71, 0.714841),
        ("icc_2_k", 0.62, 0.620051),
    ],
)
def test_the_forms(form: str, printed: float, exact: float) -> None:
    assert FOUND[form] == pytest.approx(printed, abs=0.0051)
    assert FOUND[form] == pytest.approx(exact, abs=1e-6)


def test_the_interval_and_the_errors_of_measurement() -> None:
    assert FOUND["ci95_icc_2_1"] == pytest.approx([0.018787, 0.761084], abs=1e-6)
    assert FOUND["sem_consistency"] == pytest.approx(1.009675, abs=1e-6)
    assert FOUND["sem_agreement"] == pytest.approx(2.502776, abs=1e-6)
    assert FOUND["mdc95_consistency"] == pytest.approx(2.798677, abs=1e-6)
    assert FOUND["mdc95_agreement"] == pytest.approx(6.937342, abs=1e-6)
    assert FOUND["sem_dof"] == 15


def test_repeats_without_any_difference_have_no_nan() -> None:
    same = agreement(np.array([[1.0, 1.0], [2.0, 2.0], [4.0, 4.0]]))
    assert same["icc_2_1"] == 1.0
    assert same["ci95_icc_2_1"] is None
    assert same["sem_agreement"] == 0.0
    flat = agreement(np.ones((3, 2)))
    assert flat["icc_2_1"] is None
