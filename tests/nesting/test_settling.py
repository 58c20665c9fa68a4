"""Settling: the same panels, and more useful cloth left over."""

import numpy as np
import pytest

from nesting import Case, Panel, Placement, Sheet, examine, largest_rectangle, leftovers, solve
from nesting.filling import Step
from nesting.instance import Instance
from nesting.nofit import turned
from nesting.settling import Settling
from nesting.sheets import SheetSearch

from .shapes import GORE, SCRAP, box_ring

SQUARE = box_ring(50.0, 50.0)
BUDGET = 30_000.0


def never() -> bool:
    return False


def settling(case: Case, steps: list[Step], held: list[Step] | None = None) -> Settling:
    instance = Instance(case)
    return Settling(instance, case.sheets[0], instance.tables([case.sheets[0]]), held or [], steps, 1)


def settled(case: Case, steps: list[Step], held: list[Step] | None = None) -> Settling:
    work = settling(case, steps, held)
    while not work.done:
        work.advance(BUDGET, never)
    return work


def scattered(*middles: tuple[float, float]) -> list[Step]:
    return [(0, 0, x, y) for x, y in middles]


def test_four_squares_go_to_one_end() -> None:
    """Four squares of 50 on 300 × 200 leave 250 × 200 at best: stacked across one end."""
    case = Case((Panel("p", SQUARE, copies=4, turns=(0.0,)),), (Sheet("s", box_ring(300.0, 200.0)),))
    work = settled(case, scattered((60, 60), (140, 150), (220, 60), (260, 160)))
    rectangle_left = work.useful.rectangle
    assert rectangle_left is not None
    assert rectangle_left.area == pytest.approx(250 * 200, rel=1e-3)
    assert work.useful.parts == 1


def test_a_wider_rectangle_is_won_where_pressing_alone_does_not() -> None:
    """On a sheet with a bite the corner that pressing likes best is not where the rectangle grows."""
    bitten = ((0.0, 0.0), (400.0, 0.0), (400.0, 120.0), (250.0, 120.0), (250.0, 200.0), (0.0, 200.0))
    wedge = ((0.0, 0.0), (70.0, 10.0), (70.0, 40.0), (0.0, 50.0))
    case = Case((Panel("p", wedge, copies=5),), (Sheet("s", bitten),), gap=2.0, edge=3.0)
    search = SheetSearch(Instance(case), 0, 1)
    (work,) = search.settlings().values()
    for _ in range(9):
        work.advance(BUDGET, never)
    pressed = work.useful.order
    while not work.done:
        work.advance(BUDGET, never)
    assert work.useful.order >= pressed
    assert len(work.steps) == 5


def test_what_is_fixed_by_hand_stays() -> None:
    fixed = (Placement("s", "p", 125.0, 75.0, 0.0, False),)
    case = Case((Panel("p", SQUARE, copies=3, turns=(0.0,)),), (Sheet("s", box_ring(300.0, 200.0)),), fixed=fixed, gap=1.0)
    found = solve(case, rounds=2, seed=3)
    assert fixed[0] in found.placements
    assert found.placed == 3
    assert not examine(case, found).faults


@pytest.mark.parametrize("copies", [2, 4])
def test_a_search_settles_what_it_found(copies: int) -> None:
    case = Case((Panel("p", GORE, copies=copies),), (Sheet("s", SCRAP),), gap=2.0, edge=3.0)
    ((_, first),) = SheetSearch(Instance(case), 0, 1).settlings().items()
    found = solve(case, rounds=0)
    assert found.placed == copies == len(first.steps)
    assert not examine(case, found).faults
    assert found.placements == solve(case, rounds=0).placements
    rings = [tuple(map(tuple, turned(np.array(GORE), p.turn, p.flipped) + np.array([p.x, p.y]))) for p in found.placements]
    left = leftovers(case.sheets[0], rings, narrowest=20.0, smallest_area=400.0)
    best = max(r.area for r in map(largest_rectangle, left.keepers) if r is not None)
    assert first.useful.rectangle is not None
    assert best > 1.05 * first.useful.rectangle.area


def test_nothing_is_done_once_it_is_to_stop() -> None:
    case = Case((Panel("p", SQUARE, copies=2, turns=(0.0,)),), (Sheet("s", box_ring(300.0, 200.0)),))
    steps = scattered((60, 60), (140, 150))
    work = settling(case, steps)
    work.advance(BUDGET, lambda: True)
    assert work.steps == steps
    assert not work.moved
