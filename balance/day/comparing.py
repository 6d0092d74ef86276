"""Did anything change beyond standing up again: two sets of recordings, measure by measure. The unit is a placing.

Trials of one placing are averaged first. What is found in every trial (lines, shares, moments, sway) is compared between trials
of one protocol: quiet standing where both sets have it. Holds and shift times come from weight shifts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from balance.day.reading import Day, Found
from balance.reading import LINES
from balance.rig import SIDES
from balance.statistics import (
    Repeats,
    batch_reach,
    holm,
    sem_consistency,
    sem_of_one,
    smallest_change,
    welch,
)
from balance.words import say

SHIFT_KEYS = ("hold_share_pct", "body_weight_pct", "shift_time_s")


MEASURES = (
    *(f"load_line.{line}.mean_mm" for line in LINES),
    *(f"load.{key}" for key in ("left_pct", "right_pct", "crutch_pct", "unmeasured_pct")),
    *(f"moment.{side}.{joint}_mean_nm" for side in SIDES for joint in ("ankle", "knee")),
)
OF_SHIFTS = tuple(f"shifts.{side}.{key}" for side in SIDES for key in SHIFT_KEYS)


def measures_of(one: dict[str, Any], sway: bool) -> dict[str, float]:
    """Every compared measure that a recording gives, by its path; shifts are means of those to a side. one: its findings, or the 'row' of a
    tidy table, whose columns have the same names."""
    if "row" in one:
        names = [*MEASURES, *OF_SHIFTS, *(name for name in one["row"] if sway and name.startswith("sway."))]
        values = {name: one["row"].get(name) for name in names}
    else:
        values = {name: _at(one, name) for name in MEASURES} | shift_means(one["shifts"])
        if sway:
            for axis, block in one["sway"].items():
                values |= {f"sway.{axis}.{key}": value for key, value in block.items()}
    return {k: float(v) for k, v in values.items() if isinstance(v, int | float) and not isinstance(v, bool)}


def shift_means(shifts: list[dict[str, Any]]) -> dict[str, float | None]:
    """Of the shifts to either side the means of what is compared."""
    values: dict[str, float | None] = {}
    for name in OF_SHIFTS:
        _, side, key = name.split(".")
        given = [shift[key] for shift in shifts if shift["side"] == side and shift[key] is not None]
        values[name] = sum(given) / len(given) if given else None
    return values


def _at(findings: dict[str, Any], path: str) -> Any:
    value: Any = findings
    for name in path.split("."):
        value = value[name]
    return value


def placing_of(one: Found) -> tuple[str, str, int | None]:
    """Tells placings apart: the day's folder, the subject, the number."""
    subject = one.trial.subject.code if one.trial.subject else None
    return str(one.folder.resolve().parent), subject or "", one.trial.placing


def _by_placing(found: Sequence[Found], measure: str, values: dict[str, dict[str, float]]) -> dict[tuple[str, str, int | None], list[Found]]:  # fmt: skip
    groups: dict[tuple[str, str, int | None], list[Found]] = {}
    for one in found:
        if measure in values[str(one.folder)]:
            groups.setdefault(placing_of(one), []).append(one)
    return groups


def _means(groups: dict[Any, list[Found]], measure: str, values: dict[str, dict[str, float]]) -> list[float]:
    return [float(np.mean([values[str(one.folder)][measure] for one in group])) for group in groups.values()]


def _which(measure: str, a: Sequence[Found], b: Sequence[Found]) -> str | None:
    """The protocol whose trials are compared for a measure; None where the sets have none in common."""
    both = {one.trial.protocol for one in a} & {one.trial.protocol for one in b}
    if measure.startswith("shifts."):
        return "weight shift" if "weight shift" in both else None
    if "quiet standing" in both or not both:
        return "quiet standing" if both else None
    return sorted(both)[0]


def _of(trials: Sequence[Found], protocol: str) -> list[Found]:
    return [one for one in trials if one.trial.protocol == protocol]


def compare(
    a: Sequence[Found], b: Sequence[Found], repeats: Sequence[Found], repeats_name: str, *, primary: str | None = None, sway: bool = False
) -> list[dict[str, Any]]:  # fmt: skip
    """One entry a measure, b less a. repeats: the placings that say what standing up again changes; repeats_name names them."""
    everything = {str(one.folder): measures_of(one.findings, sway) for one in [*a, *b, *repeats]}
    names = list(dict.fromkeys(m for one in [*a, *b] for m in everything[str(one.folder)]))
    rows = []
    for measure in names:
        protocol = _which(measure, a, b)
        if protocol is None:
            continue
        groups = [_by_placing(_of(trials, protocol), measure, everything) for trials in (a, b)]
        if not all(groups):
            continue
        rows.append(_row(measure, groups, _of(repeats, protocol), repeats_name, everything, primary))
    tested = [row for row in rows if row["p"] is not None]
    for row, adjusted in zip(tested, holm([row["p"] for row in tested]), strict=True):
        row["p_holm"] = adjusted
    return rows


def _row(
    measure: str, groups: list[Any], repeats: Sequence[Found], repeats_name: str, values: dict[str, dict[str, float]],
    primary: str | None,
) -> dict[str, Any]:  # fmt: skip
    means_a, means_b = (_means(group, measure, values) for group in groups)
    n_a, n_b = len(means_a), len(means_b)
    found = welch(means_a, means_b)
    parts = measure.split(".")
    side = next(
        (s for s in SIDES if s in parts or parts[-1] == f"{s}_pct" or parts[1] == f"body_on_{s}"), None
    )
    row: dict[str, Any] = {
        "measure": measure, "side": side, "a": float(np.mean(means_a)), "b": float(np.mean(means_b)), "n_a": n_a, "n_b": n_b,
        "difference": found.difference, "ci95": None if found.low is None else [found.low, found.high], "p": found.p,
        "p_holm": None, "primary": measure == primary, "method": "Welch t" if found.p is not None else "difference only",
        "mdc95": None, "mdc_dof": None, "mdc_from": None, "beyond_mdc": None,
    }  # fmt: skip
    if found.p is None:
        row["reason"] = say("compare.one-placing")
        _within(row, groups, measure)
    known = _sem(repeats, measure, values)
    if known is None:
        row["mdc_reason"] = say("compare.no-repeats")
    else:
        row["mdc95"], row["mdc_dof"] = smallest_change(known, n_a, n_b), known.dof
        row["mdc_from"] = repeats_name
        row["beyond_mdc"] = abs(found.difference) > row["mdc95"]
    return row


def _within(row: dict[str, Any], groups: list[Any], measure: str) -> None:
    """What these standings themselves varied, where every trial tells its batches."""
    trials = [[one for group in side.values() for one in group] for side in groups]
    batches = [[one.findings.get("batch_means", {}).get(measure) for one in side] for side in trials]
    if all(b is not None for side in batches for b in side):
        reach = batch_reach(*batches)
        row["within_trial95"] = [row["difference"] - reach, row["difference"] + reach]


def _sem(repeats: Sequence[Found], measure: str, values: dict[str, dict[str, float]]) -> Repeats | None:
    """One person's placings, or several subjects' with as many placings as all have."""
    groups = _by_placing(repeats, measure, values)
    people: dict[str, list[float]] = {}
    for key, mean in zip(groups, _means(groups, measure, values), strict=True):
        people.setdefault(key[1], []).append(mean)
    if len(people) == 1:
        return sem_of_one(next(iter(people.values())))
    several = [means for means in people.values() if len(means) > 1]
    if len(several) < 2:
        return None
    k = min(map(len, several))
    return sem_consistency(np.array([means[:k] for means in several]))


def own_repeats(day: Day, a: Sequence[Found]) -> tuple[list[Found], str]:
    """A person's placings of the day before the first adjustment, and their name; without any adjustment those of ``a``."""
    times = [one.at for one in day.adjustments if one.at is not None]
    found = [one for one in day.found if one.at < min(times)] if times else list(a)
    numbers = sorted({one.trial.placing for one in found if one.trial.placing is not None})
    name = "/".join(day.folder.resolve().parts[-2:])
    if not numbers:
        return found, name
    return found, say("compare.placings", first=numbers[0], last=numbers[-1], day=name)
