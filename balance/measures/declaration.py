"""What a sway measure declares of itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Values = dict[str, float | None]

PRIETO = "Prieto et al. 1996, IEEE Trans Biomed Eng 43(9):956–966 (formula from memory)"


@dataclass(frozen=True)
class Measure:
    """One measure. ``function`` takes a centred signal and the rate: axis measures (n,), planar ones (2, n) AP, ML.

    needs_seconds, needs_rate_hz: what the recording must give, else the value is absent with the reason · of_height: instead of
    ``function``, also given the person's stature in m · most_samples: above it absent, for its time · version: raised with every
    change of what is computed; results carry it.
    """

    key: str
    unit: str
    formula: str
    source: str
    needs_seconds: float
    needs_rate_hz: float
    function: Callable[[Array, float], float | None] | None = None
    of_height: Callable[[Array, float, float], float | None] | None = None
    most_samples: int | None = None
    version: int = 1


@dataclass(frozen=True)
class Family:
    """Measures that come out of one computation. of_edge: of points on the plates' scale (not centred) and the usable support's
    corners (k, 2), instead of ``together``."""

    measures: tuple[Measure, ...]
    together: Callable[[Array, float], Values] | None = None
    of_edge: Callable[[Array, float, Array], Values] | None = None
