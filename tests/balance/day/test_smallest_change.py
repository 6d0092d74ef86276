"""Of people who did not change, about 5 in 100 differences are called beyond what standing up again changes."""

from __future__ import annotations

import numpy as np
import pytest

from balance.statistics import sem_consistency, sem_of_one, smallest_change

PAIRS = 8_000


@pytest.mark.parametrize(
    ("repeats", "n_a", "n_b", "own"), [(3, 1, 1, False), (3, 3, 3, True), (5, 2, 3, False), (2, 2, 1, True)]
)
def test_one_persons_placings(repeats: int, n_a: int, n_b: int, own: bool) -> None:
    """own: the repeats are the placings of A themselves, as compare takes them; between 4 and 6 % (SE of the check: 0.24)."""
    rng = np.random.default_rng(repeats * 10 + n_b)
    beyond = 0
    for _ in range(PAIRS):
        a, b = rng.normal(100, 7, n_a), rng.normal(100, 7, n_b)
        known = sem_of_one(a if own else rng.normal(100, 7, repeats))
        assert known is not None
        beyond += abs(b.mean() - a.mean()) > smallest_change(known, n_a, n_b)
    assert 0.04 < beyond / PAIRS < 0.06


def test_a_group_s_placings() -> None:
    """SEM of ten people with three placings each, then one placing against one of somebody new."""
    rng, beyond = np.random.default_rng(4), 0
    for _ in range(PAIRS):
        known = sem_consistency(rng.normal(0, 20, (10, 1)) + rng.normal(0, 3, 3) + rng.normal(0, 7, (10, 3)))
        assert known is not None
        beyond += abs(rng.normal(0, 7) - rng.normal(0, 7)) > smallest_change(known, 1, 1)
    assert 0.04 < beyond / PAIRS < 0.06
