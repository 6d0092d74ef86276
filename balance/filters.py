"""Low-pass filters of the cell forces: zero-phase for findings, causal for the live view."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

CUTOFF_HZ = 10.0  # Ruhe, Fejer & Walker 2010, Gait Posture 32:436–445
SHIFT_CUTOFF_HZ = 3.0  # for load shares over time; tool default, no published source
HIGHEST_OF_RATE = 0.4  # a cut-off must be below this part of the rate, else there is no filter
SHORTEST = 10  # samples that the zero-phase filter's padding needs


class ImpossibleCutoff(ValueError):
    """A cut-off at or above half the rate: there is no such filter."""

    def __init__(self, cutoff_hz: float, rate_hz: float) -> None:
        self.cutoff_hz, self.rate_hz = cutoff_hz, rate_hz
        super().__init__(f"{cutoff_hz} Hz at {rate_hz} samples a second")


def fits(cutoff_hz: float, rate_hz: float) -> bool:
    """A low-pass at ``cutoff_hz`` makes sense at this rate."""
    return cutoff_hz < HIGHEST_OF_RATE * rate_hz


def corrected_cutoff_hz(cutoff_hz: float, rate_hz: float) -> float:
    """The single pass's cut-off such that two passes together have gain 1/√2 at ``cutoff_hz``.

    Two passes of a 2nd-order Butterworth have gain 0.5 at its nominal cut-off; dividing the pre-warped
    frequency by (√2 − 1)^¼ mends that (100 Hz, 10 Hz → 12.249241 Hz).
    """
    warped = math.tan(math.pi * cutoff_hz / rate_hz) / (math.sqrt(2) - 1) ** 0.25
    return rate_hz * math.atan(warped) / math.pi


def zero_phase(forces_n: Array, cutoff_hz: float, rate_hz: float) -> Array:
    """2nd-order Butterworth run forward and backward along the last axis; at least SHORTEST samples."""
    from scipy.signal import butter, sosfiltfilt

    sos = butter(2, corrected_cutoff_hz(cutoff_hz, rate_hz), fs=rate_hz, output="sos")
    return np.asarray(sosfiltfilt(sos, forces_n, axis=-1), dtype=np.float64)


def butterworth_section(cutoff_hz: float, rate_hz: float) -> tuple[float, float, float, float, float]:
    """b0, b1, b2, a1, a2 of a 2nd-order Butterworth low-pass (bilinear transform, pre-warped).

    Written out so that the live view needs no scipy.signal at its start; a test holds it against scipy.
    """
    k = math.tan(math.pi * cutoff_hz / rate_hz)
    norm = 1 / (1 + math.sqrt(2) * k + k * k)
    b0 = k * k * norm
    return b0, 2 * b0, b0, 2 * (k * k - 1) * norm, (1 - math.sqrt(2) * k + k * k) * norm


class CausalLowPass:
    """A causal 2nd-order Butterworth at 10 Hz over several signals, carrying its state from block to block.

    Starts as if the first sample had always stood. Works sample by sample in a fixed order of operations, so
    its results do not depend on how samples are cut into blocks, to the last bit.
    """

    def __init__(self, cutoff_hz: float, rate_hz: float) -> None:
        self._coefficients = butterworth_section(cutoff_hz, rate_hz)
        self._state: tuple[Array, Array] | None = None

    def restart(self) -> None:
        """Forget: the next sample counts as having always stood."""
        self._state = None

    def run(self, block: Array) -> Array:
        """(n, signals) → (n, signals)."""
        b0, b1, b2, a1, a2 = self._coefficients
        out = np.empty_like(block)
        if len(block) == 0:
            return out
        if self._state is None:
            self._state = (block[0] * (1.0 - b0), block[0] * (b2 - a2))
        s0, s1 = self._state
        for i, x in enumerate(block):  # transposed direct form II, as scipy.signal.sosfilt
            y = b0 * x + s0
            s0 = b1 * x - a1 * y + s1
            s1 = b2 * x - a2 * y
            out[i] = y
        self._state = (s0, s1)
        return out
