"""What a rig's own noise adds to each sway measure: some more of it is added, and what that changes is followed back to no noise.

Simulation and extrapolation, Cook & Stefanski 1994, J Am Stat Assoc 89:1314–1328 (method from memory): with measured noise n in a
signal x, x + √λ·n' has 1 + λ times the noise's variance; a measure at λ = 0, 1, 2 gives a parabola, and its value at λ = −1 is what the
measure would be without noise.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Values
from balance.measures.spectrum import Spectrum
from balance.measures.sway import Known, sway

Array = npt.NDArray[np.float64]

MORE = (1.0, 2.0)  # times the noise's variance, beside none
COPIES = 4  # of the noise, each from another moment on: their mean is calmer; tool default
RATES_APART = 0.02  # of the rate: noise at another rate is another noise; tool default


@dataclass(frozen=True)
class Noise:
    """The feet's point under a dead weight: points_mm (2, n), centred, filtered as the recordings are; the load on it, newtons."""

    points_mm: Array
    rate_hz: float
    load_n: float

    def under(self, load_n: float, samples: int, copy: int) -> Array:
        """(2, samples) of it as if under another load: the same newtons move a heavier person's point less."""
        start = copy * self.points_mm.shape[1] // COPIES
        places = (start + np.arange(samples)) % self.points_mm.shape[1]
        return np.asarray(self.points_mm[:, places] * (self.load_n / load_n), dtype=np.float64)

    def fits(self, rate_hz: float) -> bool:
        return abs(self.rate_hz - rate_hz) <= RATES_APART * rate_hz


def bias(
    ap_mm: Array,
    ml_mm: Array,
    rate_hz: float,
    noise: Noise,
    load_n: float,
    spectrum: Spectrum,
    known: Known | None = None,
) -> dict[str, Values]:
    """{'ap', 'ml', 'resultant'} → {key: what the noise adds, in the measure's unit; None where the measure is absent}, for (n,) AP and
    ML in mm under ``load_n`` newtons, of every measure that ``known`` gives enough for."""
    found: list[dict[str, dict[str, list[float]]]] = []
    for more in MORE:
        sums: dict[str, dict[str, list[float]]] = {}
        for copy in range(COPIES):
            added = sqrt(more) * noise.under(load_n, len(ap_mm), copy)
            values, _ = sway(ap_mm + added[0], ml_mm + added[1], rate_hz, spectrum=spectrum, known=known)
            for axis, block in values.items():
                for key, value in block.items():
                    if value is not None:
                        sums.setdefault(axis, {}).setdefault(key, []).append(value)
        found.append(sums)
    plain, _ = sway(ap_mm, ml_mm, rate_hz, spectrum=spectrum, known=known)
    return {
        axis: {
            key: _added(value, *(one.get(axis, {}).get(key, []) for one in found))
            for key, value in block.items()
        }
        for axis, block in plain.items()
    }


def _added(value: float | None, once: list[float], twice: list[float]) -> float | None:
    """The value less the parabola's through λ = 0, 1, 2 at λ = −1."""
    if value is None or len(once) < COPIES or len(twice) < COPIES:
        return None
    return -2 * value + 3 * sum(once) / COPIES - sum(twice) / COPIES
