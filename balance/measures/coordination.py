"""How the two feet go together: their points' correlation, at no lag and at its largest, and how the share of load varies."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

MOST_LAG_S = 1.0  # looked at either way; tool default
MANSFIELD = "cross-correlation of the feet's points, after Winter et al. 1993, Neurosci Res Commun 12:141–148 (definition from memory)"
SHARE = "mean and SD (N) of the left foot's share of the feet's load; common practice"
DECLARED = (
    ("correlation_ap", "1", "correlation of the left and the right foot's point, AP, no lag", MANSFIELD),
    ("correlation_largest_ap", "1", "the largest size of it within ± 1 s", MANSFIELD),
    ("correlation_lag_ap_s", "s", "its lag: positive where the right foot follows the left", MANSFIELD),
    ("correlation_ml", "1", "as correlation_ap, ML", MANSFIELD),
    ("correlation_largest_ml", "1", "as correlation_largest_ap, ML", MANSFIELD),
    ("correlation_lag_ml_s", "s", "as correlation_lag_ap_s, ML", MANSFIELD),
    ("share_sd_pct", "%", "SD of the left foot's share", SHARE),
    ("share_range_pct", "%", "largest less smallest share", SHARE),
)
KEYS = tuple(key for key, *_ in DECLARED)
NEEDS_SECONDS, NEEDS_RATE_HZ = 10.0, 40.0


def cross_correlation(left: Array, right: Array, most: int) -> Array | None:
    """(2·most + 1,) correlation of left[t] with right[t + lag] for lags −most … most samples, by the whole series' means, SDs and
    N (biased: it shrinks with the lag); None where one does not vary."""
    from scipy import fft

    x, y = left - left.mean(), right - right.mean()
    scale = float(np.sqrt((x @ x) * (y @ y)))
    if scale <= 0:
        return None
    size = fft.next_fast_len(len(x) + most)
    products = fft.irfft(np.conj(fft.rfft(x, size)) * fft.rfft(y, size), size) / scale
    return np.asarray(np.concatenate([products[len(products) - most :], products[: most + 1]]))


def coordination(
    left_mm: Array, right_mm: Array, share_left_pct: Array, rate_hz: float
) -> dict[str, float | None]:
    """left_mm, right_mm (2, n) AP, ML of each foot's point; share_left_pct (n,)."""
    found: dict[str, float | None] = dict.fromkeys(KEYS)
    most = min(round(MOST_LAG_S * rate_hz), left_mm.shape[1] - 1)
    for axis, (left, right) in zip(("ap", "ml"), zip(left_mm, right_mm, strict=True), strict=True):
        r = cross_correlation(left, right, most)
        if r is not None:
            at = int(np.argmax(np.abs(r)))
            found |= {f"correlation_{axis}": float(r[most]), f"correlation_largest_{axis}": float(r[at]), f"correlation_lag_{axis}_s": (at - most) / rate_hz}  # fmt: skip
    found |= {"share_sd_pct": float(share_left_pct.std()), "share_range_pct": float(np.ptp(share_left_pct))}
    return found
