"""Choosing by fills: of a small bin, the cheapest choice of what fills reach, and never a worse lay than the first."""

from __future__ import annotations

from itertools import product

import pytest

from nesting import Case, Panel, Sheet, examine, solve
from nesting.instance import Instance
from nesting.sheets import SheetSearch
from nesting.warming import make_ready


def rectangle(length: float, width: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


SIZES = [(100, 50), (240, 55), (360, 55), (330, 120), (230, 115), (150, 60), (480, 55), (90, 90), (560, 115)]
"""mm; of panels of 100 × 50 they hold 1 (exactly), 2, 3, 6, 4, 1, 4, 0 and 10."""
HOLDS = [1, 2, 3, 6, 4, 1, 4, 0, 10]


def bin_of(copies: int) -> Case:
    sheets = tuple(Sheet(str(n), rectangle(*size)) for n, size in enumerate(SIZES))
    return Case((Panel("p", rectangle(100, 50), copies, turns=(0.0,)),), sheets)


@pytest.mark.parametrize("copies", [1, 3, 5, 7, 12, 20])
def test_it_ends_at_the_cheapest_choice_of_what_fills_reach(copies: int) -> None:
    make_ready()
    search = SheetSearch(Instance(bin_of(copies)), 0, 1)
    for _ in range(30):
        search.assign()
        search.collect()
        if search._agreement.over:
            break
    assert search._agreement.over
    choices = (which for which in product([0, 1], repeat=len(SIZES)))
    least = min(
        sum(a * b for (a, b), taken in zip(SIZES, which, strict=True) if taken)
        for which in choices
        if sum(n for n, taken in zip(HOLDS, which, strict=True) if taken) >= copies
    )
    assert search.total_cost() == pytest.approx(least)


def test_the_lay_is_legal_and_the_same_for_the_same_rounds() -> None:
    case = bin_of(12)
    found = solve(case, rounds=12)
    assert found.complete
    assert not examine(case, found).faults
    assert found.placements == solve(case, rounds=12).placements
