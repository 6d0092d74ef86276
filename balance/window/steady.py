"""Numbers that do not flicker: a shown step changes only when the value has clearly left it."""

from __future__ import annotations

HYSTERESIS = 0.7  # of a step: half a step rounds, the rest is what keeps it still


class Steady:
    """A whole number as shown, by name."""

    def __init__(self) -> None:
        self._shown: dict[str, int] = {}

    def __call__(self, name: str, value: float) -> int:
        """The number to show for ``value``: the one shown before unless the value is more than 0.7 away from it."""
        before = self._shown.get(name)
        if before is None or abs(value - before) > HYSTERESIS:
            self._shown[name] = before = round(value)
        return before
