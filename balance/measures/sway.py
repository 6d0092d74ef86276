"""All sway measures of one unbroken stretch, or the reason why one is absent."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.measures import (
    areas,
    boundary,
    centre_of_mass,
    coordination,
    diffusion,
    distance,
    entropy,
    fluctuation,
    path,
)
from balance.measures import spectrum as _sp
from balance.measures.declaration import Family, Measure, Values
from balance.measures.spectrum import Spectrum

Array = npt.NDArray[np.float64]

ENOUGH = 1 - 1e-6  # a trial of 10 s at 79.9995 samples a second is one of 10 s
SPECTRAL = Family(_sp.MEASURES)
WEIGHTED = Family((_sp.WEIGHTED,))
BASIC_AXIS: list[Measure | Family] = [*distance.MEASURES, *path.AXIS, SPECTRAL]
BASIC_PLANE: list[Measure | Family] = [*distance.MEASURES, *path.AXIS, *areas.MEASURES, *path.PLANE, SPECTRAL]
AXIS = [*BASIC_AXIS, diffusion.FAMILY, *entropy.MEASURES, *fluctuation.MEASURES, *centre_of_mass.MEASURES]
PLANE = [*BASIC_PLANE, WEIGHTED, diffusion.FAMILY, *centre_of_mass.MEASURES, boundary.FAMILY]


@dataclass(frozen=True)
class Absence:
    """Why values are absent (or, without keys, what to keep in mind): a quality code, the keys, its facts."""

    code: str
    keys: tuple[str, ...]
    facts: dict[str, float] = field(default_factory=dict)
    minor: bool = False  # only measures for research are absent: a note


@dataclass(frozen=True)
class Known:
    """What some measures need beside the points; None where it is not known.

    height_m: stature, m · no_height: the quality code that says why there is none · edge_mm (k, 2): corners of the usable support
    """

    height_m: float | None = None
    no_height: str = "no-height"
    edge_mm: Array | None = None


def measures_of(families: Iterable[Measure | Family]) -> list[Measure]:
    """Every single measure."""
    return [m for one in families for m in (one.measures if isinstance(one, Family) else (one,))]


def declared() -> list[dict[str, Any]]:
    """Every measure's declaration as plain data: key, where it stands, unit, formula, source, what it needs, version."""
    rows: dict[str, dict[str, Any]] = {}
    for names, families in ((["ap", "ml"], AXIS), (["resultant"], PLANE)):
        for m in measures_of(families):
            rows.setdefault(m.key, _row(m, []))["axes"] += names
    feet = [
        Measure(*one, coordination.NEEDS_SECONDS, coordination.NEEDS_RATE_HZ) for one in coordination.DECLARED
    ]
    return [*rows.values(), *(_row(m, ["both feet"]) for m in feet)]


def _row(m: Measure, axes: list[str]) -> dict[str, Any]:
    return {"measure": m.key, "axes": axes, "unit": m.unit, "formula": m.formula, "source": m.source, "needs_seconds": m.needs_seconds, "needs_rate_hz": m.needs_rate_hz, "version": m.version}  # fmt: skip


def versions() -> dict[str, int]:
    """Each measure's declaration's version."""
    return {row["measure"]: row["version"] for row in declared()}


def sway(
    ap_mm: Array,
    ml_mm: Array,
    rate_hz: float,
    *,
    spectrum: Spectrum = "multitaper",
    known: Known | None = None,
    basic: bool = False,
    name: str = "sway",
) -> tuple[dict[str, Values], list[Absence]]:
    """{'ap', 'ml', 'resultant'} → {key: value or None} of (n,) AP and ML in mm, and why a value is None.

    basic: distances, paths, areas and spectra only · name: what the keys begin with
    """
    seconds = len(ap_mm) / rate_hz
    points = np.stack([ap_mm, ml_mm])
    plane = points - points.mean(axis=1, keepdims=True) if len(ap_mm) else points
    signals = {"ap": plane[0], "ml": plane[1], "resultant": plane}
    work = _Work(points, rate_hz, spectrum, known or Known())
    values: dict[str, Values] = {}
    absent: dict[tuple[str, bool], list[str]] = {}
    for axis, signal in signals.items():
        values[axis] = {}
        families = (BASIC_PLANE if basic else PLANE) if axis == "resultant" else BASIC_AXIS if basic else AXIS
        for one in families:
            for key, (value, reason) in work.found(one, signal, seconds).items():
                values[axis][key] = value
                if value is None:
                    absent.setdefault((reason, one not in BASIC_PLANE), []).append(f"{name}.{axis}.{key}")
    facts = {"seconds": seconds, "rate": rate_hz, "samples": float(len(ap_mm))}
    found = [Absence(code, tuple(keys), facts, minor) for (code, minor), keys in absent.items()]
    if spectrum == "multitaper" and missing(seconds, rate_hz, _sp.NEEDS_SECONDS, _sp.NEEDS_RATE_HZ) is None:
        width = _sp.half_bandwidth_hz(seconds)
        if width > _sp.LOW_HZ / ENOUGH:
            found.append(Absence("spectral-resolution", (), {"width": width}))
    return values, found


def missing(seconds: float, rate_hz: float, needs_seconds: float, needs_rate_hz: float) -> str | None:
    """The quality code of what a recording does not give; None where it gives enough."""
    if seconds < needs_seconds * ENOUGH:
        return "too-short"
    return "rate-too-low" if rate_hz < needs_rate_hz * ENOUGH else None


@dataclass(frozen=True)
class _Work:
    points: Array
    rate_hz: float
    spectrum: Spectrum
    known: Known

    def found(
        self, one: Measure | Family, signal: Array, seconds: float
    ) -> dict[str, tuple[float | None, str]]:
        """Each value with the reason that holds where it is None."""
        wanted = one.measures if isinstance(one, Family) else (one,)
        reason = missing(seconds, self.rate_hz, wanted[0].needs_seconds, wanted[0].needs_rate_hz)
        reason = reason or self._unknown(one, signal)
        if reason is not None:
            return {m.key: (None, reason) for m in wanted}
        values = self._values(one, signal)
        return {m.key: (values[m.key], "no-movement") for m in wanted}

    def _unknown(self, one: Measure | Family, signal: Array) -> str | None:
        if one is WEIGHTED and self.spectrum != "welch":
            return "welch-only"
        if isinstance(one, Family):
            return "no-edge" if one.of_edge is not None and self.known.edge_mm is None else None
        if one.of_height is not None and self.known.height_m is None:
            return self.known.no_height
        most = one.most_samples
        return "too-many-samples" if most is not None and signal.shape[-1] > most else None

    def _values(self, one: Measure | Family, signal: Array) -> Values:
        if one is SPECTRAL:
            return _sp.spectral(
                signal if signal.ndim == 1 else distance.distance_mm(signal), self.rate_hz, self.spectrum
            )
        if one is WEIGHTED:
            return {_sp.WEIGHTED.key: _sp.weighted_mean_frequency_hz(signal[0], signal[1], self.rate_hz)}
        if isinstance(one, Family):
            if one.of_edge is not None and self.known.edge_mm is not None:
                return one.of_edge(self.points, self.rate_hz, self.known.edge_mm)
            assert one.together is not None
            return one.together(signal, self.rate_hz)
        if one.of_height is not None and self.known.height_m is not None:
            return {one.key: one.of_height(signal, self.rate_hz, self.known.height_m)}
        assert one.function is not None
        return {one.key: one.function(signal, self.rate_hz)}
