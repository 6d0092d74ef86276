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
    "floor-other-rate": "warning",
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
    "link-lost": "warning",
    "foot-off": "warning",
    "cell-dead": "warning",
    "cell-stuck": "warning",
    "cell-saturated": "warning",
    "cell-noisy": "warning",
    "cell-slow": "warning",
    "cell-out-of-family": "warning",
    "cell-loaded-empty": "warning",
    "zero-drifted": "warning",
    "mains-hum": "warning",
    "beyond-capacity": "warning",
    "person-too-heavy": "warning",
    "zero-off-line": "warning",
    "zero-uncertainty-unknown": "warning",
    "mass-uncertainty-missing": "warning",
    "rows-twice": "warning",
    "no-freedom": "warning",
    "limit-not-met": "warning",
    "cells-without-points": "warning",
    "points-without-cell": "warning",
}


class Quality:
    """Collects entries; each code stands once, with all its keys."""

    def __init__(self) -> None:
        self._entries: dict[str, dict[str, Any]] = {}

    def add(self, code: str, *keys: str, apart: object = None, **facts: object) -> None:
        """Adds an entry, or its keys where the code is there already. apart: what an entry is about, where each of
        several things gets its own."""
        self._enter(code, keys, apart, LEVELS.get(code, "note"), facts)

    def add_absent(self, code: str, values: dict[str, Any], prefix: str = "") -> None:
        """As ``add`` for those of ``values`` that are None; nothing where none is."""
        keys = [f"{prefix}{key}" for key, value in values.items() if value is None]
        if keys:
            self.add(code, *keys)

    def note(self, code: str, *keys: str, apart: object = None, **facts: object) -> None:
        """As ``add``, a note whatever the code's level."""
        self._enter(code, keys, apart, "note", facts)

    def _enter(
        self, code: str, keys: tuple[str, ...], apart: object, level: Level, facts: dict[str, object]
    ) -> None:
        name = code if apart is None else f"{code} {apart}"
        entry = self._entries.get(name)
        if entry is None:
            entry = {"level": level, "code": code, "text": say(f"quality.{code}", **facts)}
            self._entries[name] = entry
        if keys:
            entry["keys"] = list(dict.fromkeys([*entry.get("keys", []), *keys]))

    def tell(self, code: str, about: str, text: str) -> None:
        """An entry whose sentence is made already; once for each ``about``, in the words of the first time."""
        self._entries.setdefault(
            f"{code} {about}", {"level": LEVELS.get(code, "note"), "code": code, "text": text}
        )

    def __contains__(self, code: str) -> bool:
        return any(entry["code"] == code for entry in self._entries.values())

    def entries(self) -> list[dict[str, Any]]:
        return list(self._entries.values())
