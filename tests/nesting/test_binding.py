"""Strips for binding: within the cloth, apart from each other, and as much as arithmetic says where that is known."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from nesting import Flaw, Sheet
from nesting.binding import ACROSS, ALONG, BIAS, Strips, bias_strips, clear_cloth, joined_length, strips


def test_across_a_rectangle() -> None:
    assert strips(box(0, 0, 1000, 210), 40, angle=ACROSS, gap=2).lengths == pytest.approx((210.0,) * 23)


def test_round_a_hole_a_strip_is_two() -> None:
    cloth = box(0, 0, 500, 40).difference(box(200, 10, 230, 20))
    assert strips(cloth, 40, angle=ALONG).lengths == pytest.approx((270.0, 200.0))
    assert strips(cloth, 40, angle=ALONG, shortest=250).lengths == pytest.approx((270.0,))


def test_bias_of_a_long_rectangle() -> None:
    """Parallel strips of width w at 45° across a band of height h are h·√2 − w long each (elementary geometry), √2·w apart."""
    h, w, length = 300.0, 30.0, 3000.0
    found = strips(box(0, 0, length, h), w, angle=BIAS)
    full = h * math.sqrt(2) - w
    apart = w * math.sqrt(2)
    assert sum(one == pytest.approx(full) for one in found.lengths) >= (length - h - 2 * apart) / apart - 1
    assert max(found.lengths) == pytest.approx(full)


@st.composite
def outlines(draw: st.DrawFn) -> Polygon:
    corners = draw(st.integers(3, 8))
    reach = draw(st.lists(st.floats(20, 300), min_size=corners, max_size=corners))
    return Polygon(
        [(r * math.cos(2 * math.pi * k / corners), r * math.sin(2 * math.pi * k / corners)) for k, r in enumerate(reach)]
    )


@settings(max_examples=10, deadline=None)
@given(outlines(), st.sampled_from([ALONG, ACROSS, BIAS]), st.floats(8, 60), st.sampled_from([0.0, 2.0]))
def test_strips_lie_on_the_cloth_and_apart(cloth: Polygon, angle: float, width: float, gap: float) -> None:
    found: Strips = strips(cloth, width, angle=angle, gap=gap, shortest=15)
    for length, shape in zip(found.lengths, found.shapes, strict=True):
        assert length >= 15
        assert shape.area == pytest.approx(length * width)
        assert shape.difference(cloth).area < 1e-3
    for one, other in combinations(found.shapes, 2):
        assert one.intersection(other).area < 1e-3


def test_of_a_sheet_what_is_clear_of_edges_holes_and_flaws() -> None:
    flaw = Flaw(((40.0, 40.0), (60.0, 40.0), (60.0, 60.0), (40.0, 60.0)))
    sheet = Sheet("s", ((0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)), holes=(((150.0, 10.0), (150.0, 30.0)),))
    clear = clear_cloth(Sheet(sheet.id, sheet.outline, sheet.holes, (flaw,)), 5.0)
    assert clear.bounds == (5.0, 5.0, 195.0, 95.0)
    assert not clear.contains(shapely.Point(150, 20))
    assert not clear.contains(shapely.Point(63, 50))


def test_bias_strips_have_ends_on_the_straight_grain_and_their_length_along_their_middle() -> None:
    """Against the corners of each strip, by plain trigonometry; all on the cloth and apart from each other."""
    cloth = Polygon([(0, 0), (420, 0), (420, 300), (260, 300), (260, 180), (0, 180)])
    found = bias_strips(cloth, 40.0, gap=2.0, shortest=100.0)
    assert len(found.shapes) >= 4
    for length, shape in zip(found.lengths, found.shapes, strict=True):
        assert cloth.buffer(1e-6).covers(shape)
        points = list(shape.exterior.coords)
        sides = [(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(points)]
        ends = [side for side in sides if abs(side[1]) < 1e-6]
        assert [math.hypot(*end) for end in ends] == pytest.approx([40.0 * math.sqrt(2)] * 2)  # along the warp
        longs = [side for side in sides if abs(side[1]) >= 1e-6]
        assert [math.hypot(*side) for side in longs] == pytest.approx([length] * 2)
        assert all(abs(abs(dx) - abs(dy)) < 1e-6 and dx * dy > 0 for dx, dy in longs)
        assert shape.area == pytest.approx(length * 40.0)
    assert all(a.distance(b) > 2.0 - 1e-6 for a, b in combinations(found.shapes, 2))


def test_two_strips_joined_are_as_long_as_two_parallelograms_laid_on_each_other() -> None:
    """The seam lies 6 mm inside either slanted end: 6 √2 along the strip."""
    assert joined_length([200.0, 150.0], 6.0) == pytest.approx(350.0 - 2 * 6.0 * math.sqrt(2))
    assert joined_length([200.0], 6.0) == 200.0
    assert joined_length([], 6.0) == 0.0
