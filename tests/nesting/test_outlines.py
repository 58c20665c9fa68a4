"""Outlines are mended or refused with the reason that is theirs."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box
from shapely.affinity import rotate

from nesting import OutlineFault, holes_of, mend_ring, mend_tear, ring_of
from nesting.outlines import united
from tests.zoo import REFUSED, TAKEN, Points


@pytest.mark.parametrize(("points", "reason"), REFUSED.values(), ids=REFUSED)
def test_refused_with_its_reason(points: Points, reason: str) -> None:
    with pytest.raises(OutlineFault) as caught:
        mend_ring(points)
    assert caught.value.reason == reason
    assert "outline" in str(caught.value)


@pytest.mark.parametrize(("points", "area", "corners"), TAKEN.values(), ids=TAKEN)
def test_taken_and_tidied(points: Points, area: float, corners: int) -> None:
    polygon = mend_ring(points)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert polygon.area == pytest.approx(area, rel=1e-6)
    assert len(ring_of(polygon)) == corners


def test_the_place_of_a_fault_is_told() -> None:
    with pytest.raises(OutlineFault, match=r"point 2 .*two numbers") as caught:
        mend_ring([(0, 0), (5, 0), "ab"])  # type: ignore[list-item]
    assert caught.value.index == 2
    with pytest.raises(OutlineFault, match=r"\(25, 20\)") as caught:
        mend_ring(REFUSED["bow-tie"][0])
    assert caught.value.at == (25, 20)
    with pytest.raises(OutlineFault, match=r"spike at \(150, 50\)") as caught:
        mend_ring(REFUSED["spike out"][0])
    assert (caught.value.index, caught.value.at) == (3, (150, 50))


@st.composite
def dressed_stars(draw: st.DrawFn) -> tuple[Points, Points]:
    """A star-shaped outline, and the same with doubled points, points on its sides, the other winding or another start."""
    radii = draw(st.lists(st.integers(20, 500), min_size=3, max_size=12))
    bare = [
        (r * math.cos(2 * math.pi * i / len(radii)), r * math.sin(2 * math.pi * i / len(radii))) for i, r in enumerate(radii)
    ]
    dice = random.Random(draw(st.integers(0, 999)))
    dressed = []
    for (ax, ay), (bx, by) in zip(bare, [*bare[1:], bare[0]], strict=True):
        dressed += [(ax, ay)] * dice.randint(1, 3)
        for t in sorted(dice.random() for _ in range(dice.randint(0, 3))):
            dressed.append((ax + t * (bx - ax), ay + t * (by - ay)))
    start = dice.randrange(len(dressed))
    dressed = dressed[start:] + dressed[:start]
    if dice.random() < 0.5:
        dressed.append(dressed[0])
    return bare, dressed[:: dice.choice((1, -1))]


@given(dressed_stars())
def test_dressing_changes_nothing(stars: tuple[Points, Points]) -> None:
    bare, dressed = (mend_ring(points) for points in stars)
    assert shapely.hausdorff_distance(bare, dressed) < 1e-5
    assert dressed.area == pytest.approx(bare.area, rel=1e-9)


@given(dressed_stars())
def test_mending_twice_is_mending_once(stars: tuple[Points, Points]) -> None:
    once = ring_of(mend_ring(stars[1]))
    assert ring_of(mend_ring(once)) == once


@given(st.integers(64, 2000), st.floats(0.01, 2.0))
def test_dropped_points_stay_near(count: int, within: float) -> None:
    """On a curve each point is near the line of its neighbours: one may not be dropped after the other until it is flat."""
    circle = [(300 * math.cos(2 * math.pi * i / count), 300 * math.sin(2 * math.pi * i / count)) for i in range(count)]
    thinned = mend_ring(circle, within=within)
    # What was dropped is that near; the true circle may bulge beyond its points by the sagitta of one step.
    assert shapely.hausdorff_distance(thinned, mend_ring(circle)) <= within + 300 * (1 - math.cos(math.pi / count))


def test_thinned_to_nothing_is_refused() -> None:
    with pytest.raises(OutlineFault, match="nowhere wider than 5 mm"):
        mend_ring([(0, 0), (100, 1), (200, 0), (100, 2)], within=5)


def test_a_ring_keeps_its_first_point_when_turned() -> None:
    assert ring_of(mend_ring([(7, 7), (7, 90), (90, 7)])) == ((7, 7), (90, 7), (7, 90))


def test_holes_come_out_counter_clockwise() -> None:
    polygon = shapely.box(0, 0, 100, 100) - shapely.box(10, 10, 20, 20)
    (hole,) = holes_of(polygon)
    assert shapely.Polygon(hole).exterior.is_ccw
    assert shapely.Polygon(hole).area == 100


def test_tear() -> None:
    assert mend_tear([(0, 0), (30, 40)]).length == 50
    with pytest.raises(OutlineFault, match="two points are one"):
        mend_tear([(5, 5), (5, 5)])
    with pytest.raises(OutlineFault, match="not 3 points"):
        mend_tear(TAKEN["triangle"][0])
    with pytest.raises(OutlineFault, match="finite"):
        mend_tear([(0, 0), (math.nan, 4)])


def test_strips_that_touch_along_their_edges_lose_nothing_of_their_union() -> None:
    """GEOS without a grid loses up to a quarter of one such union in 150."""
    rng = np.random.default_rng(0)
    for _ in range(400):
        n, width, length = int(rng.integers(3, 14)), rng.uniform(1, 20), rng.uniform(50, 300)
        angle = rng.uniform(0, 180)
        strips = [
            rotate(box(0, k * width, length + rng.uniform(-20, 20), (k + 1) * width), angle, origin=(0, 0)) for k in range(n)
        ]
        assert united(strips).area == pytest.approx(sum(strip.area for strip in strips), rel=1e-6)
