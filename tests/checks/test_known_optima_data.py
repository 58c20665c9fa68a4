"""The tables of known optima are what they say they are, as far as can be checked without trusting the engine."""

from __future__ import annotations

import math

import pytest

from nesting import examine, solve
from tests.checks.known_optima import (
    EQUAL_RECTANGLES,
    LESS_THAN_BY_AREA,
    SQUARED_RECTANGLES,
    UNIT_SQUARES,
    EqualRectangles,
    SquaredRectangle,
    barnes_waste,
)


@pytest.mark.parametrize("table", EQUAL_RECTANGLES, ids=str)
def test_no_count_is_above_what_area_and_barnes_allow(table: EqualRectangles) -> None:
    waste = max(barnes_waste(table.length, table.width, n) for n in (table.a, table.b))
    assert table.most <= (table.length * table.width - waste) // (table.a * table.b)
    expected = table.by_area - ((table.length, table.width) in LESS_THAN_BY_AREA)
    assert table.most <= expected


@pytest.mark.parametrize(
    ("length", "width", "n", "waste"), [(6, 6, 3, 0), (10, 10, 4, 4), (7, 7, 3, 1), (8, 9, 5, 2), (5, 5, 3, 1)]
)
def test_barnes_by_plain_count(length: int, width: int, n: int, waste: int) -> None:
    """Against the least waste found by trying all ways to lay strips, for boards so small that this is quick."""
    assert barnes_waste(length, width, n) == waste
    if length * width <= 50:
        assert _least_waste(length, width, n) >= waste


def _least_waste(length: int, width: int, n: int) -> int:
    """By the cell-after-cell search: each cell is left empty, or begins a strip along or across."""
    seen: dict[tuple[int, int], int] = {}

    def search(cell: int, taken: int) -> int:
        while taken & 1:
            cell, taken = cell + 1, taken >> 1
        if cell >= length * width:
            return 0
        if (cell, taken) not in seen:
            x, y = cell % length, cell // length
            best = 1 + search(cell, taken | 1)
            for there, mask in ((x + n <= length, (1 << n) - 1), (y + n <= width, sum(1 << (length * i) for i in range(n)))):
                if there and not taken & mask:
                    best = min(best, search(cell, taken | mask))
            seen[cell, taken] = best
        return seen[cell, taken]

    return search(0, 0)


@pytest.mark.parametrize("table", SQUARED_RECTANGLES, ids=lambda t: f"{t.length}x{t.width}")
def test_squares_add_up_and_are_all_different(table: SquaredRectangle) -> None:
    assert sum(side * side for side in table.sides) == table.length * table.width
    assert len(set(table.sides)) == len(table.sides)


def test_the_squared_rectangle_can_be_laid() -> None:
    """By a plain search: the largest gap's lowest left corner takes each square in turn."""
    assert _tiled(SQUARED_RECTANGLES[0])
    assert not _tiled(SquaredRectangle(33, 32, (1, 4, 7, 8, 9, 10, 14, 15, 17)))


def _tiled(table: SquaredRectangle) -> bool:
    def search(heights: tuple[int, ...], sides: frozenset[int]) -> bool:
        low = min(heights)
        if low == table.width:
            return True
        start = heights.index(low)
        room = next((i for i, height in enumerate(heights[start:]) if height > low), len(heights) - start)
        return any(
            search(heights[:start] + (low + side,) * side + heights[start + side :], sides - {side})
            for side in sides
            if side <= room and low + side <= table.width
        )

    return search((0,) * table.length, frozenset(table.sides))


@pytest.mark.parametrize(("n", "side"), UNIT_SQUARES.items())
def test_unit_squares_have_room_and_no_more_than_a_plain_square(n: int, side: float) -> None:
    assert math.sqrt(n) <= side <= math.ceil(math.sqrt(n))


SOME = [*EQUAL_RECTANGLES[:2], *(pytest.param(each, marks=pytest.mark.slow) for each in EQUAL_RECTANGLES[2:])]


@pytest.mark.parametrize("table", SOME, ids=str)
def test_what_is_found_is_feasible_and_no_bound_is_below_the_optimum(table: EqualRectangles) -> None:
    case = table.case()
    found = solve(case, rounds=2)
    assert examine(case, found).legal
    assert found.placed <= table.most
    assert found.bound is None or found.bound >= table.most


@pytest.mark.parametrize("table", SQUARED_RECTANGLES, ids=lambda t: f"{t.length}x{t.width}")
def test_squares_found_are_feasible_and_the_bound_leaves_room_for_all(table: SquaredRectangle) -> None:
    case = table.case()
    found = solve(case, rounds=2)
    assert examine(case, found).legal
    assert found.bound is None or found.bound >= len(table.sides)
