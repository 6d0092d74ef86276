"""The support as a convex polygon: its edges, the distance to them, the probability inside."""

import math

import numpy as np
from scipy.special import owens_t


def corners_of_foot(heel, length, toe_out, side: str, foot: dict) -> list[np.ndarray]:
    """The four corners of a foot's usable support, a trapezoid with equal legs on the foot's axis."""
    sign = -1.0 if side == "left" else 1.0
    along = np.array([math.cos(toe_out), sign * math.sin(toe_out)])
    across = np.array([-along[1], along[0]])
    front = heel + length * along
    back_half, front_half = foot["heel_width_mm"] / 2, foot["forefoot_width_mm"] / 2
    return [
        heel + back_half * across,
        heel - back_half * across,
        front + front_half * across,
        front - front_half * across,
    ]


def hull(points: list[np.ndarray]) -> np.ndarray:
    """(corners, 2) anticlockwise in (AP, ML); points in line with their neighbours are no corners."""
    ordered = sorted({(float(p[0]), float(p[1])) for p in points})

    def half(sequence):
        chain = []
        for p in sequence:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 1e-9 * _size(chain[-2], chain[-1], p):
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return np.array(half(ordered) + half(ordered[::-1]))


def _turn(a, b, c) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _size(a, b, c) -> float:
    return math.dist(a, b) * math.dist(a, c)


def edge_distances(corners: np.ndarray, point: np.ndarray) -> tuple[bool, list[tuple[float, np.ndarray]]]:
    """Whether the point is inside, and (distance, outward unit normal) of each edge, nearest first."""
    inside, found = True, []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        edge = b - a
        at = np.clip((point - a) @ edge / (edge @ edge), 0, 1)
        normal = np.array([edge[1], -edge[0]]) / math.hypot(*edge)
        found.append((float(np.hypot(*(point - a - at * edge))), normal))
        inside &= bool((point - a) @ normal <= 0)
    return inside, sorted(found, key=lambda item: item[0])


def margin(corners: np.ndarray, point: np.ndarray, covariance: np.ndarray) -> tuple[float, float | None]:
    """Signed distance to the nearest edge, positive inside, and its standard uncertainty.

    The uncertainty is absent where the two nearest edges differ by less than two of it.
    """
    inside, edges = edge_distances(corners, point)
    (nearest, normal), (second, _) = edges[:2]
    u = math.sqrt(normal @ covariance @ normal)
    return (nearest if inside else -nearest), (None if second - nearest < 2 * u else u)


def probability_inside(corners: np.ndarray, mean: np.ndarray, covariance: np.ndarray) -> float:
    """The integral of the normal density over the polygon, edge by edge with Owen's T."""
    white = np.linalg.solve(np.linalg.cholesky(covariance), (corners - mean).T).T
    total = 0.0
    for a, b in zip(white, np.roll(white, -1, axis=0), strict=True):
        e = (b - a) / math.hypot(*(b - a))
        d = a[0] * e[1] - a[1] * e[0]
        if abs(d) < 1e-12:
            continue
        from_, to = (a @ e) / abs(d), (b @ e) / abs(d)
        part = (math.atan(to) - math.atan(from_)) / (2 * math.pi)
        part += -owens_t(abs(d), to) + owens_t(abs(d), from_)
        total += math.copysign(1, d) * part
    return float(total)
