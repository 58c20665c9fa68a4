"""Panels dropped in anew by chance: one that chance finds no place for stays where it lay."""

from __future__ import annotations

import pytest

from nesting import Case, Panel, Sheet
from nesting.easing import Easing
from nesting.instance import Instance


def test_a_panel_that_finds_no_place_by_chance_stays_where_it_is() -> None:
    """A strap of which one turn in four has room, tried at one random place each time."""
    strap = Panel("strap", ((0.0, 0.0), (300.0, 0.0), (300.0, 40.0), (0.0, 40.0)), 1, turns=(90.0, 45.0, 30.0, 0.0))
    sheet = Sheet("s", ((0.0, 0.0), (320.0, 0.0), (320.0, 60.0), (0.0, 60.0)))
    instance = Instance(Case((strap,), (sheet,)))
    easing = Easing(instance, instance.tables([sheet]), [0], seed=1)
    easing.lay.sheet[0] = -1
    easing.drop_in(0)
    for _ in range(50):
        easing.drop_in(0, tries=1)
        ((shape, number, x, y),) = easing.steps()
        assert (number, instance.shapes[shape].turn) == (0, 0.0)
        assert 150 <= x <= 170
        assert 20 <= y <= 40


def test_a_panel_that_lies_nowhere_and_finds_no_place_is_a_fault() -> None:
    strap = Panel("strap", ((0.0, 0.0), (300.0, 0.0), (300.0, 40.0), (0.0, 40.0)), 1)
    sheet = Sheet("s", ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)))
    instance = Instance(Case((strap,), (sheet,)))
    easing = Easing(instance, instance.tables([sheet]), [0], seed=1)
    easing.lay.sheet[0] = -1
    with pytest.raises(ValueError, match="no sheet has room"):
        easing.drop_in(0)
