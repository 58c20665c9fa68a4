"""What the case's form does not say, settled: edges, holes, flaws, turns."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, Polygon, box
from sqlalchemy import select

from nesting import Sheet
from stash import Workroom, settings
from stash.remnants import NewFault
from stash.sheets import Offered, sheet_of
from stash.tables import RemnantRow
from stash.words import EdgeKind, Face, FaultKind, Nap

from .scenes import linen, scrap

MARGINS = settings.Settings(edge=3, selvedge=10, raw=6)
SEEN, HIDDEN, TURNED_OVER = Offered("seen", False, False), Offered("hidden", True, False), Offered("over", False, True)
SPOT = ((100.0, 100.0), (120.0, 100.0), (120.0, 120.0))


def sheet(workroom: Workroom, margins: settings.Settings = MARGINS, **said: object) -> Sheet | None:
    scrap(workroom, "L1", **said)  # type: ignore[arg-type]
    with workroom.reading() as session:
        row = session.scalars(select(RemnantRow)).one()
        return sheet_of(row, margins, [SEEN, HIDDEN, TURNED_OVER])


@pytest.fixture(autouse=True)
def _cloth(workroom: Workroom) -> None:
    linen(workroom)


def test_edges_are_trimmed_by_what_they_ask_beyond_the_common_margin(workroom: Workroom) -> None:
    made = sheet(workroom, edges=[EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT])
    assert made is not None
    assert Polygon(made.outline).bounds == (0, 7, 400, 297)


def test_a_cloth_may_have_a_selvedge_of_its_own(workroom: Workroom) -> None:
    linen(workroom, "wide linen", selvedge=25.0)
    made = sheet(workroom, cloth="wide linen", edges=[EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT])
    assert made is not None
    assert Polygon(made.outline).bounds == (0, 22, 400, 297)


def test_a_margin_below_the_common_one_trims_nothing(workroom: Workroom) -> None:
    made = sheet(workroom, replace(MARGINS, selvedge=0), edges=EdgeKind.SELVEDGE)
    assert made is not None
    assert Polygon(made.outline).equals(box(0, 0, 400, 300))


def test_edges_that_leave_nothing(workroom: Workroom) -> None:
    assert sheet(workroom, length=300, width=12, edges=EdgeKind.SELVEDGE) is None


def test_holes_and_tears_are_holes_of_the_sheet(workroom: Workroom) -> None:
    tear = ((200.0, 50.0), (220.0, 60.0))
    made = sheet(workroom, faults=(NewFault(FaultKind.HOLE, SPOT), NewFault(FaultKind.HOLE, tear)))
    assert made is not None
    hole, slit = made.holes
    assert Polygon(hole).equals(Polygon(SPOT))
    assert LineString(slit).equals(LineString(tear))


def test_a_hole_at_the_rim_becomes_part_of_the_outline(workroom: Workroom) -> None:
    made = sheet(workroom, faults=(NewFault(FaultKind.HOLE, ((-5.0, 100.0), (30.0, 100.0), (30.0, 140.0), (-5.0, 140.0))),))
    assert made is not None
    assert made.holes == ()
    assert Polygon(made.outline).area == 400 * 300 - 30 * 40


@pytest.mark.parametrize(
    ("kind", "face", "spared"),
    [
        (FaultKind.STAIN, Face.RIGHT, {"hidden"}),
        (FaultKind.STAIN, Face.BOTH, {"hidden"}),
        # On the wrong side a mark does not show, unless the panel may be turned over.
        (FaultKind.STAIN, Face.WRONG, {"seen", "hidden"}),
        (FaultKind.FADE, Face.WRONG, {"seen", "hidden"}),
        (FaultKind.SHINE, Face.RIGHT, {"hidden"}),
        (FaultKind.CREASE, Face.BOTH, {"hidden"}),
        # Weak cloth will not do for anything.
        (FaultKind.THIN, Face.WRONG, set()),
        (FaultKind.NEEDLE_HOLES, Face.BOTH, set()),
    ],
)
def test_which_flaw_harms_which_panel(workroom: Workroom, kind: FaultKind, face: Face, spared: set[str]) -> None:
    made = sheet(workroom, faults=(NewFault(kind, SPOT, face),))
    assert made is not None
    (flaw,) = made.flaws
    assert flaw.spares == spared
    assert made.holes == ()


def test_every_kind_of_fault_is_one_or_the_other() -> None:
    assert len(FaultKind) == 7  # a new kind has its place in `flaw_rules.WEAK` or is a mark: look at the table above


def test_a_flaw_in_what_is_trimmed_off_is_no_flaw_of_the_sheet(workroom: Workroom) -> None:
    low = ((100.0, 1.0), (120.0, 1.0), (120.0, 5.0))
    made = sheet(workroom, edges=EdgeKind.SELVEDGE, faults=(NewFault(FaultKind.STAIN, low),))
    assert made is not None
    assert made.flaws == ()


def test_a_one_way_remnant_allows_no_turn(workroom: Workroom) -> None:
    made = sheet(workroom, nap=Nap.AGAINST)
    assert made is not None
    assert made.turns == (0.0,)


def test_another_allows_all(workroom: Workroom) -> None:
    made = sheet(workroom)
    assert made is not None
    assert made.turns is None
