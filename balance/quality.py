"""Quality entries of an analysis: codes, their sentences, and the keys whose values are absent for them."""

from __future__ import annotations

from typing import Any, Literal

from balance.words import say

Level = Literal["note", "warning", "error"]

LEVELS: dict[str, Level] = {
    "rate-differs": "warning",
    "rate-too-low": "warning",
    "too-short": "warning",
    "no-filter": "note",
    "not-aligned": "warning",
    "values-left-out": "warning",
    "beyond-calibration": "warning",
    "band-too-narrow": "warning",
    "heels-staggered": "warning",
    "ml-not-seen": "note",
    "no-quiet-baseline": "warning",
    "body-weight-too-low": "warning",
    "unmeasured-support": "warning",
    "touched": "warning",
    "crutch-from-weight": "note",
    "spectral-resolution": "warning",
    "weight-from-trial": "note",
    "no-body-weight": "note",
    "too-few-samples": "error",
}


class Quality:
    """Collects entries; each code stands once, with all its keys."""

    def __init__(self) -> None:
        self._entries: dict[str, dict[str, Any]] = {}

    def add(self, code: str, *keys: str, **facts: object) -> None:
        """Adds an entry, or its keys where the code is there already."""
        entry = self._entries.get(code)
        if entry is None:
            text = say(f"quality.{code}", **facts)
            entry = {"level": LEVELS.get(code, "note"), "code": code, "text": text}
            self._entries[code] = entry
        if keys:
            entry["keys"] = list(dict.fromkeys([*entry.get("keys", []), *keys]))

    def __contains__(self, code: str) -> bool:
        return code in self._entries

    def entries(self) -> list[dict[str, Any]]:
        return list(self._entries.values())
