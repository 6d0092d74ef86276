"""What the rig alone makes of each measure: a dead weight's trial as the floor that a person's values are held against."""

from __future__ import annotations

from typing import Any

from balance.words import say

AT_FLOOR = 2.0  # times the floor: below it a value is the rig's as much as the person's; tool default
GROWS = (
    "_mm",
    "_mm_s",
    "_mm2",
    "_mm2_s",
)  # units of what noise adds to; frequencies, exponents and times it only distorts


def floor_of(found: dict[str, Any]) -> dict[str, float]:
    """The sizes in the sway of a noise-floor trial's findings, by their paths."""
    return {
        f"sway.{axis}.{key}": value
        for axis, block in found["sway"].items()
        for key, value in block.items()
        if value is not None and key.endswith(GROWS) and "critical" not in key
    }


def mark_at_floor(found: dict[str, Any], floor: dict[str, float]) -> dict[str, Any]:
    """The findings with a quality entry that names the values at the floor; without a floor as they are."""
    low = []
    for path, least in floor.items():
        _, axis, key = path.split(".")
        value = found["sway"][axis].get(key)
        if value is not None and value < AT_FLOOR * least:
            low.append(path)
    if low and found["protocol"] != "noise floor":
        entry = {
            "level": "warning",
            "code": "below-floor",
            "text": say("quality.below-floor", times=AT_FLOOR),
            "keys": low,
        }
        found["quality"] = [*found["quality"], entry]
    return found
