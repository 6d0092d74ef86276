"""The corrected zero-phase filter, derived: two passes of a 2nd-order Butterworth have gain 0.5 at the nominal cut-off.

Corrected by (√2 − 1)^¼ on the pre-warped frequency (100 Hz, 10 Hz → 12.249241 Hz).
"""

from __future__ import annotations

import numpy as np
import pytest

from balance.filters import corrected_cutoff_hz, zero_phase


def test_corrected_cutoff() -> None:
    assert corrected_cutoff_hz(10, 100) == pytest.approx(12.249241, abs=1e-6)
    t = np.arange(4000) / 100
    x = np.sin(2 * np.pi * 10 * t)
    y = zero_phase(x, 10, 100)[1000:3000]
    assert np.sqrt(2 * np.mean(y**2)) == pytest.approx(1 / np.sqrt(2), rel=1e-4)
