"""Going downhill by straight models, against plain references: a dense grid, the depth itself, and a compass search."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.easing import Easing
from nesting.fields import depth, way_out
from nesting.sliding import LINES, lines_at, lowest, slide
from nesting.strain import boxes_of, meeting, strain_at

from .test_separation import instance, scattered

coefficient = st.floats(-3, 3, allow_subnormal=False)


def crowded(seed: int) -> Easing:
    """All panels on one sheet, in a heap."""
    easing = scattered(instance(seed), seed)
    easing.lay.sheet[:] = 0
    easing.lay.at[:] = easing.lay.at[0] + np.random.default_rng(seed).uniform(-60, 60, easing.lay.at.shape)
    easing.keep_in()
    easing.restart()
    return easing


@given(st.lists(st.tuples(coefficient, coefficient, coefficient), min_size=1, max_size=6))
def test_no_point_of_a_grid_lies_lower_than_the_lowest(rows: list[tuple[float, float, float]]) -> None:
    lines = np.array([(0.0, *row) for row in rows])
    box = np.array([-1.0, 2.0, -2.0, 1.0])
    value, x, y = lowest(lines, len(rows), box)
    assert box[0] - 1e-6 <= x <= box[1] + 1e-6
    assert box[2] - 1e-6 <= y <= box[3] + 1e-6

    def plain(u: float, v: float) -> float:
        return sum(max(0.0, c + a * u + b * v) for a, b, c in rows)

    assert value == pytest.approx(plain(x, y), abs=1e-9)
    grid = min(plain(u, v) for u in np.linspace(-1, 2, 25) for v in np.linspace(-2, 1, 25))
    assert value <= grid + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_the_way_out_is_as_long_as_the_depth_and_leads_out(seed: int) -> None:
    easing = scattered(instance(seed, 2.0), seed)
    rng = np.random.default_rng(seed)
    t, found = easing.t, 0
    for f in range(len(t.head)):
        head = t.head[f]
        for _ in range(25):
            x, y = head[0] + rng.uniform(0, head[4]) / head[2], head[1] + rng.uniform(0, head[5]) / head[3]
            d, ux, uy = way_out(t, f, x, y)
            assert d == pytest.approx(depth(t, f, x, y), abs=1e-12)
            if d > 1e-6:
                found += 1
                assert np.hypot(ux, uy) == pytest.approx(1.0)
                assert depth(t, f, x + (d + 1e-7) * ux, y + (d + 1e-7) * uy) < 1e-6
                half = depth(t, f, x + 0.5 * d * ux, y + 0.5 * d * uy)
                assert half == pytest.approx(0.5 * d, abs=1e-9)
    assert found > 50


@pytest.mark.parametrize("seed", range(4))
def test_lines_add_up_to_the_strain_and_to_its_change_near_by(seed: int) -> None:
    easing = crowded(seed)
    n, rng = len(easing.panels), np.random.default_rng(seed)
    weight = easing.strain.weight
    weight[:] = rng.uniform(1, 3, (n, n))
    near, lines = np.empty(n, dtype=np.int64), np.empty((LINES, 4))
    exact = 0
    for i, (s, h, x, y) in enumerate(easing.steps()):
        boxes = boxes_of(easing.shapes, easing.lay, i)
        count = meeting(boxes, h, x, y, easing.shapes.half[s, 0] + 1, easing.shapes.half[s, 1] + 1, near)
        value, m = lines_at(easing.t, easing.shapes, easing.lay, weight, i, s, x, y, near, count, lines)
        assert value == pytest.approx(strain_at(easing.t, easing.shapes, easing.lay, weight, i, s, h, x, y, np.inf))
        assert value == pytest.approx(float(np.sum(lines[:m, 1] * x + lines[:m, 2] * y + lines[:m, 3])), abs=1e-9)
        dx, dy = rng.uniform(-1e-4, 1e-4, 2)
        there = strain_at(easing.t, easing.shapes, easing.lay, weight, i, s, h, x + dx, y + dy, np.inf)
        modelled = float(np.sum(lines[:m, 1] * (x + dx) + lines[:m, 2] * (y + dy) + lines[:m, 3]))
        exact += m > 0 and abs(there - modelled) < 1e-7
    assert exact >= n // 2  # not at a corner of the no-fit polygon, where the line bends


def compass(easing: Easing, i: int, place: tuple[float, float], step: float) -> float:
    """The plain reference: steps in four directions, halved where none leads down."""
    s, h = int(easing.lay.shape[i]), int(easing.lay.sheet[i])
    x, y = place

    def value(u: float, v: float) -> float:
        return float(strain_at(easing.t, easing.shapes, easing.lay, easing.strain.weight, i, s, h, u, v, np.inf))

    best = value(x, y)
    while step > 1e-4 and best > 0:
        ways = [(value(x + dx, y + dy), x + dx, y + dy) for dx, dy in ((step, 0), (-step, 0), (0, step), (0, -step))]
        lower = min(ways)
        if lower[0] < best:
            best, x, y = lower
        else:
            step /= 2
    return best


def test_sliding_ends_no_higher_than_it_began_and_mostly_as_low_as_a_compass_search() -> None:
    as_low, tried = 0, 0
    for seed in range(6):
        easing = crowded(seed)
        rooms, n = easing.rooms, len(easing.panels)
        rooms.region[rooms.region >= 0] = -2  # boxes for rooms: the reference knows of no rim
        near = np.empty(n, dtype=np.int64)
        for i, (s, h, x, y) in enumerate(easing.steps()):
            boxes = boxes_of(easing.shapes, easing.lay, i)
            began = strain_at(easing.t, easing.shapes, easing.lay, easing.strain.weight, i, s, h, x, y, np.inf)
            if began == 0.0:
                continue
            place = np.array([began, s, h, x, y])
            spent = slide(
                easing.t, easing.shapes, rooms, easing.lay, easing.strain.weight, i, place, 12.0, 1e-4, 30, boxes, near
            )
            value = strain_at(easing.t, easing.shapes, easing.lay, easing.strain.weight, i, s, h, place[3], place[4], np.inf)
            assert spent <= 30
            assert place[0] == pytest.approx(value, abs=1e-9)
            assert value <= began
            tried += 1
            as_low += value <= compass(easing, i, (x, y), 4.0) + 0.05 * began
    assert tried >= 20
    assert as_low >= 0.7 * tried


@pytest.mark.parametrize("seed", range(3))
def test_sliding_never_leaves_the_room(seed: int) -> None:
    easing = crowded(seed)
    near = np.empty(len(easing.panels), dtype=np.int64)
    for i, (s, h, x, y) in enumerate(easing.steps()):
        boxes = boxes_of(easing.shapes, easing.lay, i)
        place = np.array([np.inf, s, h, x, y])
        weight = easing.strain.weight
        slide(easing.t, easing.shapes, easing.rooms, easing.lay, weight, i, place, 30.0, 1e-4, 20, boxes, near)
        f = easing.rooms.region[h, s]
        assert f == -2 or depth(easing.rooms.table, f, place[3], place[4]) < 1e-6
