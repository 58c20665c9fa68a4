"""What a copy weighs: integrals against plain ones over triangles, and the least over all positions against samples."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.bounds_hats import Floats, Lattice, Overlay, Stand, Transforms, Way, hat_integrals, lattice_for
from nesting.bounds_program import Extension, Level
from nesting.bounds_shapes import convex_parts, polygons, reach, swept
from nesting.bounds_weights import Pains, Weighing, weigh

from .shapes import star


def plain_tent(shape: shapely.Polygon, x: float, y: float, hx: float, hy: float) -> float:
    """∫ of one tent over the shape: quadrant by quadrant, triangle by triangle; the rule of the middles of the sides is exact
    for what is bilinear."""
    total = 0.0
    for left in (x - hx, x):
        for below in (y - hy, y):
            quarter = shapely.box(left, below, left + hx, below + hy)
            for piece in polygons(shape.intersection(quarter)):
                for triangle in polygons(shapely.constrained_delaunay_triangles(piece)):
                    a, b, c = (np.array(p) for p in list(triangle.exterior.coords)[:3])
                    for m in ((a + b) / 2, (b + c) / 2, (c + a) / 2):
                        total += triangle.area / 3 * (1 - abs(m[0] - x) / hx) * (1 - abs(m[1] - y) / hy)
    return total


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(3, 9), st.integers(1, 3))
def test_integrals_of_tents(seed: int, corners: int, wide: int) -> None:
    rng = np.random.default_rng(seed)
    shape = shapely.Polygon(star(rng, corners, size=30.0))
    xs, ys = np.linspace(-20.0, 17.5, 6), np.linspace(-25.0, 20.0, 6)
    found = hat_integrals(shape, xs, ys, wide)
    for i, j in ((0, 0), (2, 3), (3, 2), (5, 5)):
        assert found[i, j] == pytest.approx(plain_tent(shape, xs[i], ys[j], wide * 7.5, wide * 9.0), abs=1e-7)


def plain_weight(nodes: Floats, lattice: Lattice, body: shapely.Polygon, x: float, y: float) -> float:
    """∫ of the weights over the body laid at (x, y)."""
    (ox, oy), (hx, hy) = lattice.origin, lattice.h
    xs: Floats = ox - x + hx * np.arange(lattice.nx, dtype=np.float64)
    ys: Floats = oy - y + hy * np.arange(lattice.ny, dtype=np.float64)
    return float((nodes * hat_integrals(body, xs, ys, 1)).sum())


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(3, 8), st.sampled_from([1, 2, 5]), st.booleans())
def test_no_position_weighs_less_than_is_said(seed: int, corners: int, fine: int, whole: bool) -> None:
    rng = np.random.default_rng(seed)
    body = shapely.Polygon(star(rng, corners, size=20.0))
    region = shapely.Polygon(star(rng, 7, size=35.0))
    if not whole:
        region = region.difference(shapely.Point(3, 2).buffer(6))
    way = Way(0, body, region)
    lattice = lattice_for([way], reach(region, body), 4.0, fine)
    nodes = rng.uniform(0, 1, (lattice.nx, lattice.ny)) ** 4  # spiky
    transforms = Transforms((lattice.nx * fine + 12 * fine + 4, lattice.ny * fine + 12 * fine + 4))
    stand = Stand(way, lattice, transforms)
    value, low = stand.lowest(Overlay(nodes, lattice, transforms))
    inner = stand.points[: stand.inner]
    for n in rng.integers(0, len(inner), 5) if len(inner) else []:
        x, y = (
            o + (i + p) * s for o, i, p, s in zip(lattice.origin, (stand.i0, stand.j0), inner[n], lattice.step, strict=True)
        )
        assert value[n] == pytest.approx(plain_weight(nodes, lattice, body, x, y), rel=1e-7, abs=1e-9)
        assert float((stand.row(inner[n]) * nodes).sum()) == pytest.approx(value[n], rel=1e-7, abs=1e-9)
    x0, y0, x1, y1 = region.bounds
    spots = [shapely.Point(rng.uniform(x0, x1), rng.uniform(y0, y1)) for _ in range(150)]
    sampled = [plain_weight(nodes, lattice, body, p.x, p.y) for p in spots if region.contains(p)]
    corners_too = [plain_weight(nodes, lattice, body, x, y) for x, y in region.exterior.coords]
    assert low.min() <= min(sampled + corners_too) + 1e-9


def test_reach_is_all_that_a_body_covers() -> None:
    rng = np.random.default_rng(4)
    for _ in range(5):
        body, region = shapely.Polygon(star(rng, 6, size=15.0)), shapely.Polygon(star(rng, 6, size=25.0))
        covered = reach(region, body)
        lines = np.array([[p, p] for p in rng.uniform(-25, 25, (200, 2)) if region.contains(shapely.Point(p))])
        for (x, y), _same in lines:
            assert covered.buffer(1e-6).contains(shapely.affinity.translate(body, x, y))
        assert covered.area <= swept(lines, convex_parts(body)).convex_hull.area * 1.5


def test_convex_parts_make_up_the_shape() -> None:
    rng = np.random.default_rng(2)
    for corners in (3, 5, 9, 14):
        shape = shapely.Polygon(star(rng, corners))
        parts = [shapely.Polygon(p) for p in convex_parts(shape)]
        assert all(p.convex_hull.area == pytest.approx(p.area) for p in parts)
        assert sum(p.area for p in parts) == pytest.approx(shape.area)
        assert shapely.union_all(parts).symmetric_difference(shape).area == pytest.approx(0, abs=1e-6)


def test_extension_draws_what_it_fills() -> None:
    """Filling the nodes and then taking a row is the same as taking the drawn row of the nodes unfilled."""
    rng = np.random.default_rng(1)
    dear = rng.uniform(size=(9, 11)) < 0.4
    extension = Extension(dear)
    nodes, row = rng.uniform(size=dear.shape), rng.uniform(size=dear.shape)
    assert (extension.fill(nodes) * row).sum() == pytest.approx((np.where(dear, nodes, 0) * extension.draw(row)).sum())


@pytest.mark.parametrize("width", [1, 2, 4])
def test_tents_of_a_level_gathered_from_a_block(width: int) -> None:
    """A block gathered alone agrees with the whole gathered; and all tents at one height make that height everywhere."""
    level = Level.of(width, 13, 10)
    assert np.allclose(level.along.T @ np.ones(level.shape) @ level.across, 1.0)
    row = np.zeros((13, 10))
    block = np.random.default_rng(0).uniform(size=(4, 3))
    row[5:9, 4:7] = block
    part, (i, j) = level.gather(block, (5, 4))
    whole = level.gather(row)[0]
    assert np.allclose(whole[i : i + part.shape[0], j : j + part.shape[1]], part)
    assert whole.sum() == pytest.approx(part.sum())


def test_weighing_counts_the_lightest_first() -> None:
    assert Weighing((1.0,), 3.7).most([9]) == 3
    assert Weighing((1.0, 0.5), 3.0).most([9, 2]) == 4
    assert Weighing((0.0, 1.0), 1.5).most([4, 9]) == 5
    assert Weighing((-1.0, 1.0), 1.5).most([4, 9]) == 5


def test_weights_tell_more_than_area() -> None:
    """Squares of 10 in a room of 27 × 27: area says seven, four go in."""
    body, region = shapely.box(0, 0, 10, 10), shapely.box(0, 0, 17, 17)
    found = weigh([Way(0, body, region)], reach(region, body), [9], Pains(work=2e6))
    assert found.most([9]) == 4
