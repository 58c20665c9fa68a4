"""Logging a remnant: settled once, searched by plain columns, booked exactly, refused whole."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from stash import Workroom, book, outlines, remnants
from stash.refusals import BadOutline, Refused, Taken, Unknown, WrongState
from stash.remnants import NewFault
from stash.settling import put_together
from stash.words import EdgeKind, Face, FaultKind, Nap, RemnantState, Source

from .scenes import chalked, cuffs, linen, scrap, whole_stash
from .shapes import stars

SPOT = ((100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0))


def test_a_remnant_is_kept_as_told(workroom: Workroom) -> None:
    linen(workroom)
    kept = scrap(workroom, "l7", place=" Shelf  A", washed="cold, by hand", source=Source.GIVEN, note="from a curtain")
    assert remnants.get(workroom, "L7") == kept == remnants.get(workroom, " l7")
    assert (kept.tag, kept.place, kept.washed, kept.source, kept.note) == (
        *("L7", "Shelf A", "cold, by hand"),
        *(Source.GIVEN, "from a curtain"),
    )
    assert (kept.state, kept.rough, kept.parent, kept.children, kept.revision) == (RemnantState.IN_BIN, False, None, (), 1)
    assert (kept.area, kept.mass, kept.weighed) == (120_000, 21.6, False)
    assert (kept.length, kept.width, kept.rect_length, kept.rect_width) == (400, 300, 400, 300)


def test_its_entry_moves_it_from_in_to_the_bin(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, source=Source.BOUGHT)
    (entry,) = book.entries(workroom)
    assert entry.by == "MB"
    assert [(line.account, line.detail, line.remnant, line.area, line.mass) for line in entry.lines] == [
        ("in", "bought", "L1", -12_000_000, -21_600),
        ("bin", "", "L1", 12_000_000, 21_600),
    ]


def test_its_own_mass_is_believed_before_the_cloths_weight(workroom: Workroom) -> None:
    linen(workroom)
    kept = scrap(workroom, mass=22.75)
    assert (kept.mass, kept.weighed) == (22.75, True)


def test_measured_askew_wrong_side_up_and_against_the_nap_it_is_settled_once(workroom: Workroom) -> None:
    """A right-angled scrap, 300 along the thread and 200 across, drawn standing; the store has it lying, right side up."""
    linen(workroom, one_way=True)
    drawn = outlines.by_points([(0, 0), (0, 300), (-200, 0)], ["cut", "cut", "selvedge"])  # type: ignore[list-item]
    kept = scrap(
        *(workroom, "L1"),
        outline=drawn,
        grain_angle=90,
        face_up=Face.WRONG,
        nap=Nap.AGAINST,
        faults=(NewFault(FaultKind.STAIN, ((0, 0), (0, 30), (-20, 0))),),
    )
    # Turned: right angle at the origin, thread along +x, 200 to its left. Mirrored: 200 to its right. Head to foot: as below.
    assert kept.outline.equals(Polygon([(300, 0), (0, 0), (300, 200)]))
    assert kept.faults[0].shape.equals(Polygon([(300, 0), (270, 0), (300, 20)]))
    assert kept.edges[0].line.equals(Polygon([(300, 0), (300, 200), (300, 100)]).exterior.intersection(kept.edges[0].line))
    assert kept.edges[0].line.length == pytest.approx(200)
    assert (kept.grain_angle, kept.face_up, kept.nap, kept.one_way) == (90, Face.WRONG, Nap.AGAINST, True)


def test_price_and_day_are_kept_as_told(workroom: Workroom) -> None:
    linen(workroom)
    told = scrap(workroom, price=250, came_on=date(2019, 4, 1))
    assert (told.price, told.came_on, told.confirmed) == (250, date(2019, 4, 1), True)
    untold = scrap(workroom, "L2")
    assert (untold.price, untold.came_on) == (None, untold.logged_at.date())


def test_a_keeper_waits_to_be_looked_at_and_came_when_its_parent_did(workroom: Workroom) -> None:
    from .scenes import cut_all

    linen(workroom)
    scrap(workroom, price=250, came_on=date(2019, 4, 1))
    cuffs(workroom, count=1)
    keeper = cut_all(workroom).sheets[0].keepers[0]
    assert (keeper.confirmed, keeper.came_on, keeper.price) == (False, date(2019, 4, 1), None)


def test_holes_are_no_cloth_and_flaws_are(workroom: Workroom) -> None:
    linen(workroom)
    holed = scrap(workroom, "L1", faults=(NewFault(FaultKind.HOLE, SPOT),))
    stained = scrap(workroom, "L2", faults=(NewFault(FaultKind.STAIN, SPOT),))
    torn = scrap(workroom, "L3", faults=(NewFault(FaultKind.HOLE, SPOT[:2]),))
    assert [each.area for each in (holed, stained, torn)] == [119_600, 120_000, 120_000]
    assert holed.shape.equals(box(0, 0, 400, 300) - box(100, 100, 120, 120))
    assert torn.faults[0].shape.geom_type == "LineString"


def test_holes_that_overlap_are_not_taken_twice(workroom: Workroom) -> None:
    linen(workroom)
    shifted = tuple((x + 10, y) for x, y in SPOT)
    kept = scrap(workroom, faults=(NewFault(FaultKind.HOLE, SPOT), NewFault(FaultKind.HOLE, shifted)))
    assert kept.area == 120_000 - 600


def test_edges_outlive_settling(workroom: Workroom) -> None:
    linen(workroom)
    kept = scrap(workroom, edges=[EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT])
    assert [(edge.kind, edge.line.bounds) for edge in kept.edges] == [
        ("selvedge", (0, 0, 400, 0)),
        ("raw", (0, 300, 400, 300)),
    ]


def test_a_rough_remnant_is_its_rectangle(workroom: Workroom) -> None:
    linen(workroom)
    assert scrap(workroom, outline=outlines.rectangle(200, 100, rough=True)).rough


def test_the_nap_of_a_one_way_cloth_must_be_said(workroom: Workroom) -> None:
    linen(workroom, one_way=True)
    with pytest.raises(Refused, match="which way the nap runs is not said"):
        scrap(workroom)
    assert scrap(workroom, nap=Nap.ALONG).one_way


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"tag": "L_1"}, "is no tag"),
        ({"cloth": "blue linnen"}, "no cloth"),
        ({"mass": 0}, "mass is 0"),
        ({"mass": float("inf")}, "mass is inf"),
        ({"grain_angle": float("nan")}, "grain angle is nan"),
        ({"face_up": Face.BOTH}, "one face is up"),
        ({"faults": (NewFault(FaultKind.HOLE, ((500.0, 0.0), (510.0, 0.0), (510.0, 9.0))),)}, "lies off the remnant"),
        ({"faults": (NewFault(FaultKind.STAIN, ((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0))),)}, "crosses itself"),
        ({"faults": (NewFault(FaultKind.STAIN, ((5.0, 5.0),)),)}, "1 point"),
        ({"faults": (NewFault(FaultKind.HOLE, ((-1.0, -1.0), (401.0, -1.0), (401.0, 301.0), (-1.0, 301.0))),)}, "no cloth"),
        ({"faults": (NewFault(FaultKind.HOLE, ((50.0, -1.0), (60.0, -1.0), (60.0, 301.0), (50.0, 301.0))),)}, "in two"),
        ({"place": "x" * 81}, "81 letters"),
        ({"price": -1}, "price is -1"),
        ({"came_on": date(2999, 1, 1)}, "the day it came is 2999-01-01"),
        ({"came_on": date(1799, 12, 31)}, "the day it came is 1799-12-31"),
        ({"outline": outlines.Measured(((0, 0), (9, 9), (9, 0), (0, 9)))}, "crosses itself"),
    ],
)
def test_bad_remnants_change_nothing(workroom: Workroom, stash_file: Path, said: dict[str, object], why: str) -> None:
    linen(workroom)
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match=why):
        scrap(workroom, **({"tag": "L1"} | said))  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_a_tag_is_taken_once(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    with pytest.raises(Taken, match="there is a remnant L1 already"):
        scrap(workroom, "l1")


def test_an_unknown_tag(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "WOOL-12")
    with pytest.raises(Unknown) as refusal:
        remnants.get(workroom, "WOOL-21")
    assert refusal.value.close == ("WOOL-12",)


def test_quarantine_and_release(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    apart = remnants.put_apart(workroom, "l1", "moth", by="MB")
    assert (apart.quarantine, apart.state) == ("moth", RemnantState.IN_BIN)
    with pytest.raises(WrongState, match="in quarantine already"):
        remnants.put_apart(workroom, "L1", "mould", by="MB")
    assert remnants.release(workroom, "L1", by="AK").quarantine == ""
    with pytest.raises(WrongState, match="not in quarantine"):
        remnants.release(workroom, "L1", by="AK")


@pytest.mark.parametrize(("reason", "by"), [("", "MB"), ("moth", ""), ("moth", "  ")])
def test_quarantine_wants_a_reason_and_a_name(workroom: Workroom, reason: str, by: str) -> None:
    linen(workroom)
    scrap(workroom)
    with pytest.raises(Refused):
        remnants.put_apart(workroom, "L1", reason, by=by)
    assert remnants.get(workroom, "L1").quarantine == ""


def test_a_held_remnant_says_which_lay_holds_it(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom)
    lay = chalked(workroom)
    held = remnants.get(workroom, "L1")
    assert (held.state, held.held_by) == (RemnantState.HELD, lay.number)


@settings(max_examples=30)
@given(shape=stars(), hole=st.booleans())
def test_the_plain_columns_say_what_the_outline_says(shape: Polygon, hole: bool) -> None:
    from stash.tables import FaultRow

    middle = box(-5, -5, 5, 5)
    faults = [FaultRow(kind=FaultKind.HOLE, face=Face.BOTH, shape=middle)] if hole else []
    row = put_together(shape, faults, [], where="here")
    cloth = shape - middle if hole else shape
    low_x, low_y, high_x, high_y = shape.bounds
    assert row.area == round(cloth.area * 100)
    assert (row.length, row.width) == (high_x - low_x, high_y - low_y)
    assert row.rect_length <= row.length
    assert row.rect_width <= row.width
    assert 0 < row.rect_length * row.rect_width <= cloth.area


def test_what_holes_leave_nothing_of_is_refused() -> None:
    from stash.tables import FaultRow

    everything = FaultRow(kind=FaultKind.HOLE, face=Face.BOTH, shape=box(-1, -1, 11, 11))
    with pytest.raises(BadOutline, match="leave no cloth"):
        put_together(box(0, 0, 10, 10), [everything], [], where="here")
