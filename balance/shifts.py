"""Weight shifts: the quiet share before them, each movement of load to a side, its hold, and the level reached.

Levels are decided on body weight, never on the share of the feet alone: a push on the crutches must not pass for
load on the orthosis. Thresholds are tool defaults, no published source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from balance.rig import SIDES, Side

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

QUIET_S, QUIET_SD_POINTS, SEARCH_S = 3.0, 1.0, 10.0
THRESHOLD_POINTS, SDS = 5.0, 3.0
END_S, END_PART = 0.3, 1 / 3
REST_S, REST_POINTS = 1.0, 4.0
HOLD_S, HOLD_POINTS, HOLD_SDS = 0.5, 10.0, 4.0
PARTIAL_PCT, PARTIAL_RISE, NEAR_FULL_PCT, LEVEL_S, BREAK_S = 50.0, 10.0, 80.0, 2.0, 0.1
UNLOADED_S = 0.1


@dataclass(frozen=True)
class Course:
    """What a weight-shift trial is judged on; loads are low-passed at 3 Hz, ``in_band`` is of the 10 Hz chain.

    time_s (n,) after the recording's first row · stretches [start, end) unbroken with valid feet · share_left (n,) %
    of both feet's load · weight_pct side → (n,) % of the reference weight, None without one · crutch_pct (n,) or None ·
    light side → (n,) below the minimum foot load · in_band side → (n,) NaN where it does not count · real (n,) measured
    """

    time_s: Array
    rate_hz: float
    stretches: list[tuple[int, int]]
    share_left: Array
    weight_pct: dict[Side, Array] | None
    crutch_pct: Array | None
    light: dict[Side, Mask]
    in_band: dict[Side, Array]
    real: Mask

    def samples(self, seconds: float) -> int:
        """The fewest samples that last so long."""
        return math.ceil(seconds * self.rate_hz - 1e-6)


@dataclass(frozen=True)
class Baseline:
    """The quiet window [start, end) before the first movement, its median share and SD in points."""

    start: int
    end: int
    share_left: float
    sd: float
    quiet: bool


@dataclass(frozen=True)
class Movement:
    """One shift [start, end) to a side, from that side's baseline share."""

    side: Side
    start: int
    end: int
    baseline: float


def find_baseline(course: Course, first_cue_s: float | None) -> Baseline | None:
    """The first quiet 3 s window before the first cue (without a cue: within the first 10 s), else the least
    restless one there; None where no unbroken 3 s exist."""
    n = round(QUIET_S * course.rate_hz)
    starts = [i for a, b in course.stretches for i in range(a, b - n + 1)]
    if not starts or n < 1:
        return None
    ends = course.time_s[[i + n - 1 for i in starts]]
    early = ends < first_cue_s if first_cue_s is not None else ends <= SEARCH_S
    allowed = [i for i, ok in zip(starts, early, strict=True) if ok] or starts[:1]
    best: tuple[float, int] | None = None
    for i in allowed:
        sd = float(np.std(course.share_left[i : i + n]))
        if sd < QUIET_SD_POINTS:
            return _baseline(course, i, n, sd, True)
        if best is None or sd < best[0]:
            best = (sd, i)
    assert best is not None
    return _baseline(course, best[1], n, best[0], False)


def _baseline(course: Course, i: int, n: int, sd: float, quiet: bool) -> Baseline:
    return Baseline(i, i + n, float(np.median(course.share_left[i : i + n])), sd, quiet)


def find_movements(course: Course, baseline: Baseline) -> list[Movement]:
    """Every shift after the baseline window, in order."""
    share, theta = course.share_left, max(THRESHOLD_POINTS, SDS * baseline.sd)
    rest_n = round(REST_S * course.rate_hz)
    found: list[Movement] = []
    armed, b, later = True, baseline.share_left, False
    for begin, stop in course.stretches:
        i = quiet_from = max(begin, baseline.end)
        while i < stop:
            if not armed:
                if abs(share[i] - baseline.share_left) <= theta:
                    armed, b, later = True, baseline.share_left, False
                elif i + 1 - rest_n >= quiet_from and np.ptp(share[i + 1 - rest_n : i + 1]) <= REST_POINTS:
                    armed, b, later = True, float(np.median(share[i + 1 - rest_n : i + 1])), True
            elif abs(share[i] - b) > theta:
                side: Side = "left" if share[i] > b else "right"
                home = baseline.share_left if later else None
                end, is_return = _movement_end(course, i, stop, side, b, home, theta)
                if is_return:
                    b, later = baseline.share_left, False
                else:
                    found.append(Movement(side, i, end, b if side == "left" else 100 - b))
                    armed, quiet_from = False, end
                i = max(end, i + 1)
                continue
            i += 1
    return found


def _movement_end(
    course: Course, start: int, stop: int, side: Side, b: float, home: float | None, theta: float
) -> tuple[int, bool]:
    """Where a movement ends, and whether it was only a return to the first baseline (``home``)."""
    sign, need = (1 if side == "left" else -1), course.samples(END_S)
    largest, low_since, home_since = 0.0, None, None
    for j in range(start, stop):
        y = float(course.share_left[j] - b) * sign
        largest = max(largest, y)
        at_home = home is not None and abs(course.share_left[j] - home) <= theta
        home_since = (j if home_since is None else home_since) if at_home else None
        if home_since is not None and j + 1 - home_since >= need:
            return home_since, True
        if y <= 0:
            return j, False
        low_since = (j if low_since is None else low_since) if y < largest * END_PART else None
        if low_since is not None and j + 1 - low_since >= need:
            return low_since, False
    return stop, False


def find_hold(share: Array, shortest: int, span: float) -> tuple[int, int] | None:
    """[start, end) of the longest stretch with max − min ≤ span and at least ``shortest`` samples, earliest of equals."""
    from collections import deque

    best: tuple[int, int] | None = None
    high: deque[int] = deque()
    low: deque[int] = deque()
    start = 0
    for end, value in enumerate(share.tolist()):
        while high and share[high[-1]] <= value:
            high.pop()
        while low and share[low[-1]] >= value:
            low.pop()
        high.append(end)
        low.append(end)
        while share[high[0]] - share[low[0]] > span:
            start += 1
            if high[0] < start:
                high.popleft()
            if low[0] < start:
                low.popleft()
        length = end + 1 - start
        if length >= shortest and (best is None or length > best[1] - best[0]):
            best = (start, end + 1)
    return best


def describe(course: Course, movement: Movement, baseline: Baseline, aligned: bool) -> dict[str, Any]:
    """A shift as the findings print it; times are None where the channels are not aligned in time."""
    side, start, end = movement.side, movement.start, movement.end
    share = course.share_left if side == "left" else 100 - course.share_left
    held = find_hold(share[start:end], course.samples(HOLD_S), max(HOLD_POINTS, HOLD_SDS * baseline.sd))
    peak = float(share[start:end].max())
    inside = slice(start + held[0], start + held[1]) if held else None
    top = float(np.median(share[inside])) if inside else peak
    rise = top - movement.baseline
    reach = start + int(np.argmax(share[start:end] >= movement.baseline + 0.9 * rise))
    tenth = reach
    begin = next(a for a, b in course.stretches if a <= start < b)
    while tenth > begin and share[tenth - 1] >= movement.baseline + 0.1 * rise:
        tenth -= 1
    other: Side = "right" if side == "left" else "left"
    entry: dict[str, Any] = {
        "side": side,
        "start_s": float(course.time_s[start]) if aligned else None,
        "reach_s": float(course.time_s[reach]) if aligned else None,
        "shift_time_s": float(course.time_s[reach] - course.time_s[tenth]) if aligned else None,
        "hold_s": None,
        "hold_share_pct": None,
        "peak_share_pct": peak,
        "body_weight_pct": None,
        "crutch_pct": None,
        "in_band_pct_time": None,
        "foot_unloaded": longest_run(course.light[other][start:end], 0) / course.rate_hz > UNLOADED_S,
    }
    if inside is None:
        return entry
    entry["hold_s"] = (inside.stop - inside.start) / course.rate_hz
    real = course.real[inside]
    if real.any():
        entry["hold_share_pct"] = float(share[inside][real].mean())
        if course.weight_pct is not None:
            entry["body_weight_pct"] = float(course.weight_pct[side][inside][real].mean())
        if course.crutch_pct is not None:
            entry["crutch_pct"] = float(course.crutch_pct[inside][real].mean())
    in_band = course.in_band[side][inside]
    in_band = in_band[~np.isnan(in_band)]
    if len(in_band):
        entry["in_band_pct_time"] = float(100 * in_band.mean())
    return entry


def longest_run(held: Mask, longest_break: int) -> int:
    """Samples of the longest run of True, counting over breaks of up to ``longest_break`` samples."""
    places = np.flatnonzero(held)
    if len(places) == 0:
        return 0
    cuts = np.flatnonzero(np.diff(places) > longest_break + 1)
    firsts = np.concatenate(([0], cuts + 1))
    lasts = np.concatenate((cuts, [len(places) - 1]))
    return int((places[lasts] - places[firsts]).max()) + 1


def level(
    course: Course, side: Side, movements: list[Movement], baseline: Baseline, cued: bool
) -> str | None:
    """The best level of load taken on a side, inside the shifts to it; None: none tried, or no reference weight."""
    own = [m for m in movements if m.side == side]
    if course.weight_pct is None or not (own or cued):
        return None
    weight = course.weight_pct[side]
    rest = float(np.median(weight[baseline.start : baseline.end]))
    longest_break, need = math.floor(BREAK_S * course.rate_hz + 1e-6), course.samples(LEVEL_S)
    runs = {
        name: max((longest_run(reached[m.start : m.end], longest_break) for m in own), default=0)
        for name, reached in (
            ("near-full load held", weight >= NEAR_FULL_PCT),
            ("partial load held", (weight >= PARTIAL_PCT) & (weight >= rest + PARTIAL_RISE)),
        )
    }
    for name, run in runs.items():
        if run >= need:
            return name
    return "reached, not held" if any(runs.values()) else "not reached"


def levels(
    course: Course, movements: list[Movement], baseline: Baseline, cues: list[str]
) -> dict[str, str | None]:
    """Both sides' levels; ``cues``: the details of the cues given."""
    return {s: level(course, s, movements, baseline, any(s in cue for cue in cues)) for s in SIDES}
