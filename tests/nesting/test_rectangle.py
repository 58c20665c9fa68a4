"""The largest rectangle on the grain, against a plain reference, figures known from geometry, and shapely's own `covers`."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from nesting import largest_rectangle


def plain_largest(polygon: Polygon, across: int = 12) -> float:
    """The area of the largest rectangle whose x are on a grid through all corners: slow, and never more than the largest.

    For a slab of two x the free heights are found with shapely: what is outside within the slab, shadowed onto the y axis.
    """
    x0, y0, x1, y1 = polygon.bounds
    outside = shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1) - polygon
    corners = shapely.get_coordinates(polygon)[:, 0]
    xs = np.unique(np.concatenate([corners, np.linspace(x0, x1, across)]))
    best = 0.0
    for i, left in enumerate(xs):
        for right in xs[i + 1 :]:
            if (right - left) * (y1 - y0) <= best:
                continue
            parts = shapely.get_parts(outside & shapely.box(left, y0 - 1, right, y1 + 1))
            shadows = sorted((part.bounds[1], part.bounds[3]) for part in parts if part.area > 1e-9)
            top = y0 - 1.0
            for (_, high), (low, _) in pairwise(shadows):
                top = max(top, high)
                best = max(best, (right - left) * (low - top))
    return best


@st.composite
def stars(draw: st.DrawFn) -> Polygon:
    """A polygon seen whole from its middle, with a hole at times."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.integers(20, 100), min_size=count, max_size=count))
    turn = draw(st.integers(0, 359))
    angles = [math.radians(turn + 360 * i / count) for i in range(count)]
    polygon = Polygon([(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)])
    if draw(st.booleans()):
        x, y, size = (draw(st.integers(low, high)) for low, high in ((-40, 40), (-40, 40), (3, 30)))
        parts = shapely.get_parts(polygon - affinity.rotate(shapely.box(x, y, x + size, y + size), draw(st.integers(0, 89))))
        polygon = max(parts, key=lambda part: part.area)
    return polygon


@settings(max_examples=40)
@given(stars())
def test_never_smaller_than_the_plain_reference_and_always_inside(polygon: Polygon) -> None:
    found = largest_rectangle(polygon)
    assert polygon.covers(found.polygon)
    # The reference finds the best of its grid; the largest can only be as large or larger.
    assert found.area >= plain_largest(polygon) * (1 - 1e-9)


@settings(max_examples=4)
@given(st.lists(st.integers(20, 100), min_size=30, max_size=40))
def test_of_ragged_outlines_with_hundreds_of_cells(radii: list[int]) -> None:
    angles = [2 * math.pi * i / len(radii) for i in range(len(radii))]
    ragged = Polygon([(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)])
    found = largest_rectangle(ragged)
    assert ragged.covers(found.polygon)
    assert found.area >= plain_largest(ragged, across=2) * (1 - 1e-9)
    with pytest.MonkeyPatch.context() as patch:  # one cell after the other: none that could hold more is left out
        patch.setattr("nesting.rectangle._AT_ONCE", 1)
        assert largest_rectangle(ragged).area == pytest.approx(found.area, rel=1e-9)


@pytest.mark.parametrize("along", [1, -1])
@pytest.mark.parametrize("across", [1, -1])
def test_a_corner_under_a_roof_and_one_on_a_slope(along: int, across: int) -> None:
    """Begins where the roof 50 + x reaches the notch at 100, x = 50; ends on the floor 0.4 (x − 150) where
    (x − 50) (160 − 0.4 x) is greatest, x = 225."""
    roofed = Polygon([(0, 0), (150, 0), (400, 100), (400, 105), (120, 105), (120, 100), (110, 100), (110, 160), (0, 50)])
    assert largest_rectangle(affinity.scale(roofed, along, across)).area == pytest.approx(175 * 70, rel=1e-9)


@settings(max_examples=25)
@given(stars(), st.integers(-(10**5), 10**5), st.integers(-(10**5), 10**5))
def test_mirrored_transposed_and_shifted_it_is_as_large(polygon: Polygon, x: int, y: int) -> None:
    area = largest_rectangle(polygon).area
    transposed = shapely.transform(polygon, lambda points: points[:, ::-1])
    for other in (affinity.scale(polygon, -1, 1), transposed, affinity.translate(polygon, x, y)):
        assert largest_rectangle(other).area == pytest.approx(area, rel=1e-6)


@pytest.mark.parametrize(
    ("base", "height", "apex"),
    [(300, 200, 0), (300, 200, 300), (300, 200, 120), (80, 900, 33)],
)
def test_triangle_on_its_base_holds_half_its_area(base: float, height: float, apex: float) -> None:
    """Elementary: the largest rectangle inscribed in a triangle with a side along the base has half its area."""
    assert largest_rectangle(Polygon([(0, 0), (base, 0), (apex, height)])).area == pytest.approx(base * height / 4, rel=1e-9)


def test_ellipse_holds_two_over_pi() -> None:
    """Elementary: the largest rectangle in an ellipse with its sides along the axes is 2ab, 2/π of its area."""
    circle = shapely.Point(0, 0).buffer(1, quad_segs=64)
    assert largest_rectangle(affinity.scale(circle, 300, 120)).area == pytest.approx(2 * 300 * 120, rel=1e-3)


@pytest.mark.parametrize("width", [100.0, 40.0, 2.0])
@pytest.mark.parametrize("angle", [45.0, 30.0, 5.0])
def test_bias_strip(width: float, angle: float) -> None:
    """A strip cut at an angle θ: side · side at the ridge is (w / 2 sin θ)(w / 2 cos θ), wherever along it one looks."""
    strip = affinity.rotate(shapely.box(0, 0, 4000, width), angle)
    theta = math.radians(angle)
    assert largest_rectangle(strip).area == pytest.approx(width**2 / (4 * math.sin(theta) * math.cos(theta)), rel=1e-9)


@pytest.mark.parametrize(
    ("polygon", "area"),
    [
        (shapely.box(0, 0, 300, 200), 60000),
        (shapely.box(0, 0, 300, 200) - shapely.box(100, 150, 300, 200), 45000),  # an L: below the notch
        (shapely.box(0, 0, 300, 200) - shapely.box(100, 60, 300, 200), 20000),  # an L: beside the notch
        (shapely.box(0, 0, 300, 200) - shapely.box(140, 90, 160, 110), 28000),  # a hole in the middle
        (shapely.box(0, 0, 300, 200) - Polygon([(150, 100), (290, 190), (10, 190)]), 30000),  # a hole's tip touches the top
        (shapely.box(0, 0, 30, 20).union(shapely.box(30, 10, 60, 30)), 600),  # a step: either side, not the 60 × 10 through
        (shapely.box(0, 0, 30, 20).union(shapely.box(30, 2, 60, 30)), 1080),  # a step that is better gone through
    ],
)
def test_plain_shapes(polygon: Polygon, area: float) -> None:
    found = largest_rectangle(polygon)
    assert found.area == pytest.approx(area, rel=1e-9)
    assert polygon.covers(found.polygon)


@pytest.mark.parametrize("polygon", [Polygon(), Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])])
def test_refuses_what_is_no_outline(polygon: Polygon) -> None:
    with pytest.raises(ValueError, match="mend its outline first"):
        largest_rectangle(polygon)
