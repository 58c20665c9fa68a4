"""The relaxation that the bins are measured by: never above the least area that enumeration of every lay finds."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting import Case, Panel, Sheet
from tests.benchmarks.bins import least_area

from .enumerate_lays import Cells, most_copies, rectangle_cells
from .test_shortfall import CELL, ring


def truly_least(panel: Cells, copies: int, sheets: list[Cells]) -> float:
    """The least area of sheets that hold so many copies, by trying every choice."""
    most = [most_copies([sheet], [panel]) for sheet in sheets]
    choices = product([False, True], repeat=len(sheets))
    areas = [
        sum(len(sheet) for sheet, taken in zip(sheets, choice, strict=True) if taken)
        for choice in choices
        if sum(n for n, taken in zip(most, choice, strict=True) if taken) >= copies
    ]
    return min(areas, default=float("inf"))


sizes = st.tuples(st.integers(1, 5), st.integers(1, 4))


@settings(max_examples=10, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=5), sizes, st.integers(1, 6))
def test_it_is_never_above_the_truth(sheets: list[tuple[int, int]], panel: tuple[int, int], copies: int) -> None:
    cells = [rectangle_cells(*size) for size in sheets]
    shape = rectangle_cells(*panel)
    case = Case(
        (Panel("p", ring(shape), copies, turns=(0.0,)),), tuple(Sheet(str(n), ring(one)) for n, one in enumerate(cells))
    )
    assert least_area(case) <= truly_least(shape, copies, cells) * CELL**2 * (1 + 1e-6)


def test_it_counts_what_area_alone_would_not() -> None:
    """Two sheets of 3 × 1 hold one bar of 2 × 1 each: three cells of waste, which the reach of each shows."""
    cells = [rectangle_cells(3, 1), rectangle_cells(3, 1), rectangle_cells(5, 2)]
    shape = rectangle_cells(2, 1)
    case = Case((Panel("p", ring(shape), 2, turns=(0.0,)),), tuple(Sheet(str(n), ring(one)) for n, one in enumerate(cells)))
    assert least_area(case) == pytest.approx(truly_least(shape, 2, cells) * CELL**2, rel=1e-4)
