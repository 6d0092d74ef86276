"""Hulls and margins against a general geometry library (shapely)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Point

from balance.support import hull_mm, margin

points = st.lists(
    st.tuples(st.integers(-300, 300), st.integers(-300, 300)), min_size=3, max_size=12, unique=True
)


@settings(deadline=None, max_examples=150)
@given(points, st.tuples(st.integers(-350, 350), st.integers(-350, 350)))
def test_hull_and_margin_against_shapely(corners: list[tuple[int, int]], at: tuple[int, int]) -> None:
    whole = MultiPoint(corners).convex_hull
    hull = hull_mm(np.array(corners, dtype=float))
    if whole.geom_type != "Polygon":
        assert len(hull) < 3
        return
    ring = np.vstack([hull, hull[:1]])
    area = 0.5 * float(np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1]))
    assert area == pytest.approx(whole.area)
    found = margin((float(at[0]), float(at[1])), hull)
    wanted = whole.exterior.distance(Point(at))
    assert abs(found.distance_mm) == pytest.approx(wanted, abs=1e-9)
    if wanted > 1e-6:
        assert (found.distance_mm > 0) == whole.contains(Point(at))
