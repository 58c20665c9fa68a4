"""Outlines for hypothesis: simple polygons such as scraps and pattern pieces are."""

from __future__ import annotations

import math

from hypothesis import strategies as st
from shapely import Polygon


@st.composite
def stars(draw: st.DrawFn, least: float = 20, most: float = 200) -> Polygon:
    """A simple polygon of 4 to 9 corners seen from its middle, convex or not, each angle open enough to cut."""
    corners = draw(st.integers(4, 9))
    radii = draw(st.lists(st.floats(least, most), min_size=corners, max_size=corners))
    turn = draw(st.floats(0, 2 * math.pi))
    angles = [turn + 2 * math.pi * i / corners for i in range(corners)]
    return Polygon([(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)])
