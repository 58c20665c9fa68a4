"""Joining: remnants of one cloth sewn into one that knows what it was made of."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from stash import Workroom, book, cloths, joining, outlines, remnants
from stash.measuring import Measures
from stash.refusals import BadOutline, Refused, Taken, WrongState
from stash.remnants import NewFault
from stash.tables import RemnantJoinedRow
from stash.words import Account, Event, FaultKind, RemnantState

from .scenes import linen, scrap

SEAM = NewFault(FaultKind.NEEDLE_HOLES, ((290, 0), (292, 0), (292, 200), (290, 200)))


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red linen")
    scrap(workroom, "L1", length=300, width=200, place="drawer 1", washed="cold")
    scrap(workroom, "L2", length=200, width=200, washed="cold")
    scrap(workroom, "R1", "red linen")


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def test_two_strips_sewn_end_to_end(bin_: Workroom) -> None:
    """500 mm less two allowances of 10 mm: 4,000 mm² lie in the seam; 18 g stay 18 g."""
    told = Measures(outline=outlines.rectangle(480, 200), faults=(SEAM,))
    done = joining.join(bin_, "j1", ["L1", "l2"], told, by="MB", note="for the long panel")
    whole = done.remnant
    assert (whole.tag, whole.area, whole.mass, whole.state) == ("J1", 96_000, 18.0, RemnantState.IN_BIN)
    assert (whole.place, whole.washed, whole.confirmed, whole.source, whole.weighed) == ("drawer 1", "cold", True, None, False)
    assert [fault.kind for fault in whole.faults] == [FaultKind.NEEDLE_HOLES]
    assert {remnants.get(bin_, tag).state for tag in done.parts} == {RemnantState.JOINED}
    (entry,) = book.entries(bin_, limit=1)
    assert (entry.event, entry.note, entry.number) == (Event.JOINED, "for the long panel", done.entry)
    amounts = {(line.account, line.detail, line.remnant): (line.area, line.mass) for line in entry.lines}
    assert amounts == {
        (Account.BIN, "", "L1"): (-6_000_000, -10_800),
        (Account.BIN, "", "L2"): (-4_000_000, -7_200),
        (Account.BIN, "joined", "J1"): (9_600_000, 18_000),
        (Account.RE_MEASURED, "seams", "J1"): (400_000, 0),
    }
    with bin_.reading() as session:
        assert {row.part_id for row in session.scalars(select(RemnantJoinedRow))} == {1, 2}


def test_weighed_when_it_was_joined(bin_: Workroom) -> None:
    done = joining.join(bin_, "J1", ["L1", "L2"], Measures(outline=outlines.rectangle(480, 200), mass=17.5), by="MB")
    assert (done.remnant.mass, done.remnant.weighed) == (17.5, True)
    assert book.balance(bin_).balanced


def test_the_mass_of_what_was_weighed_does_not_follow_the_cloths_weight(bin_: Workroom) -> None:
    scrap(bin_, "L3", length=100, width=100, mass=2.5)
    joining.join(bin_, "J1", ["L1", "L3"], Measures(outline=outlines.rectangle(300, 200)), by="MB")
    cloths.weigh_again(bin_, "blue linen", 360, by="MB")
    assert remnants.get(bin_, "J1").mass == 13.3
    assert remnants.get(bin_, "L2").mass == 14.4


def test_what_is_refused(bin_: Workroom) -> None:
    told = Measures(outline=outlines.rectangle(480, 200))
    for tag, parts, kind, what in (
        ("J1", ["L1"], Refused, "fewer than two"),
        ("J1", ["L1", "L1"], Refused, "named twice"),
        ("J1", ["L1", "R1"], Refused, "R1 is red linen"),
        ("L1", ["L1", "L2"], Taken, "there is a remnant L1"),
        ("J×", ["L1", "L2"], Refused, "is no tag"),
    ):
        with pytest.raises(kind, match=what):
            joining.join(bin_, tag, parts, told, by="MB")
    with pytest.raises(Refused, match="initials"):
        joining.join(bin_, "J1", ["L1", "L2"], told, by="")
    with pytest.raises(BadOutline, match="more than its parts"):
        joining.join(bin_, "J1", ["L1", "L2"], Measures(outline=outlines.rectangle(520, 200)), by="MB")
    with pytest.raises(BadOutline, match="less than a quarter"):
        joining.join(bin_, "J1", ["L1", "L2"], Measures(outline=outlines.rectangle(48, 20)), by="MB")
    remnants.put_apart(bin_, "L2", "moth", by="MB")
    with pytest.raises(WrongState, match="quarantine"):
        joining.join(bin_, "J1", ["L1", "L2"], told, by="MB")
    assert book.balance(bin_).entries == 3
