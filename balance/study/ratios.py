"""Ratios between two recordings of one person that differ in one condition alone: eyes closed against open, foam against floor.

After the ratio of sway with eyes closed to eyes open that goes by Romberg's name (common practice); of any condition here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

import numpy as np

from balance.words import say


def ratios(
    found: Iterable[dict[str, Any]], condition: str, above: str, below: str
) -> tuple[list[dict[str, Any]], list[str]]:
    """A row a person and day: {"subject", "day", "protocol", "condition", "above", "below", "others", "n": [above, below], "ratios":
    {measure: value above / value below, or None}}, repeats averaged first; and sentences on what has no partner."""
    groups: dict[tuple[str, ...], dict[str, list[dict[str, Any]]]] = defaultdict(lambda: defaultdict(list))
    without = 0
    for one in found:
        conditions = dict((one.get("provenance") or {}).get("conditions") or {})
        value = str(conditions.pop(condition, ""))
        if value not in (above, below):
            without += 1
            continue
        others = ", ".join(f"{k}={v}" for k, v in sorted(conditions.items()))
        day = str(one["recording"]).rsplit("/", 1)[0]
        groups[(str(one["subject"]), day, one["protocol"], str(one["posture"]), others)][value].append(one)
    rows, missing = [], []
    if without:
        missing.append(
            say("study.without-condition", count=without, condition=condition, above=above, below=below)
        )
    for (subject, day, protocol, _, others), values in groups.items():
        lacks = [name for name in (above, below) if name not in values]
        if lacks:
            missing.append(
                say("study.no-partner", subject=subject, day=day, condition=condition, value=lacks[0])
            )
            continue
        high, low = _means(values[above]), _means(values[below])
        shared = {m: high[m] / low[m] if low[m] else None for m in high if m in low}
        rows.append({"subject": subject, "day": day, "protocol": protocol, "condition": condition, "above": above, "below": below,
                     "others": others, "n": [len(values[above]), len(values[below])], "ratios": shared})  # fmt: skip
    return rows, missing


def _means(trials: list[dict[str, Any]]) -> dict[str, float]:
    """Each sway measure's mean over repeats, where every one of them has it."""
    flat = [
        {f"{axis}.{k}": v for axis, block in one["sway"].items() for k, v in block.items()} for one in trials
    ]
    return {
        k: float(np.mean([one[k] for one in flat]))
        for k in flat[0]
        if all(one.get(k) is not None for one in flat)
    }


def ratio_lines(rows: list[dict[str, Any]]) -> list[str]:
    """For a person."""
    lines = []
    for row in rows:
        lines.append(say("study.ratio-head", n_above=row["n"][0], n_below=row["n"][1], **row))
        lines += [say("study.ratio", measure=m, ratio=r) for m, r in row["ratios"].items() if r is not None]
    return lines
