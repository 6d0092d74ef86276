"""The area that supports: hull of the usable supports and crutch tips, margins to it, probability to be over it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.load_line import FootFrame, Lines, Setup
from balance.reading import StandsOn
from balance.rig import SIDES, Side
from balance.stance import Stance
from balance.verdict import SURE, SURELY_NOT

Array = npt.NDArray[np.float64]


def usable_support_mm(stance: Stance, side: Side) -> Array:
    """(4, 2) corners (AP, ML) of one foot's usable support: the isosceles trapezoid on its axis, from heel edge
    to rocker line."""
    foot, frame = stance.foot(side), FootFrame.of(stance, side)
    heel, along, across = np.array(frame.heel_mm), np.array(frame.along), np.array(frame.across)
    toe = heel + along * frame.length_mm
    return np.array(
        [
            heel - across * foot.heel_width_mm / 2,
            toe - across * foot.forefoot_width_mm / 2,
            toe + across * foot.forefoot_width_mm / 2,
            heel + across * foot.heel_width_mm / 2,
        ]
    )


def hull_mm(points_mm: Array) -> Array:
    """(k, 2) convex hull, anticlockwise, without corners in line (Andrew's monotone chain). points (n, 2)."""
    points = sorted({(float(x), float(y)) for x, y in points_mm})
    if len(points) < 3:
        return np.array(points, dtype=np.float64).reshape(-1, 2)

    def half(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for p in ordered:
            while len(chain) >= 2:
                (ax, ay), (bx, by) = chain[-2], chain[-1]
                turn = (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)
                scale = math.hypot(bx - ax, by - ay) * math.hypot(p[0] - ax, p[1] - ay)
                if turn > 1e-12 * scale:
                    break
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return np.array(half(points) + half(points[::-1]), dtype=np.float64)


@dataclass(frozen=True)
class Margin:
    """Signed distance to the nearest edge, positive inside, mm; that edge's outward normal; the second nearest
    edge's distance (unsigned) less the nearest's."""

    distance_mm: float
    normal: tuple[float, float]
    to_next_mm: float


def margin(point_mm: tuple[float, float], hull: Array) -> Margin:
    """Margin of a point (AP, ML) to an anticlockwise hull of at least three corners."""
    x, y = point_mm
    inside = True
    edges = []
    corners = hull.tolist()
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        ex, ey = bx - ax, by - ay
        length = math.hypot(ex, ey)
        ex, ey = ex / length, ey / length
        inside = inside and ex * (y - ay) - ey * (x - ax) >= 0
        t = min(max((x - ax) * ex + (y - ay) * ey, 0.0), length)
        edges.append((math.hypot(x - ax - t * ex, y - ay - t * ey), (ey, -ex)))
    edges.sort(key=lambda edge: edge[0])
    distance = edges[0][0]
    return Margin(distance if inside else -distance, edges[0][1], edges[1][0] - distance)


def probability_over(mean_mm: Array, covariance_mm2: Array, hull: Array) -> float:
    """Integral of the normal density N(mean, covariance) over an anticlockwise hull, exactly.

    Whitened by the Cholesky factor, each edge adds what Owen's T function says of the wedge under it
    (Owen 1956, Ann. Math. Stat. 27:1075–1090: the integral over a polygon).
    """
    from scipy.special import owens_t

    (c_ap, c_both), (_, c_ml) = covariance_mm2.tolist()
    l_ap = math.sqrt(c_ap)
    l_both = c_both / l_ap
    l_ml = math.sqrt(c_ml - l_both * l_both)
    corners = []
    for ap, ml in (hull - mean_mm).tolist():
        x = ap / l_ap
        corners.append((x, (ml - l_both * x) / l_ml))
    total, signs, heights, ratios = 0.0, [], [], []
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        length = math.hypot(bx - ax, by - ay)
        ex, ey = (bx - ax) / length, (by - ay) / length
        d = ax * ey - ay * ex
        h = abs(d)
        if h < 1e-12:
            continue
        sign, ra, rb = math.copysign(1.0, d), (ax * ex + ay * ey) / h, (bx * ex + by * ey) / h
        total += sign * (math.atan(rb) - math.atan(ra)) / (2 * math.pi)
        signs += [sign, -sign]
        heights += [h, h]
        ratios += [ra, rb]
    total += sum(s * t for s, t in zip(signs, owens_t(heights, ratios).tolist(), strict=True))
    return float(min(max(total, 0.0), 1.0))


def stands_on(probability: float) -> StandsOn:
    """feet from 0.95, feet and crutches to 0.05, else undecided."""
    if probability >= SURE:
        return "feet"
    return "feet and crutches" if probability <= SURELY_NOT else "undecided"


def feet_hull_mm(setup: Setup, mean_n: Mapping[Side, float]) -> Array:
    """Hull of the usable supports of the feet that carry load; ``mean_n``: 'left', 'right' newtons."""
    corners = [usable_support_mm(setup.stance, s) for s in SIDES if mean_n[s] >= setup.minimum_n]
    return hull_mm(np.concatenate(corners)) if corners else np.zeros((0, 2))


def loaded_tips_mm(
    setup: Setup, lines: Lines, valid: npt.NDArray[np.bool_]
) -> dict[str, tuple[float, float]]:
    """Tips that hold: measured crutches loaded by their mean, and what the weight says; 'left', 'right', 'other…'."""
    tips: dict[str, tuple[float, float]] = {}
    for side, hand_n in lines.hand_n.items():
        if side in lines.crutch_mm and float(hand_n[valid].mean()) >= setup.loaded_n:
            ap, ml = lines.crutch_mm[side]
            if isinstance(ap, float) or isinstance(ml, float):
                tips[side] = (float(ap), float(ml))
            else:  # a plate says where the tip is while it is loaded
                on = valid & (hand_n >= setup.loaded_n)
                if on.any():
                    tips[side] = (float(ap[on].mean()), float(ml[on].mean()))
    if lines.other_n is not None and float(lines.other_n[valid].mean()) >= setup.loaded_n:
        for number, tip in enumerate(setup.other_tips_mm):
            tips[f"other{number}"] = tip
    return tips
