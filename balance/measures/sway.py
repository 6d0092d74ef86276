"""All sway measures of one unbroken stretch, or the reason why one is absent."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.measures import areas, distance, path
from balance.measures import spectrum as _sp
from balance.measures.spectrum import Spectrum

Array = npt.NDArray[np.float64]

AXIS = [*distance.MEASURES, *path.AXIS]
PLANE = [*distance.MEASURES, *path.AXIS, *areas.MEASURES, *path.PLANE]
ENOUGH = 1 - 1e-6  # a trial of 10 s at 79.9995 samples a second is one of 10 s


@dataclass(frozen=True)
class Absence:
    """Why values are absent (or, without keys, what to keep in mind): a quality code, the keys, its facts."""

    code: str
    keys: tuple[str, ...]
    facts: dict[str, float] = field(default_factory=dict)


def declared() -> list[dict[str, Any]]:
    """Every measure's declaration as plain data: key, axes, unit, formula, source, what it needs."""
    rows: dict[str, dict[str, Any]] = {}
    for names, measures in ((["ap", "ml"], AXIS), (["resultant"], PLANE)):
        for m in measures:
            row = {"measure": m.key, "axes": [], "unit": m.unit, "formula": m.formula, "source": m.source, "needs_seconds": m.needs_seconds, "needs_rate_hz": m.needs_rate_hz}  # fmt: skip
            rows.setdefault(m.key, row)["axes"] += names
    for key, unit, formula in _sp.DECLARED:
        rows[key] = {"measure": key, "axes": ["ap", "ml", "resultant"], "unit": unit, "formula": formula, "source": _sp.SOURCE, "needs_seconds": _sp.NEEDS_SECONDS, "needs_rate_hz": _sp.NEEDS_RATE_HZ}  # fmt: skip
    weighted = {"unit": "Hz", "formula": "power-weighted mean of the AP and ML mean frequencies, Welch only", "source": "the published values of an open data set (tests/published)"}  # fmt: skip
    rows["weighted_mean_frequency_hz"] = {"measure": "weighted_mean_frequency_hz", "axes": ["resultant"], **weighted, "needs_seconds": _sp.NEEDS_SECONDS, "needs_rate_hz": _sp.NEEDS_RATE_HZ}  # fmt: skip
    return list(rows.values())


def sway(
    ap_mm: Array, ml_mm: Array, rate_hz: float, *, spectrum: Spectrum = "multitaper"
) -> tuple[dict[str, dict[str, float | None]], list[Absence]]:
    """{'ap', 'ml', 'resultant'} → {key: value or None} of (n,) AP and ML in mm, and why a value is None."""
    seconds = len(ap_mm) / rate_hz
    plane = np.stack([ap_mm, ml_mm])
    if len(ap_mm):
        plane = plane - plane.mean(axis=1, keepdims=True)
    signals = {"ap": plane[0], "ml": plane[1], "resultant": plane}
    values: dict[str, dict[str, float | None]] = {}
    absent: dict[str, list[str]] = {}
    for axis, signal in signals.items():
        values[axis] = {}
        for measure in PLANE if axis == "resultant" else AXIS:
            reason = _missing(seconds, rate_hz, measure.needs_seconds, measure.needs_rate_hz)
            value = None if reason else measure.function(signal, rate_hz)
            values[axis][measure.key] = value
            if value is None:
                absent.setdefault(reason or "no-movement", []).append(f"sway.{axis}.{measure.key}")
        _spectral(values[axis], axis, signal, (seconds, rate_hz), spectrum, absent)
    _weighted(values["resultant"], plane, (seconds, rate_hz), spectrum, absent)
    facts = {"seconds": seconds, "rate": rate_hz}
    found = [Absence(code, tuple(keys), facts) for code, keys in absent.items()]
    if spectrum == "multitaper" and _missing(seconds, rate_hz, _sp.NEEDS_SECONDS, _sp.NEEDS_RATE_HZ) is None:
        width = _sp.half_bandwidth_hz(seconds)
        if width > _sp.LOW_HZ / ENOUGH:
            found.append(Absence("spectral-resolution", (), {"width": width}))
    return values, found


def _missing(seconds: float, rate_hz: float, needs_seconds: float, needs_rate_hz: float) -> str | None:
    if seconds < needs_seconds * ENOUGH:
        return "too-short"
    return "rate-too-low" if rate_hz < needs_rate_hz * ENOUGH else None


def _spectral(
    into: dict[str, float | None],
    axis: str,
    signal: Array,
    given: tuple[float, float],
    kind: Spectrum,
    absent: dict[str, list[str]],
) -> None:
    reason = _missing(*given, _sp.NEEDS_SECONDS, _sp.NEEDS_RATE_HZ)
    one = signal if signal.ndim == 1 else distance.distance_mm(signal)
    values: dict[str, float | None] = dict.fromkeys(_sp.KEYS)
    if reason is None:
        values = _sp.spectral(one, given[1], kind)
    into |= values
    for key, value in values.items():
        if value is None:
            absent.setdefault(reason or "no-movement", []).append(f"sway.{axis}.{key}")


def _weighted(
    into: dict[str, float | None],
    plane: Array,
    given: tuple[float, float],
    kind: Spectrum,
    absent: dict[str, list[str]],
) -> None:
    key = "weighted_mean_frequency_hz"
    reason = "welch-only" if kind != "welch" else _missing(*given, _sp.NEEDS_SECONDS, _sp.NEEDS_RATE_HZ)
    into[key] = None if reason else _sp.weighted_mean_frequency_hz(plane[0], plane[1], given[1])
    if into[key] is None:
        absent.setdefault(reason or "no-movement", []).append(f"sway.resultant.{key}")
