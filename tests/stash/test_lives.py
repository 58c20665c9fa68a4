"""Lives: from the length that it came from to what is left; what was undone is left out."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from stash import Workroom, lives, undoing
from stash.lives import Life
from stash.refusals import Unknown
from stash.words import Event, RemnantState

from .test_audit import stock as stock

__all__ = ["stock"]


@pytest.fixture
def full(stocked: Workroom) -> Workroom:
    return stocked


def every(life: Life) -> Iterator[Life]:
    yield life
    for child in life.became:
        yield from every(child)


def test_a_keeper_is_told_from_the_remnant_that_it_came_from(full: Workroom) -> None:
    (root,) = lives.of_remnant(full, "l1a")
    assert (root.tag, root.asked, root.state) == ("L1", False, RemnantState.CUT)
    assert [(step.event, step.detail) for step in root.steps] == [(Event.LOGGED, "found"), (Event.CUT, "for cuffs")]
    assert (dict(root.pieces), root.spoiled, len(root.panels)) == ({"cuff": 1}, 1, 2)
    assert [step.area for step in root.steps] == [120_000 - 900, 0]
    (keeper,) = [each for each in every(root) if each.asked]
    assert (keeper.tag, keeper.state) == ("L1A", RemnantState.IN_BIN)
    came, measured = keeper.steps
    assert (came.event, came.detail) == (Event.CUT, "from L1, for cuffs")
    assert measured.event is Event.MEASURED_AGAIN
    assert measured.was is not None
    assert round(measured.was.area, 1) == round(came.area, 1)
    assert measured.area == keeper.area == 150 * 90
    whole = root.steps[0].area
    panels = sum(panel.area for panel in root.panels)
    assert whole == pytest.approx(panels + root.rag_area + sum(child.steps[0].area for child in root.became), abs=0.1)


def test_what_was_sewn_together_has_all_its_parts(full: Workroom) -> None:
    one, other = lives.of_remnant(full, "J1")
    assert (one.tag, one.joined_into, [child.tag for child in one.became]) == ("L6", "J1", ["J1"])
    assert (other.tag, other.joined_into, other.became) == ("L7", "J1", ())
    assert one.became[0].asked


def test_a_cloth_and_all_that_came_of_it(full: Workroom) -> None:
    found = lives.of_cloth(full, "Blue Linen")
    assert [life.tag for life in found] == ["L1", "L2", "L3", "L4", "L5", "L6", "L7"]
    split = found[4]
    assert [child.tag for child in split.became] == ["L5A", "L5B"]
    assert [(step.event, step.detail) for step in split.became[0].steps] == [(Event.SPLIT, "from L5")]
    tags = [each.tag for life in found for each in every(life)]
    assert len(tags) == len(set(tags))
    assert lives.of_cloth(full, "red linen")[0].steps[-1].event is Event.LOST


def test_what_was_undone_is_left_out(full: Workroom) -> None:
    undoing.undo(full, 12, why="no", by="MB")
    (root,) = lives.of_remnant(full, "L5")
    assert (root.became, root.state) == ((), RemnantState.IN_BIN)
    assert [step.event for step in root.steps] == [Event.LOGGED]
    with pytest.raises(Unknown):
        lives.of_remnant(full, "L99")
    with pytest.raises(Unknown):
        lives.of_cloth(full, "silk")
