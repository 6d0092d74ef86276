"""One recording as one row: the findings laid flat, and what each column means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from balance.day.comparing import shift_means
from balance.words import say

LEFT_OUT = ("quality", "budget", "series", "batch_means")
INNER = ("measure_versions",)


def row_of(found: dict[str, Any]) -> dict[str, Any]:
    """Column → number or words; nested names joined by dots, an interval as its ``.low`` and ``.high``, a list of events as its
    ``.count``; ``quality`` the codes, ``absent`` the columns that are empty for a reason given in the findings."""
    row = dict(_flat({k: v for k, v in found.items() if k not in LEFT_OUT}, ""))
    if found.get("shifts"):
        row |= shift_means(found["shifts"])
    if "quality" in found:
        row["quality"] = " ".join(dict.fromkeys(entry["code"] for entry in found["quality"]))
    return row


def _flat(value: dict[str, Any], prefix: str) -> Iterator[tuple[str, Any]]:
    for key, item in value.items():
        if key in INNER:
            continue
        name = f"{prefix}{key}"
        if isinstance(item, dict):
            yield from _flat(item, f"{name}.")
        elif (
            isinstance(item, list)
            and len(item) == 2
            and not any(isinstance(one, dict | list) for one in item)
        ):
            yield f"{name}.low", item[0]
            yield f"{name}.high", item[1]
        elif isinstance(item, list):
            yield f"{name}.count", len(item)
        else:
            yield name, item


def dictionary(columns: list[str]) -> list[dict[str, Any]]:
    """A line a column: unit, what it is, formula and source where it is a measure, the version of its declaration."""
    from balance.measures.sway import declared

    measures = {row["measure"]: row for row in declared()}
    lines = []
    for column in columns:
        last = column.rsplit(".", 1)[-1]
        m = measures.get(last, {}) if column.startswith(("sway", "coordination")) else {}
        lines.append(
            {
                "column": column,
                "unit": m.get("unit") or unit_of(column),
                "meaning": _meaning(column),
                "formula": m.get("formula", ""),
                "source": m.get("source", ""),
                "version": m.get("version", ""),
            }
        )
    return lines


def unit_of(column: str) -> str:
    """By the ending of the name: the same rule that names them."""
    name = column.removesuffix(".low").removesuffix(".high").removesuffix("_u")
    endings = (
        ("_nm_per_kg", "N·m/kg"), ("_nm", "N·m"), ("_mm2_s", "mm²/s"), ("_mm_s", "mm/s"), ("_mm2", "mm²"), ("_mm", "mm"),
        ("_pct_time", "% of time"), ("_pct", "%"), ("_hz", "Hz"), ("_deg", "°"), ("_kg", "kg"), ("_n", "N"), ("_s", "s"),
        ("_sha256", ""), (".count", "1"), ("_dof", "1"),
    )  # fmt: skip
    return next((unit for ending, unit in endings if name.endswith(ending)), "")


def _meaning(column: str) -> str:
    """The words for a column, by its first part and its last."""
    first, last = column.split(".", 1)[0], column.rsplit(".", 1)[-1]
    for key in (f"column.{column}", f"column.{last}", f"column.{first}"):
        try:
            return say(key)
        except KeyError:
            continue
    return ""
