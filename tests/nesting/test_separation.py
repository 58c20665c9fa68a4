"""The kernels of the search against a slow, plain reference that asks shapely for every pair."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon

from nesting import Case, Panel, Sheet
from nesting.easing import FREE, Easing
from nesting.instance import Instance
from nesting.nofit import no_fit_polygon, rings_to_region
from nesting.rooms import anywhere, into_room, uniform
from nesting.separation import measure
from nesting.strain import boxes_of, meeting, strain_among, strain_at
from tests.nesting.shapes import GORE, HOOK, SCRAP, star


def instance(seed: int = 0, gap: float = 0.0) -> Instance:
    rng = np.random.default_rng(seed)
    ring = tuple((float(x), float(y)) for x, y in star(rng, 9, 0.5, 60.0))
    panels = (Panel("gore", GORE, 3), Panel("hook", HOOK, 3, flip=True), Panel("star", ring, 2, turns=(0.0, 90.0)))
    hole = ((200.0, 100.0), (230.0, 100.0), (215.0, 130.0))
    return Instance(Case(panels, (Sheet("scrap", SCRAP, holes=(hole,)), Sheet("other", SCRAP)), gap=gap, edge=2.0))


def scattered(it: Instance, seed: int) -> Easing:
    panels = [k for k, p in enumerate(it.case.panels) for _ in range(p.copies)]
    easing = Easing(it, it.tables(list(it.case.sheets)), panels, seed)
    easing.lay.sheet[:] = -1
    for i in range(len(panels)):
        easing.drop_in(i, 3)
    easing.restart()
    return easing


def plain_depth(it: Instance, a: tuple[int, float, float], b: tuple[int, float, float]) -> float:
    """How far b must move to leave a: shapely's distance from b's place to the rim of their no-fit polygon."""
    region = rings_to_region(no_fit_polygon(it.shapes[a[0]].swollen, it.shapes[b[0]].swollen))
    place = Point(b[1] - a[1], b[2] - a[2])
    return float(region.boundary.distance(place)) if region.contains(place) else 0.0


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("gap", [0.0, 3.0])
def test_depths_are_those_of_the_plain_reference(seed: int, gap: float) -> None:
    it = instance(seed, gap)
    easing = scattered(it, seed)
    steps = easing.steps()
    for i, (s, h, x, y) in enumerate(steps):
        measure(easing.t, easing.shapes, easing.lay, easing.strain.depth, i)
        for j, (z, g, u, v) in enumerate(steps):
            plain = plain_depth(it, (z, u, v), (s, x, y)) if i != j and g == h else 0.0
            assert easing.strain.depth[i, j] == pytest.approx(plain, abs=1e-4)


@pytest.mark.parametrize("seed", range(6))
def test_strain_is_the_weighted_sum_of_depths(seed: int) -> None:
    easing = scattered(instance(seed), seed)
    n = len(easing.panels)
    easing.strain.weight[:] = np.random.default_rng(seed).uniform(1, 3, (n, n))
    for i, (s, h, x, y) in enumerate(easing.steps()):
        value = strain_at(easing.t, easing.shapes, easing.lay, easing.strain.weight, i, s, h, x, y, np.inf)
        assert value == pytest.approx(float(np.dot(easing.strain.weight[i], easing.strain.depth[i])))


@pytest.mark.parametrize("seed", range(6))
def test_strain_against_the_panels_whose_boxes_meet_is_the_whole_strain(seed: int) -> None:
    easing = scattered(instance(seed), seed)
    n = len(easing.panels)
    rng = np.random.default_rng(seed)
    easing.strain.weight[:] = rng.uniform(1, 3, (n, n))
    near = np.empty(n, dtype=np.int64)
    for i, (s, h, x, y) in enumerate(easing.steps()):
        boxes = boxes_of(easing.shapes, easing.lay, i)
        for margin in (0.0, 30.0):
            dx, dy = rng.uniform(-40, 40, 2)
            size = easing.shapes.half[s] + margin
            count = meeting(boxes, h, x + dx, y + dy, *size, near)
            shift = rng.uniform(-margin, margin, 2)
            x1, y1 = x + dx + shift[0], y + dy + shift[1]
            weight = easing.strain.weight
            among = strain_among(easing.t, easing.shapes, easing.lay, weight, i, s, x1, y1, np.inf, near, count)
            assert among == strain_at(easing.t, easing.shapes, easing.lay, weight, i, s, h, x1, y1, np.inf)


@pytest.mark.parametrize("seed", range(6))
def test_every_place_in_a_room_keeps_the_panel_on_the_cloth(seed: int) -> None:
    it = instance(seed)
    tables = it.tables(list(it.case.sheets))
    rng = np.array([seed], dtype=np.uint64)
    cloth = [it.cloth(s) for s in it.case.sheets]
    for s, shape in enumerate(it.shapes):
        for h in range(2):
            for _ in range(40):
                x, y = anywhere(tables[2], h, s, rng)
                laid = Polygon(shape.ring + np.array([x, y]))
                assert cloth[h].buffer(it.touch).contains(laid)
                far = into_room(tables[2], h, s, x + 900, y - 900)
                assert cloth[h].buffer(it.touch).contains(Polygon(shape.ring + np.array(far)))


def test_easing_ends_with_nothing_overlapping() -> None:
    it = instance(3)
    easing = scattered(it, 3)
    state = 0
    while state == 0:
        state = easing.ease(20_000)
    assert state == FREE
    steps = easing.steps()
    laid = [(h, Polygon(it.shapes[s].ring + np.array([x, y]))) for s, h, x, y in steps]
    for i, (h, a) in enumerate(laid):
        for g, b in laid[:i]:
            assert h != g or a.buffer(-2 * it.touch).disjoint(b)


def test_panels_that_are_held_do_not_move() -> None:
    easing = scattered(instance(1), 1)
    step = easing.steps()[0]
    easing.hold(0, step)
    easing.restart()
    easing.ease(5_000)
    assert easing.steps()[0] == step


def test_chance_is_even_and_comes_from_its_state_alone() -> None:
    one, two = (np.array([7], dtype=np.uint64) for _ in range(2))
    drawn = [uniform(one) for _ in range(20_000)]
    assert drawn[:50] == [uniform(two) for _ in range(50)]
    assert 0 <= min(drawn) < 0.001 < 0.999 < max(drawn) < 1
    assert abs(np.mean(drawn) - 0.5) < 4 * np.sqrt(1 / 12 / 20_000)  # four standard errors
