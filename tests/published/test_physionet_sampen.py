"""Sample entropy against PhysioNet's published figures for its test series (SampEn 1.0.0, README: 1024 samples, r = 0.2), general
libraries, and what theory says of independent values. Richman & Moorman 2000, Am J Physiol 278:H2039–H2049."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from balance.measures.entropy import matches, sample_entropy

DATA = Path(__file__).parent / "data" / "physionet_sampentest.csv"
PUBLISHED = {1: 2.224817, 2: 2.197225, 3: 2.155202, 4: 2.315008}
PAIRS = {1: (6291, 58203), 2: (699, 6291), 3: (81, 699), 4: (8, 81)}


def _plain(x: np.ndarray, m: int, r: float) -> tuple[int, int]:
    """Every pair, one after the other."""
    a = b = 0
    for i in range(len(x) - m):
        for j in range(i + 1, len(x) - m):
            if all(abs(x[i + k] - x[j + k]) <= r for k in range(m)):
                b += 1
                a += bool(abs(x[i + m] - x[j + m]) <= r)
    return a, b


@pytest.mark.parametrize("m", PUBLISHED)
def test_the_published_figures(m: int) -> None:
    series = np.loadtxt(DATA, skiprows=1)
    assert sample_entropy(series, m, 0.2 * series.std()) == pytest.approx(PUBLISHED[m], abs=5e-7)
    assert matches(series, m, 0.2 * float(series.std())) == PAIRS[m]


@pytest.mark.parametrize(
    ("kind", "r", "expected"),
    [("normal", 0.2, 2.185132), ("normal", 0.15, 2.471359), ("uniform", 0.2, 2.188036)],
)
def test_independent_values(kind: str, r: float, expected: float) -> None:
    """−ln erf(r/2) for normal values, −ln(2t − t²) with t = r/√12 for uniform ones, whatever m; the mean of 8 series of 3000."""
    theory = -math.log(math.erf(r / 2)) if kind == "normal" else -math.log(2 * r / 12**0.5 - r**2 / 12)
    assert theory == pytest.approx(expected, abs=1e-6)
    rng = np.random.default_rng(3)
    drawn = [getattr(rng, kind)(size=3000) for _ in range(8)]
    found = [sample_entropy(x, 2, r * x.std()) for x in drawn]
    assert np.mean([f for f in found if f is not None]) == pytest.approx(expected, abs=3 * 0.015 / 8**0.5)


def test_against_counting_every_pair() -> None:
    rng = np.random.default_rng(1)
    for n, m, r in ((12, 2, 0.4), (70, 1, 0.2), (140, 2, 0.2), (200, 3, 0.5)):
        for x in (rng.standard_normal(n), np.round(rng.standard_normal(n), 1), np.sin(np.arange(n))):
            assert matches(x, m, r) == _plain(x, m, r)


def test_against_general_libraries() -> None:
    nolds = pytest.importorskip("nolds")
    rng = np.random.default_rng(2)
    x = np.cumsum(rng.standard_normal(600))
    for m in (1, 2, 3):
        assert sample_entropy(x, m) == pytest.approx(
            nolds.sampen(x, emb_dim=m, tolerance=0.2 * x.std()), rel=1e-12
        )


def test_against_antropy() -> None:
    antropy = pytest.importorskip("antropy")  # slow to import: in the extra 'oracles' only
    x = np.cumsum(np.random.default_rng(2).standard_normal(600))
    assert sample_entropy(x) == pytest.approx(
        antropy.sample_entropy(x, order=2, tolerance=0.2 * x.std()), rel=1e-12
    )


def test_what_has_no_entropy() -> None:
    assert sample_entropy(np.zeros(100)) is None
    assert sample_entropy(np.arange(3.0)) is None
    assert sample_entropy(np.tile([0.0, 1.0], 200)) == 0.0  # the next is always as before
