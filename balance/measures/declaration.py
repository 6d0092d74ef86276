"""What a sway measure declares of itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

PRIETO = "Prieto et al. 1996, IEEE Trans Biomed Eng 43(9):956–966 (formula from memory)"


@dataclass(frozen=True)
class Measure:
    """One measure. ``function`` takes a centred signal and the rate: axis measures (n,), planar ones (2, n) AP, ML.

    needs_seconds, needs_rate_hz: what the recording must give, else the value is absent with the reason.
    """

    key: str
    unit: str
    formula: str
    source: str
    needs_seconds: float
    needs_rate_hz: float
    function: Callable[[Array, float], float | None]
