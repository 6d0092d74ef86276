"""Is a mean position in the band: probability, verdict, and when the question cannot be answered (JCGM 106)."""

from __future__ import annotations

import math

from balance.reading import Verdict

SURE, SURELY_NOT = 0.95, 0.05  # tool default after JCGM 106's examples of acceptance probability
TOO_NARROW = 3.92  # band width over uncertainty below which 'inside' can never reach 0.95: 2 × 1.96


def normal_below(z: float) -> float:
    """Standard normal distribution function."""
    return 0.5 * math.erfc(-z / math.sqrt(2))


def probability_inside(mean: float, u: float, low: float, high: float) -> float:
    """Probability that a value known as ``mean`` ± ``u`` (standard) lies between ``low`` and ``high``."""
    if u == 0.0:
        return 1.0 if low <= mean <= high else 0.0
    return normal_below((high - mean) / u) - normal_below((low - mean) / u)


def verdict(probability: float) -> Verdict:
    """inside from 0.95, outside to 0.05, else undecided."""
    if probability >= SURE:
        return "inside"
    return "outside" if probability <= SURELY_NOT else "undecided"


def offset_mm(mean_mm: float, low_mm: float, high_mm: float) -> float:
    """0 in the band, negative behind it, positive ahead of it."""
    return mean_mm - low_mm if mean_mm < low_mm else max(mean_mm - high_mm, 0.0)


LIMIT_N, LIMIT_OF_WEIGHT = 15.0, 0.02  # least unmeasured support that is spoken of; tool default


def unmeasured_limit_n(u_n: float, body_weight_n: float) -> float:
    """Beyond it something unmeasured is taken to carry: twice the standard uncertainty, 2 % of weight, 15 N."""
    return max(2 * u_n, LIMIT_OF_WEIGHT * body_weight_n, LIMIT_N)
