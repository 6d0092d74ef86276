"""Time to boundary: how long the centre of pressure, going on as it goes, would take to the edge of the usable support."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from balance.measures.declaration import Family, Measure

Array = npt.NDArray[np.float64]

WEGEN = (
    "van Wegen et al. 2002, J Neurosci Methods 114:175–187, and Hertel et al. 2006 (definition from memory); against the usable "
    "support, heel edge to rocker line, not the anatomical foot"
)
KEYS = ("time_to_boundary_min_s", "time_to_boundary_mean_s", "time_to_boundary_sd_s")


def time_to_boundary_s(points: Array, velocity: Array, edge: Array) -> Array:
    """(n,) seconds from ``points`` (n, 2) along ``velocity`` (n, 2) to the polygon ``edge`` (k, 2), corners in order around a
    convex area; nan outside of it, inf without movement."""
    a, side = edge, np.roll(edge, -1, axis=0) - edge
    turned = np.stack([side[:, 1], -side[:, 0]], axis=1)  # normal of each side
    outward = turned * np.where(((edge.mean(axis=0) - a) * turned).sum(axis=1) > 0, -1.0, 1.0)[:, None]
    room = ((a[None, :, :] - points[:, None, :]) * outward[None, :, :]).sum(axis=2)  # ≥ 0 inside
    speed = velocity @ outward.T
    with np.errstate(divide="ignore", invalid="ignore"):
        time = np.where(speed > 0, room / speed, np.inf)
    return np.where((room >= 0).all(axis=1), time.min(axis=1), np.nan)


def local_minima(values: Array) -> Array:
    """Values smaller than both neighbours; a flat bottom counts once."""
    finite = values[np.isfinite(values)]
    keep = np.concatenate(([True], np.diff(finite) != 0)) if len(finite) else np.zeros(0, dtype=bool)
    v = finite[keep]
    inner = (v[1:-1] < v[:-2]) & (v[1:-1] < v[2:]) if len(v) > 2 else np.zeros(0, dtype=bool)
    return np.asarray(v[1:-1][inner])


def boundary(points: Array, rate_hz: float, edge: Array) -> dict[str, float | None]:
    """Of (2, n) AP, ML on the plates' scale, mm: the smallest time, mean and SD (N−1) of the local minima; None where there are too
    few, or no usable area."""
    found: dict[str, float | None] = dict.fromkeys(KEYS)
    if points.shape[1] < 3 or len(edge) < 3:
        return found
    velocity = np.gradient(points, 1 / rate_hz, axis=1)
    minima = local_minima(time_to_boundary_s(points.T, velocity.T, edge))
    if len(minima):
        found |= {
            "time_to_boundary_min_s": float(minima.min()),
            "time_to_boundary_mean_s": float(minima.mean()),
        }
    if len(minima) > 1:
        found["time_to_boundary_sd_s"] = float(minima.std(ddof=1))
    return found


FAMILY = Family(
    (
        Measure("time_to_boundary_min_s", "s", "smallest local minimum of (distance to the edge along v) / |v|", WEGEN, 10, 40),
        Measure("time_to_boundary_mean_s", "s", "mean of the local minima", WEGEN, 10, 40),
        Measure("time_to_boundary_sd_s", "s", "SD (N−1) of the local minima", WEGEN, 10, 40),
    ),
    of_edge=boundary,
)  # fmt: skip
