"""What the person says after a trial, by one or two keys each, all optional."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

ASKS = {"s": "feels_steady", "p": "pain"}  # a digit follows: 0 to 9, t for ten
SKIN = "k"


@dataclass
class Saying:
    """Waits for the digit that belongs to a question."""

    asked: str | None = None

    def key(self, key: str) -> dict[str, Any] | None:
        """The entry that a key completes; None where it only asks, or means nothing here."""
        if self.asked is not None and (key.isdigit() or key == "t"):
            entry = {self.asked: 10 if key == "t" else int(key)}
            self.asked = None
            return entry
        self.asked = ASKS.get(key)
        return {"skin_looked_at": True} if key == SKIN else None
