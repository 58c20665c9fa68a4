"""No-fit polygons against shapely's own test of overlap, which shares nothing with the convolution that makes them.

Shapely (GEOS) is the outside reference here. The laws of convex shapes are those of Minkowski addition: the sum of two convex
polygons is the hull of the sums of their corners, and its rim is as long as both rims together (de Berg et al., Computational
Geometry, ch. 13; mem).
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from shapely import MultiPoint, Point, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from nesting.nofit import no_fit_polygon, rings_to_region

NEAR = 1e-3  # mm: nearer than this to the rim of a no-fit polygon, touching and overlapping are not told apart

Ring = list[tuple[float, float]]


def star(chance: random.Random, corners: int, ragged: float) -> Ring:
    """A polygon round (0, 0), whose corners lie at random distances: `ragged` 0 is nearly round, 1 has deep clefts."""
    turns = sorted(chance.uniform(0, 2 * math.pi) for _ in range(corners))
    reach = [chance.uniform(100 * (1 - 0.9 * ragged), 100) for _ in turns]
    ring = [(r * math.cos(t), r * math.sin(t)) for r, t in zip(reach, turns, strict=True)]
    return ring if Polygon(ring).is_valid and Polygon(ring).area > 100 else star(chance, corners, ragged)


def comb(chance: random.Random, teeth: int) -> Ring:
    """A bar with teeth of uneven length, so that one comb's teeth go between another's."""
    ring: Ring = [(0.0, 0.0)]
    for tooth in range(teeth):
        length = chance.uniform(20, 80)
        ring += [
            (20.0 * tooth + 5, 10.0),
            (20.0 * tooth + 5, 10 + length),
            (20.0 * tooth + 12, 10 + length),
            (20.0 * tooth + 12, 10.0),
        ]
    return [(0.0, 10.0), *ring[1:], (20.0 * teeth, 10.0), (20.0 * teeth, 0.0), (0.0, 0.0)]


def stair(chance: random.Random, steps: int) -> Ring:
    """Corners on whole millimetres and edges along the axes: many ties of direction, many edges that fall together."""
    xs, ys = sorted(chance.sample(range(1, 90), steps)), sorted(chance.sample(range(1, 90), steps), reverse=True)
    ring: Ring = [(0.0, 0.0), (float(xs[-1]), 0.0)]
    for x, y, lower in zip(reversed(xs), reversed(ys), [*reversed(xs[:-1]), 0], strict=True):
        ring += [(float(x), float(y)), (float(lower), float(y))]
    return ring


def some_shape(chance: random.Random) -> Ring:
    kind = chance.randrange(4)
    if kind == 0:
        ring = comb(chance, chance.randint(1, 4))
    elif kind == 1:
        ring = stair(chance, chance.randint(1, 6))
    else:
        ring = star(chance, chance.randint(3, 14), chance.choice([0.0, 0.4, 1.0]))
    turn = chance.choice([0, 0, 90, 180, chance.uniform(0, 360)])
    size = chance.choice([0.05, 0.5, 1, 3])
    return list(
        affinity.rotate(affinity.scale(Polygon(ring), size, size, origin=(0, 0)), turn, origin=(0, 0)).exterior.coords
    )[:-1]


def region(a: Ring, b: Ring) -> BaseGeometry:
    return rings_to_region(no_fit_polygon(np.array(a), np.array(b)))


def trial_shifts(chance: random.Random, no_fit: BaseGeometry) -> list[tuple[float, float]]:
    """Shifts of the second shape: all over the no-fit polygon's box, and a little to either side of its rim."""
    low_x, low_y, high_x, high_y = no_fit.bounds
    shifts = [(chance.uniform(low_x - 5, high_x + 5), chance.uniform(low_y - 5, high_y + 5)) for _ in range(40)]
    rim = no_fit.boundary
    for _ in range(40):
        at = rim.interpolate(chance.random(), normalized=True)
        turn, far = chance.uniform(0, 2 * math.pi), chance.choice([0.01, 0.1, 1.0])
        shifts.append((at.x + far * math.cos(turn), at.y + far * math.sin(turn)))
    return shifts


@pytest.mark.parametrize("seed", range(60))
def test_random_shapes_overlap_just_where_the_no_fit_polygon_says(seed: int) -> None:
    chance = random.Random(seed)
    a, b = some_shape(chance), some_shape(chance)
    no_fit, first, second = region(a, b), Polygon(a), Polygon(b)
    assert first.is_valid
    assert second.is_valid
    told = 0
    for x, y in trial_shifts(chance, no_fit):
        depth = no_fit.boundary.distance(Point(x, y))
        if depth < NEAR:
            continue
        told += 1
        shared = first.intersection(affinity.translate(second, x, y)).area
        if no_fit.contains(Point(x, y)):
            assert shared > 0, f"said to overlap at {x, y}, {depth} mm inside, and does not"
        else:
            assert shared < 1e-9 * first.length, f"said to fit at {x, y}, {depth} mm outside, and overlaps by {shared} mm²"
    assert told > 40


@pytest.mark.parametrize("seed", range(20))
def test_of_convex_shapes_it_is_the_hull_of_all_sums_of_corners(seed: int) -> None:
    chance = random.Random(1000 + seed)
    a, b = (Polygon(star(chance, chance.randint(3, 12), 0.0)).convex_hull for _ in range(2))
    no_fit = region(list(a.exterior.coords)[:-1], list(b.exterior.coords)[:-1])
    sums = [(ax - bx, ay - by) for ax, ay in a.exterior.coords for bx, by in b.exterior.coords]
    assert no_fit.symmetric_difference(MultiPoint(sums).convex_hull).area < 1e-2
    assert no_fit.length == pytest.approx(a.length + b.length, abs=1e-3)


def test_a_small_shape_wholly_inside_a_large_one_overlaps_it() -> None:
    """Where only the rims are summed, the middle of the large shape looks free (engine lore; the sum is of areas)."""
    large = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]
    small = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    expected = Polygon([(-1, -1), (100, -1), (100, 100), (-1, 100)])
    assert region(large, small).symmetric_difference(expected).area < 1e-2


def test_a_pocket_with_a_mouth_too_narrow_to_enter_is_still_room() -> None:
    jar = [(0, 0), (50, 0), (50, 50), (27, 50), (27, 40), (40, 40), (40, 10), (10, 10), (10, 40), (23, 40), (23, 50), (0, 50)]
    lid = [(0, 0), (20, 0), (20, 20), (0, 20)]
    no_fit = region([(float(x), float(y)) for x, y in jar], [(float(x), float(y)) for x, y in lid])
    assert not no_fit.contains(Point(15, 15))
    assert no_fit.contains(Point(9, 15))
    pockets = [Polygon(hole).area for part in getattr(no_fit, "geoms", [no_fit]) for hole in part.interiors]
    assert pockets == [pytest.approx(100, rel=1e-4)]  # the pocket is 30 × 30, the shape 20 × 20: 10 × 10 of room
