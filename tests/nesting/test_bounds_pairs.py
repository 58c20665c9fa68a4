"""Panels that exclude each other on a sheet, against shapely at many places."""

from __future__ import annotations

import pytest

from nesting import Case, Panel, Sheet
from nesting.bounds import bound_copies
from tests.nesting.shapes import box_ring

CORNER = ((0.0, 0.0), (90.0, 0.0), (90.0, 20.0), (20.0, 20.0), (20.0, 90.0), (0.0, 90.0))


@pytest.mark.slow
@pytest.mark.parametrize(("side", "most"), [(99.0, 1), (119.9, 1), (120.1, 2)])
def test_two_squares_of_60_and_a_bar_go_together_from_120_mm_on(side: float, most: int) -> None:
    """A square of 60 and an upright bar of 60 × 61: side by side they take 120 mm, one above the other 121."""
    panels = (Panel("square", box_ring(60.0, 60.0), 1), Panel("bar", box_ring(60.0, 61.0), 1))
    case = Case(panels, (Sheet("s", box_ring(side, 118.0)),))
    assert bound_copies(case, 0.1).most == most


@pytest.mark.slow
def test_hooks_that_go_into_each_other_are_not_said_to_exclude_each_other() -> None:
    """Two hooks on 110 mm: one turned head to foot fits into the other, 20 mm aside."""
    panels = (Panel("hook", CORNER, 1), Panel("other", CORNER, 1))
    assert bound_copies(Case(panels, (Sheet("s", box_ring(112.0, 112.0)),)), 0.1).most == 2


def test_hooks_that_lie_alike_exclude_each_other() -> None:
    panels = (Panel("hook", CORNER, 1), Panel("other", CORNER, 1))
    alike = tuple(Panel(p.id, p.outline, 1, turns=(0.0,)) for p in panels)
    assert bound_copies(Case(alike, (Sheet("s", box_ring(100.0, 100.0)),)), 0.1).most == 1
