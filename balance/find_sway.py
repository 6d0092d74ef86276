"""Findings on sway: of the feet's point, of each foot's point and of the body line, and how the feet go together."""

from __future__ import annotations

from typing import Any

import numpy as np

from balance.found import Found
from balance.measures import coordination
from balance.measures.noise_bias import Noise, bias
from balance.measures.spectrum import Spectrum
from balance.measures.sway import Absence, Known, missing, sway
from balance.rig import SIDES
from balance.support import feet_hull_mm

FEW_PCT = 2.0  # on the crutches: above it the feet's point alone is no pendulum's; tool default


def sway_blocks(
    found: Found, crutch_pct: float | None, spectrum: Spectrum, *, basic: bool = False
) -> dict[str, Any]:
    """'sway' (the feet's point); unless ``basic`` also 'sway_of' (left, right, body) and 'coordination'."""
    subject = found.trial.subject
    height_m = subject.height_m if subject else None
    start, end = found.sway_stretch
    ap, ml = (found.lines.point_mm["feet"][axis][start:end] for axis in (0, 1))
    rate_hz = found.prepared.rate_hz
    known = _known(found, crutch_pct)
    values, absences = sway(ap, ml, rate_hz, spectrum=spectrum, known=known, basic=basic)
    blocks: dict[str, Any] = {"sway": values}
    if not basic:
        blocks["sway_of"] = {}
        for point in (*SIDES, "body"):
            part, more = _of_point(found, point, spectrum, height_m if point == "body" else None)
            blocks["sway_of"][point] = part
            absences += more
        blocks["coordination"], more = _coordination(found)
        absences += more
        if values["resultant"]["diffusion_short_mm2_s"] is not None:
            found.quality.add("one-trial-diffusion")
    for absence in absences:
        facts = {"pct": crutch_pct or 0.0, **absence.facts}
        if absence.minor:
            found.quality.note(absence.code, *absence.keys, apart="minor", **facts)
        else:
            found.quality.add(absence.code, *absence.keys, **facts)
    return blocks


def _known(found: Found, crutch_pct: float | None) -> Known:
    """What some measures of the feet's point need: with hands on crutches it is no pendulum's, whatever the height."""
    subject, (start, end) = found.trial.subject, found.sway_stretch
    height_m = subject.height_m if subject else None
    on_hands = crutch_pct is not None and crutch_pct > FEW_PCT
    return Known(
        None if on_hands else height_m,
        "com-crutches" if on_hands and height_m is not None else "no-height",
        _edge(found) if end > start else None,
    )


def sway_bias(found: Found, noise: Noise, spectrum: Spectrum, crutch_pct: float | None) -> dict[str, Any]:
    """What the rig's own noise adds to the sway of the feet's point; {} with a remark where the noise was measured at another rate."""
    start, end = found.sway_stretch
    rate_hz = found.prepared.rate_hz
    if not noise.fits(rate_hz):
        found.quality.add("floor-other-rate", "sway_bias", rate=rate_hz, floor=noise.rate_hz)
        return {}
    if end <= start:
        return {}
    ap, ml = (found.lines.point_mm["feet"][axis][start:end] for axis in (0, 1))
    load_n = float(found.lines.feet_n[start:end].mean())
    return dict(bias(ap, ml, rate_hz, noise, load_n, spectrum, _known(found, crutch_pct)))


def _edge(found: Found) -> Any:
    feet = found.valid("feet")
    return feet_hull_mm(found.setup, {side: float(found.lines.foot_n[side][feet].mean()) for side in SIDES})


def _of_point(
    found: Found, point: str, spectrum: Spectrum, height_m: float | None
) -> tuple[dict[str, Any], list[Absence]]:
    """Of a foot the basic measures, of the body line also the centre of mass behind it; over the point's longest unbroken stretch."""
    from balance.measures import centre_of_mass

    name = f"sway_of.{point}"
    runs = found.unbroken(found.all_lines.valid[point])
    start, end = max(runs, key=lambda run: run[1] - run[0], default=(0, 0))
    ap, ml = (found.lines.point_mm[point][axis][start:end] for axis in (0, 1))
    rate_hz = found.prepared.rate_hz
    values, absences = sway(ap, ml, rate_hz, spectrum=spectrum, basic=True, name=name)
    if point == "body":
        plane = np.stack([ap, ml])
        signals = {"ap": plane[0], "ml": plane[1], "resultant": plane}
        for m in centre_of_mass.MEASURES:
            reason = missing((end - start) / rate_hz, rate_hz, m.needs_seconds, m.needs_rate_hz)
            reason = reason or ("no-height" if height_m is None else None)
            for axis, signal in signals.items():
                assert m.of_height is not None
                centred = signal - signal.mean(axis=-1, keepdims=True) if end > start else signal
                values[axis][m.key] = (
                    None if reason or height_m is None else m.of_height(centred, rate_hz, height_m)
                )
            if reason:
                facts = {"seconds": (end - start) / rate_hz, "rate": rate_hz}
                absences.append(
                    Absence(reason, tuple(f"{name}.{axis}.{m.key}" for axis in signals), facts, minor=True)
                )
    return dict(values), [one for one in absences if one.keys]


def _coordination(found: Found) -> tuple[dict[str, float | None], list[Absence]]:
    start, end = found.sway_stretch
    both = found.all_lines.valid["left"] & found.all_lines.valid["right"]
    rate_hz = found.prepared.rate_hz
    seconds = (end - start) / rate_hz
    reason = missing(seconds, rate_hz, coordination.NEEDS_SECONDS, coordination.NEEDS_RATE_HZ)
    if reason is None and not both[start:end].all():
        reason = "no-second-foot"
    values: dict[str, float | None] = dict.fromkeys(coordination.KEYS)
    if reason is None:
        left, right = (
            np.stack([found.lines.point_mm[side][axis][start:end] for axis in (0, 1)]) for side in SIDES
        )
        values = coordination.coordination(left, right, 100 * found.lines.share["left"][start:end], rate_hz)
    absent = tuple(f"coordination.{key}" for key, value in values.items() if value is None)
    facts = {"seconds": seconds, "rate": rate_hz}
    return values, [Absence(reason or "no-movement", absent, facts, minor=True)] if absent else []
