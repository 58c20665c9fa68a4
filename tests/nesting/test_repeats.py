"""Stripes and checks: every anchor on its bar, and as many panels as an enumeration of every lay finds."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import pytest
from shapely import Polygon
from shapely.ops import unary_union

from nesting import Case, Panel, Result, Sheet, examine, ring_of, solve
from nesting.bounds import bound_copies
from nesting.instance import Instance, lattice_of
from nesting.repeats import runs_in
from nesting.rooms import anywhere, into_room
from tests.nesting.enumerate_lays import Cells, rectangle_cells
from tests.nesting.enumerate_repeats import Stripe, most_matched, rectangle_lying
from tests.nesting.shapes import GORE, SCRAP, box_ring

CELL = 10.0  # mm
ON_THE_BAR = 0.05  # mm, as it is asked


def farthest_off(case: Case, result: Result) -> float:
    """How far the worst anchor lies off its bar, by plain trigonometry."""
    panels, sheets = {p.id: p for p in case.panels}, {s.id: s for s in case.sheets}
    worst = 0.0
    for p in result.placements:
        ax, ay = panels[p.panel].anchor or (0.0, 0.0)
        ay = -ay if p.flipped else ay
        cos, sin = math.cos(math.radians(p.turn)), math.sin(math.radians(p.turn))
        at = (p.x + cos * ax - sin * ay, p.y + sin * ax + cos * ay)
        sheet = sheets[p.sheet]
        for where, start, repeat in zip(at, sheet.repeat_at, sheet.repeat, strict=True):
            if repeat:
                steps = (where - start) / repeat
                worst = max(worst, abs(steps - round(steps)) * repeat)
    return worst


def outline(cells: Iterable[tuple[int, int]]) -> Polygon:
    squares = [Polygon(box_ring(CELL, CELL)) for _ in cells]
    moved = [
        Polygon([(x + CELL * i, y + CELL * j) for x, y in square.exterior.coords])
        for square, (i, j) in zip(squares, cells, strict=True)
    ]
    return unary_union(moved)


BITTEN: Cells = rectangle_cells(17, 13) - frozenset((x, y) for x in range(11, 17) for y in range(9, 13))
SMALL = [
    # cloth, panel, anchor, repeat along and across, a bar
    (rectangle_cells(20, 13), (6, 4), (3, 2), Stripe(0, 5)),
    (rectangle_cells(20, 13), (6, 4), (3, 1), Stripe(0, 5, (0, 2))),
    (rectangle_cells(20, 13), (6, 5), (3, 0), Stripe(0, 5, (0, 4))),
    (rectangle_cells(16, 12), (4, 3), (0, 0), Stripe(5, 0, (1, 0))),
    (rectangle_cells(18, 14), (5, 4), (2, 2), Stripe(5, 5, (2, 1))),
    (rectangle_cells(15, 15), (4, 4), (1, 2), Stripe(3, 5)),
    (BITTEN, (5, 3), (2, 1), Stripe(0, 5, (0, 1))),
    (BITTEN, (4, 4), (4, 1), Stripe(5, 0, (3, 0))),
    (BITTEN, (5, 3), (1, 1), Stripe(3, 4, (0, 2))),
]


def matched(cloth: Cells, size: tuple[int, int], anchor: tuple[int, int], stripe: Stripe, copies: int = 30) -> Case:
    panel = Panel("p", box_ring(size[0] * CELL, size[1] * CELL), copies, anchor=(anchor[0] * CELL, anchor[1] * CELL))
    sheet = Sheet(
        "s",
        ring_of(outline(cloth)),
        repeat=(stripe.along * CELL, stripe.across * CELL),
        repeat_at=(stripe.at[0] * CELL, stripe.at[1] * CELL),
    )
    return Case((panel,), (sheet,))


@pytest.mark.parametrize(
    ("cloth", "size", "anchor", "stripe"),
    [SMALL[4], *(pytest.param(*case, marks=pytest.mark.slow) for case in (*SMALL[:4], *SMALL[5:]))],
)
def test_as_many_as_an_enumeration_of_every_lay_finds(
    cloth: Cells, size: tuple[int, int], anchor: tuple[int, int], stripe: Stripe
) -> None:
    most = most_matched(cloth, rectangle_lying(*size, anchor), stripe)
    case = matched(cloth, size, anchor, stripe, copies=most)
    found = solve(case, rounds=3)
    assert found.complete
    assert farthest_off(case, found) <= ON_THE_BAR


@pytest.mark.slow
@pytest.mark.parametrize(("cloth", "size", "anchor", "stripe"), SMALL)
def test_what_is_proved_is_what_the_enumeration_finds(
    cloth: Cells, size: tuple[int, int], anchor: tuple[int, int], stripe: Stripe
) -> None:
    case = matched(cloth, size, anchor, stripe)
    most = most_matched(cloth, rectangle_lying(*size, anchor), stripe)
    assert bound_copies(case, 1.0).most == most
    found = solve(case, rounds=1)
    assert (found.placed, found.proved) == (most, True)


def test_a_repeat_lowers_what_is_proved_and_never_below_what_can_be() -> None:
    """60 × 50 with a bar every 50: rows are 50 apart, and the bar must be under the anchor."""
    cloth, size, anchor, stripe = SMALL[2]
    case = matched(cloth, size, anchor, stripe)
    assert bound_copies(case, 0.2).most == most_matched(cloth, rectangle_lying(*size, anchor), stripe) == 3


def test_a_repeat_of_50_mm_weft_wise_holds_every_anchor_of_a_scrap() -> None:
    """A tapered panel on a scrap of seven corners, either way: the anchor in the middle of its wide end."""
    case = Case(
        (Panel("gore", GORE, 3, anchor=(0.0, 40.0)),), (Sheet("s", SCRAP, repeat=(0.0, 50.0), repeat_at=(0.0, 12.5)),), gap=2
    )
    found = solve(case, rounds=6)
    assert found.complete
    assert examine(case, found).legal
    assert farthest_off(case, found) <= ON_THE_BAR


def test_an_anchor_a_fraction_off_is_found_out() -> None:
    case = matched(rectangle_cells(20, 13), (6, 4), (3, 2), Stripe(0, 5), copies=1)
    found = solve(case, rounds=1)
    off = Result(
        tuple(type(p)(p.sheet, p.panel, p.x, p.y + 0.06, p.turn) for p in found.placements[:1]), placed=1, complete=True
    )
    assert [fault.what for fault in examine(case, off).faults] == ["its anchor misses the repeat across the sheet by 0.06 mm"]


def test_cloth_on_which_no_bar_can_be_met_holds_nothing() -> None:
    """The panel has room to move by 30 mm, and no bar comes under its anchor."""
    panel = Panel("p", box_ring(100.0, 70.0), 3, turns=(0.0,), anchor=(50.0, 35.0))
    sheet = Sheet("s", box_ring(300.0, 100.0), repeat=(0.0, 50.0), repeat_at=(0.0, 20.0))
    assert solve(Case((panel,), (sheet,)), rounds=2).placements == ()


@pytest.mark.parametrize("repeat", [(0.0, 50.0), (40.0, 0.0), (40.0, 30.0)])
def test_places_are_the_nearest_on_the_repeat(repeat: tuple[float, float]) -> None:
    """Against a plain look at every place, a tenth of a millimetre apart along the bars."""
    case = Case((Panel("gore", GORE, 3, anchor=(5.0, 40.0)),), (Sheet("s", SCRAP, repeat=repeat, repeat_at=(3.0, 7.0)),))
    it = Instance(case)
    _, _, rooms = it.tables(list(case.sheets))
    rng = np.array([4], dtype=np.uint64)
    for s, shape in enumerate(it.shapes):
        room = it.room(case.sheets[0], s)
        assert room is not None
        places = np.concatenate(
            [
                np.linspace(run[:2], run[2:4], 1 + round(max(abs(run[2:4] - run[:2])) / (run[4] or 0.1)))
                for run in runs_in(Polygon(room.rings[0]), lattice_of(case.sheets[0], shape))
            ]
        )
        for _ in range(20):
            wish = np.array(anywhere(rooms, 0, s, rng)) + np.array([17.0, -11.0])
            found = np.array(into_room(rooms, 0, s, *wish))
            assert np.hypot(*(found - wish)) <= np.hypot(*(places - wish).T).min() + 1e-9
            assert np.hypot(*(places - found).T).min() <= 0.051
