"""ICC forms and limits of agreement against a general statistics package, on tables of its own kind (in the extra 'oracles')."""

from __future__ import annotations

import numpy as np
import pytest

from balance.day.reliability import agreement, two_repeats

pingouin = pytest.importorskip("pingouin")


@pytest.mark.parametrize(("subjects", "repeats"), [(5, 2), (8, 4), (20, 3)])
@pytest.mark.filterwarnings("ignore")
def test_icc(subjects: int, repeats: int) -> None:
    import pandas as pd

    rng = np.random.default_rng(subjects)
    table = (
        rng.normal(0, 3, (subjects, 1)) + rng.normal(0, 0.5, repeats) + rng.normal(0, 1, (subjects, repeats))
    )
    long = pd.DataFrame(
        [(s, r, table[s, r]) for s in range(subjects) for r in range(repeats)], columns=["s", "r", "x"]
    )
    theirs = pingouin.intraclass_corr(long, "s", "r", "x")
    value = dict(
        zip(range(len(theirs)), theirs["ICC"], strict=True)
    )  # in the order 1,1 · 2,1 · 3,1 · 1,k · 2,k · 3,k
    ours = agreement(table)
    assert [ours["icc_1_1"], ours["icc_2_1"], ours["icc_3_1"], ours["icc_2_k"]] == pytest.approx(
        [value[0], value[1], value[2], value[4]], abs=1e-9
    )


def test_limits_of_agreement_by_hand() -> None:
    rng = np.random.default_rng(9)
    table = rng.normal(100, 10, (15, 2))
    found = two_repeats(table)
    d = table[:, 1] - table[:, 0]
    assert found["bias"] == pytest.approx(d.mean())
    assert found["limits_of_agreement"] == pytest.approx(
        [d.mean() - 1.96 * d.std(ddof=1), d.mean() + 1.96 * d.std(ddof=1)]
    )
