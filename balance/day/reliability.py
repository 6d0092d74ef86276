"""Reliability over repeat placings: intraclass correlations, standard error of measurement, smallest detectable change, agreement.

Forms of Shrout & Fleiss 1979 (Psychol Bull 86:420–428), intervals of ICC(2,1) after McGraw & Wong 1996 with Satterthwaite's freedoms;
two repeats add bias and limits of agreement after Bland & Altman 1986 (Lancet 327:307–310), with 1.96 SD.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.day.comparing import measures_of
from balance.day.reading import Found

Array = npt.NDArray[np.float64]

MDC = 1.96 * math.sqrt(2)  # the classical smallest detectable change of one against one, in SEM


def agreement(table: Array) -> dict[str, Any]:
    """ICC, SEM and their like of a table (subjects, repeats), at least two by two; a value that the table cannot give is None."""
    n, k = table.shape
    rows, columns, grand = table.mean(axis=1), table.mean(axis=0), table.mean()
    between = k * float(((rows - grand) ** 2).sum())
    trials = n * float(((columns - grand) ** 2).sum())
    total = float(((table - grand) ** 2).sum())
    bms, jms = between / (n - 1), trials / (k - 1)
    ems = max(total - between - trials, 0.0) / ((n - 1) * (k - 1))
    wms = (total - between) / (n * (k - 1))

    def ratio(above: float, below: float) -> float | None:
        return above / below if below > 0 else None

    icc21 = ratio(bms - ems, bms + (k - 1) * ems + k * (jms - ems) / n)
    agreeing = math.sqrt(max((jms - ems) / n, 0.0) + ems)
    return {
        "icc_1_1": ratio(bms - wms, bms + (k - 1) * wms),
        "icc_2_1": icc21,
        "icc_3_1": ratio(bms - ems, bms + (k - 1) * ems),
        "icc_2_k": ratio(bms - ems, bms + (jms - ems) / n),
        "ci95_icc_2_1": None if icc21 is None else _interval(n, k, bms, jms, ems, icc21),
        "sem_agreement": agreeing,
        "sem_consistency": math.sqrt(ems),
        "sem_dof": (n - 1) * (k - 1),
        "mdc95_agreement": MDC * agreeing,
        "mdc95_consistency": MDC * math.sqrt(ems),
    }


def _interval(n: int, k: int, bms: float, jms: float, ems: float, icc: float) -> list[float] | None:
    from scipy.special import fdtri

    if ems == 0.0:
        return None
    f = jms / ems
    part = n * (1 + (k - 1) * icc) - k * icc
    below = (n - 1) * (k * icc * f) ** 2 + part**2
    if below == 0.0:
        return None
    v = (k - 1) * (n - 1) * (k * icc * f + part) ** 2 / below
    upper, lower = float(fdtri(n - 1, v, 0.975)), float(fdtri(v, n - 1, 0.975))
    rest = k * jms + (k * n - k - n) * ems
    return [
        n * (bms - upper * ems) / (upper * rest + n * bms),
        n * (lower * bms - ems) / (rest + n * lower * bms),
    ]


def two_repeats(table: Array) -> dict[str, Any]:
    """Bias (second less first), limits of agreement, and their 95 % intervals, of a table (subjects, 2)."""
    from scipy.special import stdtrit

    d = table[:, 1] - table[:, 0]
    n, bias, sd = len(d), float(d.mean()), float(d.std(ddof=1))
    t = float(stdtrit(n - 1, 0.975))
    reach, limit = t * sd / math.sqrt(n), t * sd * math.sqrt(3 / n)
    low, high = bias - 1.96 * sd, bias + 1.96 * sd
    return {
        "bias": bias, "bias_ci95": [bias - reach, bias + reach], "limits_of_agreement": [low, high],
        "limits_ci95": [[low - limit, low + limit], [high - limit, high + limit]],
    }  # fmt: skip


def reliability(found: Sequence[Found]) -> list[dict[str, Any]]:
    """One entry a measure over the repeats of each subject and day; trials of one placing are averaged first.

    What every trial gives is taken from quiet standing where there is any, else from the one protocol that most trials have; shifts from
    weight shifts; of several conditions or postures the one that most trials have, the others are counted as ``other_conditions``. Unequal
    repeats: the first k that all have.
    """
    alike, others = _alike(found)
    values = _values(alike)
    names = list(dict.fromkeys(name for one in alike for name in values[str(one.folder)]))
    entries = []
    for name in names:
        entry = _entry(name, _repeats(alike, name, values))
        if entry is not None:
            more = {"other_conditions": others} if others else {}
            entries.append(entry | {"protocol": _protocol(alike, name)} | more)
    return entries


def pairs_of(found: Sequence[Found], name: str) -> list[tuple[float, float]]:
    """The first two repeats of each subject and day."""
    alike, _ = _alike(found)
    repeats = _repeats(alike, name, _values(alike)).values()
    rows = [[float(np.mean(values)) for _, values in sorted(one.items())] for one in repeats]
    return [(row[0], row[1]) for row in rows if len(row) > 1]


def _alike(found: Sequence[Found]) -> tuple[list[Found], int]:
    """The recordings of the conditions and posture that most have, and how many others there are."""
    kinds = [(one.posture, tuple(sorted((one.trial.conditions or {}).items()))) for one in found]
    most = max(set(kinds), key=kinds.count, default=None)
    alike = [one for one, kind in zip(found, kinds, strict=True) if kind == most]
    return alike, len(found) - len(alike)


def _values(found: Sequence[Found]) -> dict[str, dict[str, float]]:
    return {str(one.folder): measures_of(one.findings, True) for one in found}


def _repeats(
    found: Sequence[Found], name: str, values: dict[str, dict[str, float]]
) -> dict[tuple[str, str], dict[int, list[float]]]:
    """A measure's values by subject and day, then by placing."""
    groups: dict[tuple[str, str], dict[int, list[float]]] = {}
    protocol = _protocol(found, name)
    for one in found:
        if one.trial.protocol == protocol and name in values[str(one.folder)]:
            subject = one.trial.subject.code if one.trial.subject else None
            placings = groups.setdefault((subject or "", str(one.folder.resolve().parent)), {})
            placings.setdefault(one.trial.placing or 0, []).append(values[str(one.folder)][name])
    return groups


def _protocol(found: Sequence[Found], name: str) -> str:
    return "weight shift" if name.startswith("shifts.") else _usual_protocol(found)


def _usual_protocol(found: Sequence[Found]) -> str:
    protocols = [one.trial.protocol for one in found]
    return (
        "quiet standing"
        if "quiet standing" in protocols
        else max(set(protocols), key=protocols.count, default="")
    )


def _entry(name: str, groups: dict[tuple[str, str], dict[int, list[float]]]) -> dict[str, Any] | None:
    repeats = [[float(np.mean(values)) for _, values in sorted(one.items())] for one in groups.values()]
    enough = [row for row in repeats if len(row) > 1]
    if len(enough) < 2:
        return None
    k = min(map(len, enough))
    table = np.array([row[:k] for row in enough])
    left_out = sum(map(len, repeats)) - table.size
    entry: dict[str, Any] = {
        "measure": name, "subjects": len(enough), "repeats": k, "unbalanced": left_out > 0, **agreement(table),
        "limits_of_agreement": None, "bias": None,
    }  # fmt: skip
    if k == 2:
        entry |= two_repeats(table)
    return entry | ({"left_out": left_out} if left_out else {})
