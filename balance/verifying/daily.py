"""The daily minute without masses: the same helper stands on the left plate, then on the right; the totals must agree."""

from __future__ import annotations

from dataclasses import dataclass

from balance.words import say

WITHIN = 0.01  # of the mean of both; tool default, no published source
LEAST_N = 200.0  # less than that is nobody; tool default


@dataclass(frozen=True)
class Daily:
    left_n: float
    right_n: float

    @property
    def difference(self) -> float:
        """Left less right, relative to their mean."""
        return (self.left_n - self.right_n) / ((self.left_n + self.right_n) / 2)

    @property
    def agrees(self) -> bool:
        return min(self.left_n, self.right_n) >= LEAST_N and abs(self.difference) <= WITHIN

    @property
    def sentence(self) -> str:
        if min(self.left_n, self.right_n) < LEAST_N:
            return say("verify.daily-nobody", least=LEAST_N / 9.80665)
        key = "verify.daily-agrees" if self.agrees else "verify.daily-differs"
        return say(key, left=self.left_n / 9.80665, right=self.right_n / 9.80665, pct=100 * abs(self.difference), within=100 * WITHIN)  # fmt: skip
