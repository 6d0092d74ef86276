"""Do the feet and tips still stand where the stance says: a lifted foot or tip makes the places unconfirmed until somebody says so."""

from __future__ import annotations

from dataclasses import dataclass, field

from balance.rig import SIDES, Rig, Side
from balance.stance import Stance

FOOT_UP_S = 1.0  # a foot below the minimum for so long was lifted; tool default
TIP_UP_S = 0.3  # the same of a crutch tip; tool default
TIP_UP_OF_OWN = (
    0.5  # a shaft cell that reads less than so much of the crutch's own weight hangs; tool default
)
LEAST_OWN_N = 3.0  # lighter crutches cannot be told from resting ones; tool default
PLATE_UP_N = 2.0  # a crutch plate that carries less has no tip on it; tool default


@dataclass
class PlacingWatch:
    """Fed with every picture's loads; ``is_confirmed`` falls by itself and rises by ``confirm``.

    number  counts up when the feet were put down anew; a tip moved alone leaves it
    """

    rig: Rig
    stance: Stance
    number: int = 1
    is_confirmed: bool = True
    _up_since: dict[str, float] = field(default_factory=dict)
    _foot_moved: bool = False
    _was_down: set[str] = field(default_factory=set)

    def saw(
        self, time_s: float, foot_n: dict[Side, float], minimum_n: float, hand_n: dict[Side, float]
    ) -> bool:
        """hand_n: the hands' part on each crutch that has cells. True where the places became unconfirmed just now."""
        was = self.is_confirmed
        for side in SIDES:
            if self._is_up(f"{side} foot", foot_n.get(side, 0.0) < minimum_n, time_s, FOOT_UP_S):
                self.is_confirmed, self._foot_moved = False, True
            if side in hand_n and self._is_up(
                f"{side} tip", self._hangs(side, hand_n[side]), time_s, TIP_UP_S
            ):
                self.is_confirmed = False
        return was and not self.is_confirmed

    def confirm(self) -> None:
        """Somebody says where they stand now."""
        if self._foot_moved:
            self.number += 1
        self.is_confirmed, self._foot_moved = True, False
        self._was_down.clear()  # who is not there yet steps up later
        self._up_since.clear()

    def _is_up(self, what: str, up: bool, time_s: float, for_s: float) -> bool:
        if not up:
            self._up_since.pop(what, None)
            self._was_down.add(what)
            return False
        if what not in self._was_down:
            return False  # it was never put down: there is nothing to confirm yet
        return time_s - self._up_since.setdefault(what, time_s) >= for_s

    def _hangs(self, side: Side, hand_n: float) -> bool:
        if self.rig.is_crutch_plate(side):
            return hand_n < PLATE_UP_N
        crutch = self.stance.crutch(side)
        own = 0.0 if crutch is None else crutch.own_weight_n
        return own >= LEAST_OWN_N and hand_n + own < TIP_UP_OF_OWN * own
