"""What usually helps, tied to a finding: common practice, to be weighed by those who know the person; never a ranking."""

from __future__ import annotations

from typing import Any

from balance.rig import SIDES
from balance.words import say


def hints(findings: dict[str, Any]) -> list[str]:
    """Sentences for one recording; [] where nothing asks for one."""
    found = []
    support = findings["support"]
    sides = [findings["load_line"][f"body_on_{side}"] for side in SIDES]
    ahead = [block["verdict"] == "outside" and block["offset_mm"] > 0 for block in sides]
    behind = [block["verdict"] == "outside" and block["offset_mm"] < 0 for block in sides]
    if support["stands_on"] == "feet and crutches" and any(block["mean_pct"] is not None and block["mean_pct"] > 100 for block in sides):  # fmt: skip
        found.append(say("hint.held-by-crutches"))
    elif any(ahead):
        found.append(say("hint.ahead"))
    elif any(behind):
        found.append(say("hint.behind"))
    over = [
        m["used_pct"]
        for m in findings["moment"].values()
        if m["used_pct"] is not None and m["used_pct"] > 100
    ]
    if over:
        found.append(say("hint.moment"))
    if any(entry["code"] == "unmeasured-support" for entry in findings["quality"]):
        found.append(say("hint.elsewhere"))
    return found
