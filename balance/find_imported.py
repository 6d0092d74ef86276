"""Of another laboratory's table: what its plates could not tell is absent, and says why."""

from __future__ import annotations

from typing import Any

from balance.quality import Quality

OF_SHOES = ("load_line", "support", "moment")
OF_EACH_FOOT = ("load.left_pct", "load.left_pct_u", "load.right_pct", "load.right_pct_u", "load_line.left", "load_line.right", "moment",
                "sway_of.left", "sway_of.right", "coordination", "levels", "shifts", "shift_sides")  # fmt: skip


def without_the_unknown(result: dict[str, Any], imported: dict[str, Any], quality: Quality) -> None:
    """Takes out of the findings what needs shoes where no stance was given, and what needs a plate a foot where there was one."""
    quality.add("not-raw-counts")
    if imported.get("stance_unknown"):
        absent = [path for part in OF_SHOES for path in _blank(result, part)]
        for key in result["sway"]["resultant"]:
            if key.startswith("time_to_boundary"):
                absent += _blank(result, f"sway.resultant.{key}")
        quality.add("imported-no-stance", *absent)
    if imported.get("one_plate"):
        quality.add("one-plate", *(path for part in OF_EACH_FOOT for path in _blank(result, part)))


def _blank(result: dict[str, Any], path: str) -> list[str]:
    """Sets every value at or below ``path`` to None; their paths. A list becomes empty."""
    *above, last = path.split(".")
    block: Any = result
    for name in above:
        block = block.get(name) or {}
    value = block.get(last)
    if isinstance(value, dict):
        return [one for key in value for one in _blank(result, f"{path}.{key}")]
    if isinstance(value, list) and not (value and isinstance(value[0], int | float)):
        block[last] = []
        return []
    if last in block:
        block[last] = None
        return [path]
    return []
