"""Weight shifts: the quiet share before, each movement away from it, the hold at its end, the levels."""

import math
from dataclasses import dataclass

import numpy as np

from tests.reference.facts import SIDES


@dataclass
class Course:
    """What a weight-shift trial is judged on; forces behind it are low-passed at 3 Hz except `in_band`."""

    time_s: np.ndarray
    stretches: list[tuple[int, int]]  # unbroken and valid
    rate_hz: float
    share_left: np.ndarray  # % of both feet's load
    weight_pct: np.ndarray | None  # (2, n) % of the reference weight
    crutch_pct: np.ndarray | None
    below_minimum: np.ndarray  # (2, n)
    in_band: np.ndarray  # (2, n) 1, 0 or nan where it does not count
    filled: np.ndarray

    def at_least(self, seconds: float) -> int:
        """The fewest samples that last so long."""
        return math.ceil(seconds * self.rate_hz - 1e-6)


def quiet_window(c: Course, cues: list[tuple[float, str]]) -> tuple[int, int, bool] | None:
    """First and past-last sample of the window for the baseline, and whether it is quiet (SD < 1 point)."""
    n = round(3 * c.rate_hz)
    starts = [i for a, b in c.stretches for i in range(a, b - n + 1)]
    if not starts:
        return None
    if cues:
        allowed = [i for i in starts if c.time_s[i + n - 1] < cues[0][0]] or starts[:1]
    else:
        allowed = [i for i in starts if c.time_s[i + n - 1] <= 10] or starts[:1]
    sds = [c.share_left[i : i + n].std() for i in allowed]
    for i, sd in zip(allowed, sds, strict=True):
        if sd < 1:
            return i, i + n, True
    i = allowed[int(np.argmin(sds))]
    return i, i + n, False


def movements(c: Course, window: tuple[int, int, bool]) -> tuple[list[tuple[int, int, int, float]], float]:
    """(side 0 or 1, start, past-end, baseline of that side's share) of each shift, and θ."""
    x = c.share_left
    first_b = float(np.median(x[window[0] : window[1]]))
    theta = max(5.0, 3 * x[window[0] : window[1]].std())
    found, armed, later, b = [], True, False, first_b
    for begin, stop in c.stretches:
        i = quiet_from = max(begin, window[1])
        while i < stop:
            if not armed:
                n = round(c.rate_hz)
                last = x[max(quiet_from, i - n + 1) : i + 1]
                if abs(x[i] - first_b) <= theta:
                    armed, later, b = True, False, first_b
                elif len(last) == n and last.max() - last.min() <= 4:
                    armed, later, b = True, True, float(np.median(last))
            elif abs(x[i] - b) > theta:
                side = 0 if x[i] > b else 1
                end, is_return = _end(c, (i, stop), side, b, (first_b if later else None, theta))
                if is_return:
                    later, b = False, first_b
                else:
                    found.append((side, i, end, b if side == 0 else 100 - b))
                    armed, quiet_from = False, end
                i = end
                continue
            i += 1
    return found, theta


def _end(c: Course, span: tuple[int, int], side: int, b: float, first: tuple[float | None, float]):
    """Past-end of the movement that starts here, and whether it is only a return to the first baseline."""
    (start, stop), (first_b, theta), n = span, first, c.at_least(0.3)
    largest, below, back = 0.0, 0, 0
    for j in range(start, stop):
        y = (c.share_left[j] - b) * (1 if side == 0 else -1)
        largest = max(largest, y)
        back = back + 1 if first_b is not None and abs(c.share_left[j] - first_b) <= theta else 0
        if back >= n:
            return j - n + 1, True
        if y <= 0:
            return j, False
        below = below + 1 if y < largest / 3 else 0
        if below >= n:
            return j - n + 1, False
    return stop, False


def hold(c: Course, share: np.ndarray, start: int, end: int, span: float) -> tuple[int, int] | None:
    """The longest stretch inside start…end whose values differ by no more than `span`; earliest of equals."""
    best = None
    for a in range(start, end):
        low = high = share[a]
        b = a
        while b < end:
            low, high = min(low, share[b]), max(high, share[b])
            if high - low > span:
                break
            b += 1
        if b - a >= c.at_least(0.5) and (best is None or b - a > best[1] - best[0]):
            best = (a, b)
        if b == end:
            break
    return best


def describe(c: Course, movement: tuple[int, int, int, float], sd: float, aligned: bool) -> dict:
    """One entry of `shifts`."""
    side, start, end, b = movement
    share = c.share_left if side == 0 else 100 - c.share_left
    held = hold(c, share, start, end, max(10.0, 4 * sd))
    top = float(np.median(share[slice(*held)])) if held else float(share[start:end].max())
    reach = next(i for i in range(start, end) if share[i] >= b + 0.9 * (top - b))
    begin = next(a for a, stop in c.stretches if a <= start < stop)
    tenth = reach
    while tenth > begin and share[tenth - 1] >= b + 0.1 * (top - b):
        tenth -= 1
    entry = {
        "side": SIDES[side],
        "start_s": c.time_s[start] if aligned else None,
        "reach_s": c.time_s[reach] if aligned else None,
        "shift_time_s": c.time_s[reach] - c.time_s[tenth] if aligned else None,
        "hold_s": None,
        "hold_share_pct": None,
        "peak_share_pct": share[start:end].max(),
        "body_weight_pct": None,
        "crutch_pct": None,
        "in_band_pct_time": None,
        "foot_unloaded": longest_run(c.below_minimum[1 - side][start:end], 0) / c.rate_hz > 0.1,
    }
    if held:
        inside = slice(*held)
        counts = ~c.filled[inside]
        entry["hold_s"] = (held[1] - held[0]) / c.rate_hz
        entry["hold_share_pct"] = share[inside][counts].mean()
        if c.weight_pct is not None:
            entry["body_weight_pct"] = c.weight_pct[side][inside][counts].mean()
        if c.crutch_pct is not None:
            entry["crutch_pct"] = c.crutch_pct[inside][counts].mean()
        in_band = c.in_band[side][inside]
        in_band = in_band[~np.isnan(in_band)]
        entry["in_band_pct_time"] = 100 * in_band.mean() if len(in_band) else None
    return {
        key: value if isinstance(value, str | bool | None) else _plain(value) for key, value in entry.items()
    }


def _plain(value):
    return bool(value) if isinstance(value, np.bool_) else float(value)


def longest_run(held: np.ndarray, longest_break: int) -> int:
    """Samples of the longest run of True, breaks of so many samples included."""
    longest, run, gap = 0, 0, 0
    for value in held:
        if value:
            run = run + gap + 1 if run else 1
            gap = 0
            longest = max(longest, run)
        elif run:
            gap += 1
            if gap > longest_break:
                run, gap = 0, 0
    return longest


def level(c: Course, side: int, found: list, window: tuple[int, int, bool], cued: bool) -> str | None:
    """The best level of load that this side took."""
    own = [m for m in found if m[0] == side]
    if c.weight_pct is None or not (own or cued):
        return None
    bw = c.weight_pct[side]
    baseline = np.median(bw[window[0] : window[1]])
    partial, near_full = (bw >= 50) & (bw >= baseline + 10), bw >= 80
    longest_break = math.floor(0.1 * c.rate_hz + 1e-6)

    def longest(reached):
        return max((longest_run(reached[m[1] : m[2]], longest_break) for m in own), default=0)

    if longest(near_full) >= c.at_least(2):
        return "near-full load held"
    if longest(partial) >= c.at_least(2):
        return "partial load held"
    return "reached, not held" if longest(near_full) or longest(partial) else "not reached"
