"""The independent check: each kind of fault is found and placed, nothing legal is refused, and distances are the true ones."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from nesting import (
    Case,
    Flaw,
    Panel,
    Placement,
    Result,
    Ring,
    Sheet,
    Strip,
    examine,
    lay_out,
    lie_tolerance,
    read_case,
    sheet_cost,
)
from tests.nesting.row_fill import row_fill


def box(x: float, y: float, x2: float, y2: float) -> Ring:
    return ((x, y), (x2, y), (x2, y2), (x, y2))


SQUARE = Panel("square", box(0, 0, 100, 100), 9)
FACING = Panel("facing", box(0, 0, 100, 40), 9, sound=box(10, 10, 90, 30), turns=(0.0, 90.0), off_grain=2.0, flip=True)
LINING = Panel("lining", box(0, 0, 100, 40), 9, hidden=True, on=("big",))
STRIPED = Panel("striped", box(0, 0, 100, 40), 9, anchor=(50.0, 20.0))
BIG = Sheet(
    "big",
    box(0, 0, 1000, 800),
    holes=(box(500, 500, 540, 540), ((700, 700), (740, 740))),
    flaws=(Flaw(box(500, 100, 520, 120)), Flaw(((600, 100), (640, 140)), frozenset({"facing"}))),
)
SMALL = Sheet("small", box(0, 0, 300, 200), plies=2, cost=7.0, turns=(0.0,), repeat=(0.0, 50.0), repeat_at=(0.0, 10.0))
CASE = Case((SQUARE, FACING, LINING, STRIPED), (BIG, SMALL), gap=4.0, edge=10.0)


def lay(*placements: Placement, case: Case = CASE) -> Result:
    """A result with true claims."""
    plies = {sheet.id: sheet.plies for sheet in case.sheets}
    placed = sum(plies.get(placement.sheet, 1) for placement in placements)
    touched = {placement.sheet for placement in placements}
    cost = sum(sheet_cost(sheet) for sheet in case.sheets if sheet.id in touched)
    return Result(placements, placed=placed, complete=placed == sum(panel.copies for panel in case.panels), cost=cost)


def on_big(panel: str, x: float, y: float, turn: float = 0.0, flipped: bool = False) -> Placement:
    return Placement("big", panel, x, y, turn, flipped)


def told(*placements: Placement, case: Case = CASE) -> list[str]:
    return [str(fault) for fault in examine(case, lay(*placements, case=case)).faults]


# --- legal ----------------------------------------------------------------------------------------------------------------

LEGAL: dict[str, list[Placement]] = {
    "nothing": [],
    "just in the corner": [on_big("square", 10, 10)],
    "turned about": [on_big("square", 110, 110, 180)],
    "a whole turn more": [on_big("square", 110, 110, -180), on_big("square", 300, 10, 720)],
    "just the gap": [on_big("square", 10, 10), on_big("square", 114, 10)],
    "just the edge from a hole": [on_big("square", 390, 450)],
    "just the edge from a flaw": [on_big("square", 390, 60)],
    "a flaw in the allowance": [on_big("facing", 400, 100), on_big("facing", 510, 130)],
    "a flaw that it may hold": [on_big("facing", 580, 95)],
    "a flaw that is hidden": [on_big("lining", 460, 90)],
    "off grain as allowed": [on_big("facing", 300, 300, 1.9), on_big("facing", 300, 400, 88.1)],
    "flipped as allowed": [on_big("facing", 300, 340, 0, True)],
    "on the repeat": [Placement("small", "striped", 100, 40), Placement("small", "striped", 100, 90.04)],
}


@pytest.mark.parametrize("placements", LEGAL.values(), ids=LEGAL)
def test_legal(placements: list[Placement]) -> None:
    assert told(*placements) == []


# --- not legal ------------------------------------------------------------------------------------------------------------

FAULTY: dict[str, tuple[list[Placement], list[str]]] = {
    "overlap": (
        [on_big("square", 10, 10), on_big("square", 300, 10), on_big("square", 100, 60)],
        ["big, panels 1 and 3: overlap by 500 mm²"],
    ),
    "the very same place": ([on_big("square", 10, 10)] * 2, ["big, panels 1 and 2: overlap by 1e+04 mm²"]),
    "one within another": (
        [on_big("square", 10, 10), on_big("facing", 10, 40)],
        ["big, panels 1 and 2: overlap by 4e+03 mm²"],
    ),
    "nearer than the gap": (
        [on_big("square", 10, 10), on_big("square", 113.5, 10)],
        ["big, panels 1 and 2: lie 3.500 mm apart: the gap is 4"],
    ),
    "nearer than the edge": ([on_big("square", 9.5, 20)], ["big, panel 1: lies 9.500 mm from the edge: 10 are kept"]),
    "sticks out": ([on_big("square", 950, 20)], ["big, panel 1: sticks out of the cloth by 5e+03 mm²"]),
    "elsewhere": ([on_big("square", 5000, 20)], ["big, panel 1: sticks out of the cloth by 1e+04 mm²"]),
    "over a hole": ([on_big("square", 450, 450)], ["big, panel 1: lies over hole 1"]),
    "a hole within": ([on_big("square", 470, 470)], ["big, panel 1: lies over hole 1"]),
    "near a hole": ([on_big("square", 391, 450)], ["big, panel 1: lies 9.000 mm from hole 1: 10 are kept"]),
    "over a tear": ([on_big("lining", 690, 700)], ["big, panel 1: lies over tear 2"]),
    "near a tear": ([on_big("square", 595, 650)], ["big, panel 1: lies 5.000 mm from tear 2: 10 are kept"]),
    "over a flaw": ([on_big("square", 450, 60)], ["big, panel 1: lies over flaw 1"]),
    "a flaw within": ([on_big("square", 470, 70)], ["big, panel 1: lies over flaw 1"]),
    "near a flaw": ([on_big("square", 395, 60)], ["big, panel 1: lies 5.000 mm from flaw 1: 10 are kept"]),
    "a flaw in its sound part": ([on_big("facing", 420, 90)], ["big, panel 1: lies over flaw 1"]),
    "turned as it may not be": ([on_big("square", 300, 200, 90)], ["big, panel 1: is turned by 90: 'square' allows 0, 180"]),
    "more off grain than allowed": (
        [on_big("facing", 300, 200, 2.1)],
        ["big, panel 1: is turned by 2.1: 'facing' allows 0, 90, give or take 2"],
    ),
    "flipped as it may not be": ([on_big("square", 300, 200, 0, True)], ["big, panel 1: 'square' is flipped: it may not be"]),
    "turned as the sheet forbids": (
        [Placement("small", "square", 200, 150, 180)],
        ["small, panel 1: is turned by 180: the sheet allows 0"],
    ),
    "on a sheet that will not do": (
        [Placement("small", "lining", 20, 20)],
        ["small, panel 1: 'lining' is laid on a sheet that will not do for it: big will"],
    ),
    "off the repeat": (
        [Placement("small", "striped", 20, 42)],
        ["small, panel 1: its anchor misses the repeat across the sheet by 2.00 mm"],
    ),
    "no such panel": (
        [on_big("cuff", 20, 20)],
        ["big, panel 1: 'cuff' is no panel of the case", "claims 1 copies placed: 0 are", "claims a cost of 798400: it is 0"],
    ),
    "no such sheet": (
        [Placement("huge", "square", 20, 20)],
        ["huge, panel 1: is no sheet of the case", "claims 1 copies placed: 0 are"],
    ),
    "placed nowhere": (
        [on_big("square", math.nan, 20)],
        [
            "big, panel 1: is placed nowhere: x nan, y 20, turn 0.0",
            "claims 1 copies placed: 0 are",
            "claims a cost of 798400: it is 0",
        ],
    ),
    "two faults at once": (
        [on_big("square", 9, 20), on_big("square", 300, 20, 90), on_big("square", 600, 400), on_big("square", 600, 450)],
        [
            "big, panel 2: is turned by 90: 'square' allows 0, 180",
            "big, panels 3 and 4: overlap by 5e+03 mm²",
            "big, panel 1: lies 9.000 mm from the edge: 10 are kept",
        ],
    ),
}


@pytest.mark.parametrize(("placements", "expected"), FAULTY.values(), ids=FAULTY)
def test_each_fault_is_found_and_placed(placements: list[Placement], expected: list[str]) -> None:
    assert sorted(told(*placements)) == sorted(expected)


def test_more_copies_than_wanted_plies_counted() -> None:
    case = replace(CASE, panels=(replace(SQUARE, copies=3),), edge=0.0)
    placements = [Placement("small", "square", 0, 0), Placement("small", "square", 150, 0)]
    assert told(*placements, case=case) == ["4 copies of 'square' are laid: 3 are wanted"]
    assert told(placements[0], case=case) == []


def test_what_is_fixed_must_be_there_as_often() -> None:
    fixed = on_big("square", 10, 10)
    case = replace(CASE, fixed=(fixed,))
    assert told(fixed, case=case) == []
    assert told(on_big("square", 10.5, 10), case=case) == ["big: 'square', fixed at (10, 10), is not there"]


@pytest.mark.parametrize(
    ("claim", "words"),
    [
        ({"placed": 2}, "claims 2 copies placed: 1 are"),
        ({"complete": True}, "claims to be complete: 1 of 36 are laid"),
        ({"bound": 0}, "claims that no more than 0 can be placed: 1 are"),
        ({"bound": 2, "proved": True}, "claims to be proved: the bound is 2, 1 are placed"),
        ({"proved": True}, "claims to be proved: the bound is None, 1 are placed"),
        ({"cost": 8e5}, "claims a cost of 800000: it is 798400"),
        ({"cost": math.nan}, "claims a cost of nan: it is 798400"),
        ({"least_cost": 8e5}, "claims that the least cost is 800000: it is 798400 here"),
    ],
)
def test_false_claims(claim: dict[str, float], words: str) -> None:
    result = replace(lay(on_big("square", 20, 20)), **claim)  # type: ignore[arg-type]
    assert [str(fault) for fault in examine(CASE, result).faults] == [words]


@pytest.mark.parametrize("claim", [{"bound": 1, "proved": True}, {"bound": 36}, {"cost": None}, {"least_cost": 1.0}])
def test_true_claims(claim: dict[str, float]) -> None:
    assert examine(CASE, replace(lay(on_big("square", 20, 20)), **claim)).legal  # type: ignore[arg-type]


# --- strips ---------------------------------------------------------------------------------------------------------------


def strip(*places: tuple[float, float], length: float | None = None, gap: float = 0.0) -> list[str]:
    case = Case((replace(SQUARE, copies=2),), strip=Strip(200.0), gap=gap, edge=50.0)
    placements = tuple(Placement("strip", "square", x, y) for x, y in places)
    result = Result(placements, placed=len(placements), complete=len(placements) == 2, length=length)
    return [str(fault) for fault in examine(case, result).faults]


def test_strips() -> None:
    assert strip((0, 0), (0, 100), length=100) == []  # the edge is not kept from a strip's rim
    assert strip((-300, 0), (-200, 100), length=200) == []
    assert strip((0, 0), (0, 101), length=100) == ["strip, panel 2: sticks out of the strip by 1.000 mm"]
    assert strip((0, -1), (0, 100), length=100) == ["strip, panel 1: sticks out of the strip by 1.000 mm"]
    assert strip((0, 0), (101, 0), length=201, gap=2) == ["strip, panels 1 and 2: lie 1.000 mm apart: the gap is 2"]
    assert strip((0, 0), (100, 0), length=190) == ["claims a length of 190: it is 200"]
    assert strip((0, 0)) == ["a strip holds every copy: 1 of 2 are laid"]


# --- tolerance ------------------------------------------------------------------------------------------------------------


def test_the_tolerance_is_a_share_of_the_smallest_panel() -> None:
    assert lie_tolerance(CASE.panels) == pytest.approx(1e-4 * math.sqrt(4000))


@pytest.mark.parametrize("side", [1, -1])
def test_touching_is_allowed_and_what_cannot_be_cut_is_touching(side: int) -> None:
    case = Case((SQUARE,), (Sheet("big", box(0, 0, 1000, 800), holes=(box(200, 50, 260, 90),)),))
    small = 0.5 * lie_tolerance(case.panels)
    assert told(on_big("square", 0, 0), on_big("square", 100 + side * small, -small), case=case) == []


def test_the_edge_and_holes_give_way_by_as_much_again() -> None:
    """A copy drawn in by the tolerance must lie within cloth let out by it."""
    case = Case((SQUARE,), (Sheet("big", box(0, 0, 1000, 800), holes=(box(300, 0, 400, 100),)),))
    less = 1.5 * lie_tolerance(case.panels)
    assert told(on_big("square", -less, 0), on_big("square", 200 + less, 0), case=case) == []


def test_beyond_the_tolerance_it_is_a_fault() -> None:
    case = Case((SQUARE,), (Sheet("big", box(0, 0, 1000, 800), holes=(box(300, 0, 400, 100),)),))
    much = 3 * lie_tolerance(case.panels)
    assert len(told(on_big("square", 0, 0), on_big("square", 100 - much, 0), case=case)) == 1
    assert len(told(on_big("square", -much, 0), case=case)) == 1
    assert len(told(on_big("square", 200 + much, 0), case=case)) == 1


# --- the narrowest places -------------------------------------------------------------------------------------------------


def test_the_narrowest_places() -> None:
    examined = examine(
        CASE, lay(on_big("square", 20, 30), on_big("square", 126, 30), on_big("square", 300, 60), on_big("square", 370, 450))
    )
    (big,) = examined.sheets
    assert big.laid == 4
    assert big.gap is not None
    assert (big.gap.distance, big.gap.panel, big.gap.other) == (6, 1, "2")
    assert big.gap.at[1][0] - big.gap.at[0][0] == 6
    assert big.edge is not None
    assert (big.edge.distance, big.edge.panel, big.edge.other, big.edge.at[1][0]) == (20, 1, "edge", 0)
    assert big.hole is not None
    assert (big.hole.distance, big.hole.panel, big.hole.other) == (30, 4, "hole 1")
    assert big.flaw is not None
    assert (big.flaw.distance, big.flaw.panel, big.flaw.other) == (100, 3, "flaw 1")


def test_where_there_is_nothing_to_compare() -> None:
    (small,) = examine(replace(CASE, edge=0.0), lay(Placement("small", "square", 0, 0), case=CASE)).sheets
    assert (small.gap, small.hole, small.flaw) == (None, None, None)
    assert small.edge is not None
    assert small.edge.distance == 0


def test_copies_in_the_very_same_place_are_nearest() -> None:
    (big,) = examine(CASE, lay(on_big("square", 20, 20), on_big("square", 400, 20), on_big("square", 400, 20))).sheets
    assert big.gap is not None
    assert (big.gap.distance, big.gap.panel, big.gap.other) == (0, 2, "3")


@given(st.integers(0, 150), st.integers(0, 150), st.floats(-1.9, 1.9), st.booleans())
def test_distances_are_those_of_the_copies(dx: int, dy: int, turn: float, flipped: bool) -> None:
    """Against plain arithmetic for squares, and shapely for what is turned."""
    placements = [on_big("square", 200, 200), on_big("facing", 300 + dx, 240 + dy, turn, flipped)]
    (big,) = examine(CASE, lay(*placements)).sheets
    assert big.gap is not None
    corners = [(x, -y if flipped else y) for x, y in FACING.outline]
    a = math.radians(turn)
    moved = [(300 + dx + x * math.cos(a) - y * math.sin(a), 240 + dy + x * math.sin(a) + y * math.cos(a)) for x, y in corners]
    assert big.gap.distance == pytest.approx(Polygon(moved).distance(shapely.box(200, 200, 300, 300)), abs=1e-9)
    one, two = (shapely.Point(at) for at in big.gap.at)
    assert one.distance(two) == pytest.approx(big.gap.distance, abs=1e-9)


def test_lay_out_flips_then_turns_then_shifts() -> None:
    panel = Panel("p", ((0, 0), (30, 0), (0, 10)), 1)
    assert lay_out(panel, Placement("s", "p", 100, 200, 90, True)).equals_exact(
        Polygon([(100, 200), (100, 230), (110, 200)]), 1e-9
    )


@pytest.mark.parametrize("kind", ["offcuts", "jigsaw"])
def test_the_plain_fill_is_legal(benchmarks: Path, kind: str) -> None:
    for file in sorted((benchmarks / kind).glob("*.json"))[:8]:
        case = read_case(file.read_bytes())
        placements = row_fill(case)
        assert placements
        assert told(*placements, case=case) == [], file.name
