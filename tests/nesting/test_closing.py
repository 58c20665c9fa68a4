"""The smallest rectangle for some copies: it holds them, and is not larger than a plain arrangement."""

from __future__ import annotations

import pytest
from shapely import Polygon

from nesting import Case, Panel, examine, smallest_rectangle, solve
from nesting.closing import as_sheet

from .shapes import GORE


@pytest.mark.parametrize("copies", [1, 3])
@pytest.mark.parametrize("turns", [(0.0,), (0.0, 180.0)])
def test_it_holds_the_copies_with_gap_and_edge(copies: int, turns: tuple[float, ...]) -> None:
    panel = Panel("gore", GORE, copies, turns=turns)
    found = smallest_rectangle([panel], gap=2.0, edge=3.0)
    assert found is not None
    case = Case((panel,), (as_sheet(found, "s"),), gap=2.0, edge=3.0)
    result = solve(case, rounds=60)
    assert result.complete
    assert not examine(case, result).faults
    low_x, low_y, high_x, high_y = Polygon(GORE).bounds
    length, width = high_x - low_x + 6, copies * (high_y - low_y) + (copies - 1) * 2 + 6
    assert found.area <= (length + 1) * (width + 1)  # rounded up to whole millimetres


def test_nothing_is_closed_by_nothing() -> None:
    with pytest.raises(ValueError, match="no copies"):
        smallest_rectangle([Panel("gore", GORE, 0)])
