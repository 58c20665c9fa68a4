"""The nearest place: legal by the independent check, and no place that shapely finds by looking about is nearer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, affinity

from nesting import Case, Flaw, Panel, Placement, Result, Sheet, examine, nearest_shift

from .shapes import GORE, HOOK, SCRAP, box_ring

LOOKED_AT = 250
HOLE = ((120.0, 120.0), (150.0, 115.0), (140.0, 150.0))
SQUARE = box_ring(100, 100)
PANELS = (Panel("gore", GORE, 20), Panel("hook", HOOK, 20))
LYING = (Placement("s", "hook", 20.0, 30.0), Placement("s", "gore", 330.0, 150.0, 180.0))


def shifted(placement: Placement, by: tuple[float, float]) -> Placement:
    return replace(placement, x=placement.x + by[0], y=placement.y + by[1])


def legal(case: Case, placements: tuple[Placement, ...]) -> bool:
    every = len(placements) == sum(panel.copies for panel in case.panels)
    return not examine(case, Result(placements, placed=len(placements), complete=every)).faults


def plainly_free(case: Case, lying: tuple[Placement, ...], moving: Placement) -> bool:
    """The reference: shapes laid out and compared by shapely, nothing of the engine in it."""

    def laid(p: Placement) -> Polygon:
        outline = Polygon(next(panel.outline for panel in case.panels if panel.id == p.panel))
        return affinity.translate(affinity.rotate(outline, p.turn, origin=(0, 0)), p.x, p.y)

    sheet = case.sheets[0]
    cloth = Polygon(sheet.outline).buffer(-case.edge)
    for hole in sheet.holes:
        cloth = cloth.difference(Polygon(hole).buffer(case.edge))
    shape = laid(moving)
    return bool(cloth.contains(shape)) and all(
        shape.distance(laid(other)) >= case.gap and shape.intersection(laid(other)).area == 0 for other in lying
    )


@pytest.mark.parametrize(("gap", "edge"), [(0.0, 0.0), (4.0, 3.0)])
@pytest.mark.parametrize("seed", range(3))
def test_it_is_legal_and_nothing_is_nearer(seed: int, gap: float, edge: float) -> None:
    case = Case(PANELS, (Sheet("s", SCRAP, holes=(HOLE,)),), gap=gap, edge=edge)
    rng = np.random.default_rng(seed)
    wanted = Placement("s", "hook" if seed % 2 else "gore", *rng.uniform((0, 0), (400, 250)).tolist(), turn=180.0 * (seed % 2))
    shift = nearest_shift(case, LYING, [wanted])
    assert shift is not None
    there = shifted(wanted, shift)
    assert legal(case, (*LYING, there))
    far = math.hypot(*shift)
    nearer = far - 0.02 * gap - 0.02  # rounded corners of the gap; the hair that panels are drawn in by
    for turn, share in rng.uniform((0, 0), (2 * math.pi, 1), (LOOKED_AT, 2)).tolist():
        way = nearer * math.sqrt(share)
        assert nearer <= 0 or not plainly_free(case, LYING, shifted(wanted, (way * math.cos(turn), way * math.sin(turn))))


def test_what_is_well_stays_and_what_has_no_place_has_none() -> None:
    case = Case((Panel("p", SQUARE, 4),), (Sheet("s", box_ring(250, 100)),))
    assert nearest_shift(case, [Placement("s", "p", 0, 0)], [Placement("s", "p", 120, 0)]) == (0.0, 0.0)
    lying = [Placement("s", "p", 0, 0), Placement("s", "p", 105, 0)]
    assert nearest_shift(case, lying, [Placement("s", "p", 150, 0)]) is None
    assert nearest_shift(case, [], [Placement("s", "p", 150, 0, turn=90.0)]) is None  # it may not lie so
    exact = replace(case, sheets=(Sheet("s", SQUARE),))
    assert nearest_shift(exact, [], [Placement("s", "p", 30, -40)]) == pytest.approx((-30, 40), abs=0.01)


def test_a_flaw_keeps_the_sound_part_off() -> None:
    flaw = Flaw(box_ring(50, 100))
    case = Case(
        (Panel("p", SQUARE, 1, sound=((20.0, 0.0), (100.0, 0.0), (100.0, 100.0), (20.0, 100.0))),),
        (Sheet("s", box_ring(400, 100), flaws=(flaw,)),),
    )
    assert nearest_shift(case, [], [Placement("s", "p", 0, 0)]) == pytest.approx((30, 0), abs=0.02)


def test_several_move_together() -> None:
    case = Case((Panel("p", SQUARE, 4),), (Sheet("s", box_ring(500, 220)),))
    moving = [Placement("s", "p", 120, 10), Placement("s", "p", 230, 110)]
    shift = nearest_shift(case, [Placement("s", "p", 150, 0)], moving)
    assert shift is not None
    assert legal(case, (Placement("s", "p", 150, 0), *(shifted(each, shift) for each in moving)))
    # The second can follow only until it meets the far edge or clears the one that lies there.
    assert math.hypot(*shift) == pytest.approx(70.0, abs=0.05)


@pytest.mark.parametrize(("repeat", "expected"), [((60.0, 0.0), (-30, 0)), ((0.0, 50.0), (0, 15)), ((60.0, 50.0), (-30, 15))])
def test_it_stays_on_the_stripes(repeat: tuple[float, float], expected: tuple[float, float]) -> None:
    case = Case(
        (Panel("p", SQUARE, 2, anchor=(50.0, 50.0)),),
        (Sheet("s", box_ring(600, 600), repeat=repeat, repeat_at=(20.0, 0.0)),),
    )
    wanted = Placement("s", "p", 240.0, 235.0)  # its anchor at (290, 285): 20 + 60 k is 30 off either way
    shift = nearest_shift(case, [], [wanted])
    assert shift is not None
    assert (abs(shift[0]), shift[1]) == pytest.approx((abs(expected[0]), expected[1]), abs=1e-6)
    there = shifted(wanted, shift)
    assert legal(case, (there,))
    beside = nearest_shift(case, [there], [wanted])
    assert beside is not None
    assert legal(case, (there, shifted(wanted, beside)))


def test_two_on_stripes_that_disagree_have_no_shift() -> None:
    case = Case((Panel("p", SQUARE, 2, anchor=(0.0, 0.0)),), (Sheet("s", box_ring(600, 600), repeat=(60.0, 0.0)),))
    on, off = Placement("s", "p", 60.0, 0.0), Placement("s", "p", 200.0, 200.0)
    assert nearest_shift(case, [], [on, off]) is None
    assert nearest_shift(case, [Placement("s", "p", 60.0, 400.0)], [on, replace(off, x=240.0)]) == (0.0, 0.0)


def test_the_reference_knows_what_is_free() -> None:
    case = Case(PANELS, (Sheet("s", SCRAP, holes=(HOLE,)),), gap=4.0)
    assert Polygon(HOLE).contains(Point(135, 125))
    assert not plainly_free(case, LYING, LYING[0])
    assert plainly_free(case, LYING[1:], LYING[0])


def test_what_lies_in_two_plies_moves_in_both() -> None:
    """The second sheet lies turned over: what is moved up on the first is moved down on it."""
    case = Case((Panel("p", SQUARE, 4),), (Sheet("s", box_ring(400, 200)), Sheet("t", box_ring(400, 160))))
    moving = [Placement("s", "p", 50, 100), Placement("t", "p", 50, 0)]
    assert nearest_shift(case, [], moving, [(1, 1), (1, -1)]) == (0.0, 0.0)
    lying = [Placement("t", "p", 0, 40)]
    shift = nearest_shift(case, lying, moving, [(1, 1), (1, -1)])
    assert shift == pytest.approx((50, 0), abs=0.05)
    far = [Placement("s", "p", 150, 40), *lying]
    shift = nearest_shift(case, far, moving, [(1, 1), (1, -1)])
    assert shift is not None
    there = (*far, shifted(moving[0], shift), shifted(moving[1], (shift[0], -shift[1])))
    assert legal(case, there)
    assert shift == pytest.approx((200, 0), abs=0.05)
