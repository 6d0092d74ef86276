"""The result of a calibration: the file, the evidence of each channel, acceptance, remarks."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from balance.calibrating.evaluate import OFF_LINE_P, Evaluated, evaluate
from balance.calibrating.limits import CLASS_D_PCT, Limits, source_of
from balance.calibrating.points import AppliedPoint
from balance.calibration import Calibration
from balance.quality import Quality
from balance.rig import Rig
from balance.words import say

GAIN_U_UNKNOWN, CREEP_UNKNOWN_PCT = 0.01, 0.3  # taken where nothing was measured; tool default
COUNTS_FOR_GAIN = 0.5  # of the largest load: masses from here on say how well the gain is known; tool default


@dataclass(frozen=True)
class Calibrated:
    """``data`` as `bandstand calibrate` prints it; the calibration and the channels behind it."""

    calibration: Calibration
    channels: list[Evaluated]
    data: dict[str, Any]

    @property
    def accepted(self) -> bool:
        return bool(self.data["accepted"])


def calibrate(
    points: list[AppliedPoint],
    rig: Rig | None = None,
    limits: Limits | None = None,
    *,
    degree: int | None = None,
    anyway: bool = False,
) -> Calibrated:
    """``points`` of all channels in their order. Raises CannotFit."""
    quality = Quality()
    limits = limits or Limits()
    channels = [evaluate(c, [p for p in points if p.channel == c], degree) for c in sorted({p.channel for p in points})]  # fmt: skip
    gain_u = _shared_gain(channels, quality)
    creeps = [c.creep_pct for c in channels if c.creep_pct is not None]
    if not creeps:
        quality.add("creep-not-measured", "channels.creep_pct", taken=CREEP_UNKNOWN_PCT)
    rows = [_row(c, limits, rig) for c in channels]
    for channel in channels:
        _remarks(channel, quality)
    _absences(rows, quality)
    if rig is not None:
        _against_rig(rig, channels, quality)
    accepted = all(limit["met"] is not False for row in rows for limit in row["limits"])
    for row in rows:
        for limit in row["limits"]:
            if limit["met"] is False:
                quality.add("limit-not-met", apart=f"{row['channel']} {limit['name']}", channel=row["channel"], name=limit["name"], value=limit["value"], limit=limit["limit"], cause=say(f"cause.{limit['name']}"))  # fmt: skip
    made = datetime.datetime.now().astimezone()
    calibration = Calibration.model_validate(
        {
            "schema": 1,
            "rig": rig.name if rig else "unnamed",
            "made": made.isoformat(timespec="seconds"),
            "shared_gain_uncertainty": gain_u,
            "creep_pct": max(creeps, default=CREEP_UNKNOWN_PCT),
            "channels": [_channel(c) for c in channels],
            **({"accepted_anyway": True} if anyway and not accepted else {}),
        }
    )
    data = {
        "calibration": calibration.model_dump(mode="json", by_alias=True, exclude_none=True),
        "channels": rows,
        "accepted": accepted,
        "quality": quality.entries(),
    }
    return Calibrated(calibration, channels, data)


def _shared_gain(channels: list[Evaluated], quality: Quality) -> float:
    """The largest relative uncertainty of a mass at or above half of a channel's largest load."""
    relative = [
        p.applied_uncertainty_n / abs(p.applied_n)
        for c in channels
        for p in c.loaded
        if p.applied_uncertainty_n is not None and abs(p.applied_n) >= COUNTS_FOR_GAIN * c.largest_n
    ]
    if not relative:
        quality.add("mass-uncertainty-missing", taken=100 * GAIN_U_UNKNOWN)
        return GAIN_U_UNKNOWN
    return max(relative)


def _row(c: Evaluated, limits: Limits, rig: Rig | None) -> dict[str, Any]:
    row: dict[str, Any] = {
        "channel": c.channel,
        "degree": c.degree,
        "points": len(c.loaded),
        "loads": c.loads,
        "r2": _finite(c.fit.r2),
        "nonlinearity_pct": c.nonlinearity_pct,
        "hysteresis_pct": c.hysteresis_pct,
        "repeatability_pct": c.repeatability_pct,
        "zero_return_pct": c.zero_return_pct,
        "creep_pct": c.creep_pct,
        "f_test_p": c.f_test_p,
        "zero_offset_n": c.zero_offset_n,
        "zero_offset_p": c.zero_offset_p,
        "residual_n": _finite(c.fit.residual_sd),
        "largest_applied_n": c.largest_n,
    }
    cells = [cell for cell in rig.cells if cell.channel == c.channel] if rig else []
    of_capacity = c.largest_n / cells[0].capacity_n if cells else None
    row["limits"] = [
        {
            "name": name,
            "value": row[name],
            "limit": limit,
            "met": None if row[name] is None else bool(abs(row[name]) <= limit),
            "of_capacity_pct": None if row[name] is None or of_capacity is None else row[name] * of_capacity,
            "class_limit_of_capacity_pct": CLASS_D_PCT[name],
            "source": source_of(name, limit),
        }
        for name, limit in limits.by_name.items()
    ]
    return row


def _channel(c: Evaluated) -> dict[str, Any]:
    residual = _finite(c.fit.residual_sd) or 0.0
    covariance = c.fit.covariance if c.fit.dof > 0 else np.zeros_like(c.fit.covariance)
    return {
        "channel": c.channel,
        "zero_counts": c.zero_counts,
        "zero_uncertainty_counts": c.zero_u_counts or 0.0,
        "newton_per_count": c.slope,
        "newton_per_count2": float(c.fit.coefficients[1]) if c.degree == 2 else 0.0,
        "covariance": covariance.tolist(),
        "residual_n": residual,
        "hysteresis_n": c.hysteresis_n,
        "points": [
            {k: v for k, v in vars(p).items() if k != "channel" and v is not None} for p in c.points
        ],
    }  # fmt: skip


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _remarks(c: Evaluated, quality: Quality) -> None:
    if c.zero_u_counts is None:
        quality.add("zero-uncertainty-unknown", apart=c.channel, channel=c.channel)
    if c.zero_offset_p is not None and c.zero_offset_p < OFF_LINE_P:
        quality.add(
            "zero-off-line", apart=c.channel, channel=c.channel, offset=c.zero_offset_n, p=c.zero_offset_p
        )
    seen = [(p.applied_n, p.counts, p.direction, p.run, p.seconds) for p in c.loaded]
    if len(set(seen)) < len(seen):
        quality.add("rows-twice", apart=c.channel, channel=c.channel, count=len(seen) - len(set(seen)))
    if c.fit.dof == 0:
        quality.add("no-freedom", apart=c.channel, channel=c.channel)


def _absences(rows: list[dict[str, Any]], quality: Quality) -> None:
    reasons = {
        "nonlinearity_pct": "no-rise",
        "hysteresis_pct": "no-down-rows",
        "repeatability_pct": "no-runs",
        "zero_return_pct": "one-zero",
        "creep_pct": "creep-not-measured",
        "f_test_p": "no-curve",
        "zero_offset_n": "no-offset",
        "zero_offset_p": "no-offset",
        "r2": "no-freedom-r2",
        "residual_n": "no-freedom-r2",
    }
    for name, code in reasons.items():
        if any(row[name] is None for row in rows):
            facts = {"taken": CREEP_UNKNOWN_PCT} if code == "creep-not-measured" else {}
            quality.add(code, f"channels.{name}", **facts)
            if name in CLASS_D_PCT:
                quality.add(code, "channels.limits.value", "channels.limits.met", "channels.limits.of_capacity_pct", **facts)  # fmt: skip


def _against_rig(rig: Rig, channels: list[Evaluated], quality: Quality) -> None:
    have = {c.channel for c in channels}
    missing = sorted(set(rig.channels) - have)
    if missing:
        quality.add("cells-without-points", channels=", ".join(map(str, missing)))
    strangers = sorted(have - set(rig.channels))
    if strangers:
        quality.add("points-without-cell", channels=", ".join(map(str, strangers)))
