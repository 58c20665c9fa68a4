"""How a remnant is measured, and that it is turned and mirrored rightly, once."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, affinity, box

from stash.outlines import Border, Corner, CornerBite, EdgeBite, bitten, by_points, onto_grain, rectangle, round_spot
from stash.refusals import BadOutline, Refused
from stash.words import EdgeKind, Face

from .shapes import stars

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def test_a_rectangle_names_its_sides_near_right_far_left() -> None:
    measured = rectangle(300, 200, [EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT])
    assert measured.ring == ((0, 0), (300, 0), (300, 200), (0, 200))
    assert measured.sides == (
        (((0, 0), (300, 0)), EdgeKind.SELVEDGE),
        (((300, 200), (0, 200)), EdgeKind.RAW),
    )


def test_points_count_their_sides_from_the_first() -> None:
    measured = by_points([*SQUARE, SQUARE[0]], ["cut", "raw", "cut", "cut"])  # type: ignore[list-item]
    assert measured.ring == SQUARE
    assert measured.sides == ((((100, 0), (100, 100)), EdgeKind.RAW),)
    assert len(by_points(SQUARE, EdgeKind.RAW).sides) == 4


@pytest.mark.parametrize(
    ("bites", "area", "corners"),
    [
        ([], 60_000, 4),
        ([CornerBite(Corner.NEAR_LEFT, 50, 40)], 58_000, 6),
        ([CornerBite(Corner.NEAR_RIGHT, 50, 40, slanted=True)], 59_000, 5),
        ([CornerBite(Corner.FAR_RIGHT, 50, 40), CornerBite(Corner.FAR_LEFT, 10, 10)], 57_900, 8),
        ([EdgeBite(Border.NEAR, 100, 50, 20)], 59_000, 8),
        ([EdgeBite(Border.FAR, 0, 50, 20)], 59_000, 6),
        ([EdgeBite(Border.LEFT, 20, 50, 20), EdgeBite(Border.RIGHT, 20, 50, 20)], 58_000, 12),
    ],
)
def test_bites(bites: list[CornerBite | EdgeBite], area: float, corners: int) -> None:
    shape = Polygon(bitten(300, 200, bites).ring)
    assert shape.area == area
    assert len(shape.exterior.coords) - 1 == corners


@pytest.mark.parametrize(
    ("corner", "point"),
    [
        (Corner.NEAR_LEFT, (1, 1)),
        (Corner.NEAR_RIGHT, (299, 1)),
        (Corner.FAR_RIGHT, (299, 199)),
        (Corner.FAR_LEFT, (1, 199)),
    ],
)
def test_a_bite_is_taken_where_it_is_said(corner: Corner, point: tuple[float, float]) -> None:
    assert not Polygon(bitten(300, 200, [CornerBite(corner, 50, 40)]).ring).contains(Point(point))


def test_sides_left_by_a_bite_keep_their_kind_and_its_own_are_cut() -> None:
    measured = bitten(300, 200, [EdgeBite(Border.NEAR, 100, 50, 20)], [EdgeKind.SELVEDGE] + [EdgeKind.CUT] * 3)
    assert {kind for _, kind in measured.sides} == {EdgeKind.SELVEDGE}
    ends = sorted(tuple(sorted((a[0], b[0]))) for (a, b), _ in measured.sides)
    assert ends == [(0, 100), (150, 300)]


@pytest.mark.parametrize(
    ("bites", "why"),
    [
        ([CornerBite(Corner.NEAR_LEFT, 300, 10)], "its length is 300 mm of 300 mm"),
        ([CornerBite(Corner.NEAR_LEFT, 10, 250)], "its width is 250 mm of 200 mm"),
        ([CornerBite(Corner.NEAR_LEFT, 0, 10)], "length is 0"),
        ([EdgeBite(Border.NEAR, 280, 30, 10)], "ends at 310 mm of a side of 300 mm"),
        ([EdgeBite(Border.LEFT, 180, 30, 10)], "ends at 210 mm of a side of 200 mm"),
        ([EdgeBite(Border.NEAR, 20, 30, 200)], "its depth is 200 mm of 200 mm"),
        ([EdgeBite(Border.NEAR, -1, 30, 10)], "start is -1"),
        ([CornerBite(Corner.NEAR_LEFT, 50, 40), EdgeBite(Border.NEAR, 40, 30, 10)], "another bite"),
        ([EdgeBite(Border.NEAR, 0, 299.9999999, 199)], "spike"),
        ([EdgeBite(Border.NEAR, 100, 50, 120), EdgeBite(Border.FAR, 100, 50, 80)], "in two"),
    ],
)
def test_bites_that_cannot_be(bites: list[CornerBite | EdgeBite], why: str) -> None:
    with pytest.raises(Refused, match=why):
        bitten(300, 200, bites)


def test_a_bite_along_a_whole_side_only_makes_the_rectangle_narrower() -> None:
    assert Polygon(bitten(300, 200, [EdgeBite(Border.NEAR, 0, 300, 10)]).ring).equals(box(0, 10, 300, 200))


@pytest.mark.parametrize(
    ("points", "why"),
    [
        ([], "0 points"),
        ([(0, 0), (1, 1)], "2 points"),
        ([(0, 0), (50, 0), (100, 0)], "one line"),
        ([(0, 0), (100, 100), (100, 0), (0, 100)], "crosses itself"),
        ([(0, 0), (100, 0), (100, float("nan"))], "finite"),
        ([(0, 0), (100, 0), (float("inf"), 5)], "finite"),
        ([(0, 0), (100, 0), (100, 100), (50, 100), (50, 200), (50, 100), (0, 100)], "spike"),
        ([(0, 0), ("a", 0), (100, 100)], "two numbers"),
    ],
)
def test_points_that_are_no_outline(points: list[tuple[float, float]], why: str) -> None:
    with pytest.raises(BadOutline, match=why) as refusal:
        by_points(points)
    assert refusal.value.where == "outline"


@pytest.mark.parametrize("edges", [[], ["cut"], ["cut"] * 5])
def test_a_wrong_number_of_edges(edges: list[EdgeKind]) -> None:
    with pytest.raises(Refused, match=f"{len(edges)} edges are given for 4 sides"):
        by_points(SQUARE, edges)


@pytest.mark.parametrize(("length", "width"), [(0, 10), (10, -1), (float("nan"), 10), (1e9, 10)])
def test_rectangles_that_are_none(length: float, width: float) -> None:
    with pytest.raises(Refused):
        rectangle(length, width)


def test_a_grain_arrow_at_an_angle_comes_to_lie_along_x() -> None:
    """An arrow drawn on the cloth at 30° is what +x is afterwards; a thread to its left stays to its left."""
    angle = math.radians(30)
    arrow = LineString([(0, 0), (math.cos(angle), math.sin(angle))])
    turned = onto_grain(arrow, 30, face_up=Face.RIGHT, against=False)
    assert turned.coords[1] == pytest.approx((1, 0))


def test_measured_wrong_side_up_it_is_mirrored_and_the_grain_stays() -> None:
    flag = Polygon([(0, 0), (100, 0), (100, 30)])  # rises to the left of the grain arrow
    mirrored = onto_grain(flag, 0, face_up=Face.WRONG, against=False)
    assert mirrored.equals(Polygon([(0, 0), (100, 0), (100, -30)]))
    assert mirrored.exterior.is_ccw


def test_a_nap_against_the_arrow_turns_the_remnant_head_to_foot() -> None:
    flag = Polygon([(0, 0), (100, 0), (100, 30)])
    assert onto_grain(flag, 0, face_up=Face.RIGHT, against=True).equals(affinity.rotate(flag, 180, origin=(0, 0)))


@given(shape=stars(), angle=st.floats(-720, 720), face=st.sampled_from([Face.RIGHT, Face.WRONG]), against=st.booleans())
def test_turning_and_mirroring_change_neither_area_nor_rim(shape: Polygon, angle: float, face: Face, against: bool) -> None:
    settled = onto_grain(shape, angle, face_up=face, against=against)
    assert settled.is_valid
    assert settled.exterior.is_ccw
    assert settled.area == pytest.approx(shape.area, rel=1e-12)
    assert settled.length == pytest.approx(shape.length, rel=1e-12)
    # Whatever was to the left of the arrow is to its left on the right side, and to its right on the wrong one.
    back = affinity.rotate(settled, 180, origin=(0, 0)) if against else settled
    back = affinity.scale(back, 1, -1, origin=(0, 0)) if face is Face.WRONG else back
    # On a grid: without one, GEOS now and then loses all of what two rims that all but coincide differ by.
    assert shapely.symmetric_difference(affinity.rotate(back, angle, origin=(0, 0)), shape, grid_size=1e-9).area < 1e-6


@given(x=st.floats(-500, 500), y=st.floats(-500, 500), across=st.floats(1, 300))
def test_a_round_spot_holds_the_whole_circle_and_little_more(x: float, y: float, across: float) -> None:
    spot = Polygon(round_spot(x, y, across))
    assert spot.exterior.distance(Point(x, y)) == pytest.approx(across / 2)
    assert spot.area < 1.025 * math.pi * (across / 2) ** 2
    assert spot.is_valid


def test_a_spot_without_width() -> None:
    with pytest.raises(Refused, match="width of the spot is 0"):
        round_spot(5, 5, 0)
