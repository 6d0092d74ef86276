"""The budget of a result's uncertainty, in the form of JCGM 100's tables: source, standard uncertainty, sensitivity, share."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.error_sources import Sources
from balance.rig import Rig
from balance.words import say

Array = npt.NDArray[np.float64]

UNITS = {  # of an error, by what is wrong
    "gain": "1", "hysteresis": "1", "slope": "N/count", "curve": "N/count²", "residual": "N", "drift": "N",
    "zero": "count", "place-ap": "mm", "place-ml": "mm", "tilt": "1", "tip": "mm", "body": "N", "other": "mm", "ml": "mm",
}  # fmt: skip


@dataclass(frozen=True)
class Budgeted:
    """A result whose uncertainty was worked out: its row of sensitivities, and variances by name that stand outside it."""

    value: float
    unit: str
    row: Array
    own: dict[str, float]


def budget(of: Budgeted, sources: Sources, rig: Rig) -> dict[str, Any]:
    """value, u, and the entries, the largest share first. Shares (of u²) add to 100 %; correlated errors share theirs."""
    sensitivity = of.row @ sources.mapping
    through = sensitivity * (sources.covariance @ sensitivity)
    u2 = float(through.sum()) + sum(of.own.values())
    entries = []
    for s, part, variance, (_, what, i) in zip(
        sensitivity.tolist(), through.tolist(), np.diag(sources.covariance).tolist(), sources.labels, strict=True
    ):  # fmt: skip
        if part != 0.0:
            entries.append(_entry(_words(what, i, rig), _unit(what), math.sqrt(variance), s, part, u2))
    for name, variance in of.own.items():
        if variance != 0.0:
            entries.append(_entry(say(f"part.{name}"), of.unit, math.sqrt(variance), 1.0, variance, u2))
    entries.sort(key=lambda entry: -abs(entry["share_pct"]))
    return {"value": of.value, "unit": of.unit, "uncertainty": math.sqrt(u2), "entries": entries}


def _entry(source: str, unit: str, u: float, sensitivity: float, part: float, u2: float) -> dict[str, Any]:
    return {
        "source": source,
        "standard_uncertainty": u,
        "unit": unit,
        "sensitivity": sensitivity,
        "share_pct": 100 * part / u2,
    }


def _unit(what: str) -> str:
    return next((UNITS[key] for key in (what, *what.split()) if key in UNITS), "mm")


def _words(what: str, i: int | None, rig: Rig) -> str:
    if i is not None:
        cell = rig.cells[i]
        return say(f"source.{what}", cell=say("verify.cell", channel=cell.channel, under=cell.under))
    if what in ("gain", "hysteresis", "body weight"):
        return say(f"source.{what}")
    kind = "tip height" if what.startswith("tip height") else next(k for k in ("tilt", "tip", "other", "ml") if k in what.split())  # fmt: skip
    return say(f"source.{kind}", side=what.split(maxsplit=1)[0], axis=what.rsplit(maxsplit=1)[-1].upper())


def budget_lines(name: str, table: dict[str, Any], least_pct: float = 1.0) -> list[str]:
    """The table that a person reads; entries under ``least_pct`` are put together."""
    lines = [say("budget.head", name=name, value=table["value"], u=table["uncertainty"], unit=table["unit"])]
    shown = [entry for entry in table["entries"] if abs(entry["share_pct"]) >= least_pct]
    plain = {"1": ""}  # a relative error has no unit to read
    lines += [
        say("budget.row", **{**entry, "unit": plain.get(entry["unit"], entry["unit"])}) for entry in shown
    ]
    rest = sum(entry["share_pct"] for entry in table["entries"] if entry not in shown)
    if len(shown) < len(table["entries"]):
        lines.append(say("budget.rest", count=len(table["entries"]) - len(shown), share=rest))
    return lines
