"""The order of cutting: every panel once, the hardest first, and the point after which there is no other way."""

from __future__ import annotations

import pytest

from nesting import Case, Panel, Placement, Sheet
from nesting.cutting_order import order_of_cutting


def rectangle(length: float, width: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


def row(length: float, count: int, start: float = 0.0) -> tuple[Case, list[Placement]]:
    """Squares of 100 in a row on a strip of cloth."""
    case = Case((Panel("p", rectangle(100, 100), count),), (Sheet("s", rectangle(length, 100)),))
    return case, [Placement("s", "p", start + 100.0 * n, 0.0) for n in range(count)]


def test_without_a_spare_place_there_is_no_other_way_from_the_first_cut_on() -> None:
    case, placements = row(300, 3)
    found = order_of_cutting(case, placements, "s")
    assert sorted(found.order) == [1, 2, 3]
    assert found.free_until == 0


def test_with_one_place_to_spare_all_but_the_last_may_still_go_elsewhere() -> None:
    """Three squares on a strip for four: whichever is spoiled, the fourth place takes it, up to the last cut."""
    case, placements = row(400, 3)
    assert order_of_cutting(case, placements, "s").free_until == 3


def test_with_half_a_place_to_spare_there_is_none() -> None:
    case, placements = row(350, 3)
    assert order_of_cutting(case, placements, "s").free_until == 0


def test_the_one_that_is_hemmed_in_comes_before_the_one_in_the_open() -> None:
    case = Case((Panel("p", rectangle(100, 100), 3),), (Sheet("s", rectangle(800, 300)),), gap=2.0)
    placements = [Placement("s", "p", 500, 100), Placement("s", "p", 0, 0), Placement("s", "p", 102, 0)]
    found = order_of_cutting(case, placements, "s")
    assert found.order[0] == 2
    assert found.order[-1] == 1
    assert {near.panel for near in found.narrowest} <= {1, 2, 3}
    assert found.narrowest[0].distance == 0.0


def test_nothing_lies_there() -> None:
    case, placements = row(300, 1)
    with pytest.raises(ValueError, match="nothing lies on"):
        order_of_cutting(case, placements, "elsewhere")
