"""The cells of a region against the plain way: shapely's distance to the whole rim, and its own point in polygon."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon

from nesting.fields import depth, make_field, nearest_free, pack
from tests.nesting.shapes import star

ULP = 1e-7  # mm: rounding of distances of 100 mm


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("inside_bad", [True, False])
def test_depth_is_the_distance_out_of_the_bad_part(seed: int, inside_bad: bool) -> None:
    rng = np.random.default_rng(seed)
    ring = star(rng, int(rng.integers(3, 30)), 0.8)
    region = Polygon(ring)
    table = pack([make_field([ring], inside_bad)])
    x0, y0, x1, y1 = region.bounds
    for x, y in rng.uniform([x0, y0], [x1, y1], (60, 2)):
        bad = region.contains(Point(x, y)) == inside_bad
        plain = region.exterior.distance(Point(x, y)) if bad else 0.0
        assert depth(table, 0, x, y) == pytest.approx(plain, abs=ULP)
        nx, ny = nearest_free(table, 0, x, y)
        assert np.hypot(nx - x, ny - y) == pytest.approx(plain, abs=ULP)
        assert region.exterior.distance(Point(nx, ny)) < ULP or not bad


@pytest.mark.parametrize("seed", range(10))
def test_a_hole_is_free_in_a_no_fit_polygon(seed: int) -> None:
    rng = np.random.default_rng(seed)
    outer, hole = star(rng, 9, 0.2), star(rng, 7, 0.4, 40.0)[::-1]
    region = Polygon(outer, [hole])
    if not region.is_valid:
        hole = hole * 0.2
        region = Polygon(outer, [hole])
    table = pack([make_field([outer, hole], True)])
    for x, y in rng.uniform(-100, 100, (80, 2)):
        plain = region.boundary.distance(Point(x, y)) if region.contains(Point(x, y)) else 0.0
        assert depth(table, 0, x, y) == pytest.approx(plain, abs=ULP)


def test_beyond_a_no_fit_polygon_all_is_free_and_beyond_a_room_nothing() -> None:
    square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    table = pack([make_field([square], True), make_field([square], False)])
    assert depth(table, 0, 50.0, 5.0) == 0.0
    assert depth(table, 1, 50.0, 5.0) == pytest.approx(40.0, abs=1e-3)
    assert depth(table, 1, 5.0, 5.0) == 0.0


def test_regions_packed_together_keep_apart() -> None:
    rng = np.random.default_rng(5)
    rings = [star(rng, 8) for _ in range(6)]
    together = pack([make_field([r], True) for r in rings])
    for k, ring in enumerate(rings):
        alone = pack([make_field([ring], True)])
        for x, y in rng.uniform(-100, 100, (30, 2)):
            assert depth(together, k, x, y) == depth(alone, 0, x, y)
