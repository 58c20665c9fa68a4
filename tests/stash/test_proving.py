"""Proving a lay: the independent check, in the lay's own numbers, against the cloth itself."""

from __future__ import annotations

import pytest

from nesting import Placement, Result
from stash import Workroom, asking, lays, proving
from stash.remnants import NewFault
from stash.tables import LayPanelRow
from stash.words import EdgeKind, FaultKind

from .scenes import cuffs, linen, scrap


@pytest.fixture
def lay(workroom: Workroom) -> int:
    """Two panels on L1, two on L2; L1 has a selvedge along its near edge and a hole."""
    linen(workroom)
    hole = NewFault(FaultKind.HOLE, ((300.0, 100.0), (310.0, 100.0), (310.0, 110.0), (300.0, 110.0)))
    scrap(workroom, "L1", edges=[EdgeKind.SELVEDGE] + [EdgeKind.CUT] * 3, faults=(hole,))
    scrap(workroom, "L2")
    cuffs(workroom, count=4)
    asked = asking.ask(workroom, "cuffs")
    spots = [("L1", 20, 12), ("L1", 180, 100), ("L2", 20, 20), ("L2", 125, 20)]
    return lays.record(
        workroom, asked, Result(tuple(Placement(tag, "cuff", x, y) for tag, x, y in spots), placed=4, complete=True)
    ).number


def test_distances_are_to_the_cloth_not_to_what_the_margins_left(workroom: Workroom, lay: int) -> None:
    shown, found = proving.prove(workroom, lay)
    assert shown.number == lay
    assert found.legal
    first, second = found.sheets
    assert first.edge is not None
    assert first.edge.distance == pytest.approx(12)  # 10 are kept from the selvedge: 2 more than needed
    assert first.edge.panel == 1
    assert first.hole is not None
    assert (first.hole.distance, first.hole.panel) == (pytest.approx(20), 2)
    assert second.gap is not None
    assert second.gap.distance == pytest.approx(5)
    assert {second.gap.panel, int(second.gap.other)} == {3, 4}


def test_a_panel_moved_by_hand_is_found_out(workroom: Workroom, lay: int) -> None:
    with workroom.writing() as session:
        session.query(LayPanelRow).filter_by(number=4).one().x = 121.0
    _, found = proving.prove(workroom, lay)
    (fault,) = found.faults
    assert (fault.sheet, fault.panels) == ("L2", (3, 4))


def test_a_selvedge_that_is_not_kept_clear_of_is_found_out(workroom: Workroom, lay: int) -> None:
    """It lies on the cloth, 5 mm from the selvedge, of which 10 are asked."""
    with workroom.writing() as session:
        session.query(LayPanelRow).filter_by(number=1).one().y = 5.0
    _, found = proving.prove(workroom, lay)
    assert [(fault.sheet, fault.panels) for fault in found.faults] == [("L1", (1,))]


def test_proving_changes_nothing(workroom: Workroom, lay: int) -> None:
    before = lays.get(workroom, lay)
    assert proving.prove(workroom, lay)[0] == before == lays.get(workroom, lay)
