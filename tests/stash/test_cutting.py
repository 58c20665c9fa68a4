"""Cutting: panels to the job, keepers to the bin, the rest to the rag bag, in one balanced entry."""

from __future__ import annotations

from pathlib import Path

import pytest
from shapely import box

from nesting import Placement, Result
from stash import Workroom, asking, book, cutting, jobs, lays, outlines, remnants, settings
from stash.refusals import ChangedSince, Refused, WrongState
from stash.remnants import NewFault
from stash.words import Account, EdgeKind, Face, Fate, FaultKind, LayState, Nap, RemnantState

from .scenes import chalked, cuffs, linen, scrap, whole_stash


def lay_at(workroom: Workroom, *spots: tuple[str, float, float]) -> int:
    """A chalked lay of cuffs (100 × 60 mm) at these places."""
    asked = asking.ask(workroom, "cuffs", gap=0, edge=0)
    placements = tuple(Placement(tag, "cuff", x, y) for tag, x, y in spots)
    lay = lays.record(
        workroom, asked, Result(placements, placed=len(spots), complete=len(spots) == asked.case.panels[0].copies)
    )
    return lays.chalk(workroom, lay.number, by="MB").number


def stock(workroom: Workroom) -> None:
    """One remnant of 400 × 300 mm, 21.6 g, a job of four cuffs."""
    linen(workroom)
    scrap(workroom, "L1", place="Shelf A", washed="cold")
    cuffs(workroom, count=4)


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def test_a_cut_to_the_last_hundredth(bin_: Workroom) -> None:
    """Four cuffs in one corner of 400 × 300: an L of 400 × 300 less 200 × 120 stays, all of it a keeper."""
    number = lay_at(bin_, ("L1", 0, 0), ("L1", 100, 0), ("L1", 0, 60), ("L1", 100, 60))
    done = cutting.cut(bin_, number, by="MB")
    (sheet,) = done.sheets
    (keeper,) = sheet.keepers
    assert (sheet.area, sheet.panel_area, keeper.area, sheet.rag_area) == (120_000, 24_000, 96_000, 0)
    assert (sheet.mass, sheet.panel_mass, keeper.mass, sheet.rag_mass) == (21.6, 4.32, 17.28, 0)
    assert keeper.outline.symmetric_difference(box(0, 0, 400, 300) - box(0, 0, 200, 120)).area < 0.5
    assert (done.lay.state, done.lay.cut_by) == (LayState.CUT, "MB")
    (entry, _) = book.entries(bin_)
    assert (entry.number, entry.lay, entry.event) == (done.entry, number, "cut")
    assert [(line.account, line.detail, line.remnant, line.job, line.area, line.mass) for line in entry.lines] == [
        ("bin", "", "L1", "cuffs", -12_000_000, -21_600),
        ("cut work", "cuff", "L1", "cuffs", 2_400_000, 4_320),
        ("bin", "keeper", "L1A", "cuffs", 9_600_000, 17_280),
    ]


def test_a_deficit_of_rounding_comes_off_the_keeper(workroom: Workroom) -> None:
    """The remnant is 60 018.0012 mm², the panel 6 013.606 and the keeper 54 004.3952: booked to 0.01, both parts are rounded
    up and the whole is rounded down."""
    linen(workroom)
    scrap(workroom, length=300.03, width=200.04)
    cuffs(workroom, count=1, ring=((0, 0), (100.06, 0), (100.06, 60.1), (0, 60.1)), allowance=0)
    (sheet,) = cutting.cut(workroom, lay_at(workroom, ("L1", 0, 0)), by="MB").sheets
    assert (sheet.area, sheet.panel_area, sheet.keepers[0].area, sheet.rag_area) == (60_018.00, 6_013.61, 54_004.39, 0)
    assert book.balance(workroom).balanced


def test_what_becomes_of_the_remnant_and_its_keeper(bin_: Workroom) -> None:
    cutting.cut(bin_, lay_at(bin_, ("L1", 0, 0)), by="MB")
    parent, child = remnants.get(bin_, "L1"), remnants.get(bin_, "L1A")
    assert (parent.state, parent.held_by, parent.children) == (RemnantState.CUT, None, ("L1A",))
    assert (child.state, child.parent, child.place, child.washed, child.cloth) == (
        *(RemnantState.IN_BIN, "L1", "Shelf A", "cold"),
        parent.cloth,
    )
    assert (child.source, child.weighed, child.rough, child.face_up, child.nap) == (None, False, False, Face.RIGHT, None)


def test_spoiled_and_uncut_panels(bin_: Workroom) -> None:
    """Spoiled cloth goes to the rag bag; what was left uncut stays in the keeper; the job still needs both."""
    number = lay_at(bin_, ("L1", 0, 0), ("L1", 100, 0), ("L1", 200, 0), ("L1", 300, 0))
    done = cutting.cut(bin_, number, by="MB", spoiled=[2], uncut=[4])
    (sheet,) = done.sheets
    assert (sheet.panel_area, sheet.spoiled_area, sheet.spoiled_mass) == (12_000, 6_000, 1.08)
    assert sheet.keepers[0].area == 120_000 - 3 * 6_000
    assert [panel.fate for panel in done.lay.panels] == [Fate.CUT, Fate.SPOILED, Fate.CUT, Fate.UNCUT]
    lines = {(line.account, line.detail): line.area for line in book.entries(bin_)[0].lines}
    assert lines[Account.RAG_BAG, "spoiled"] == 600_000
    (piece,) = jobs.get(bin_, "cuffs").pieces
    assert (piece.cut, piece.chalked, piece.missing) == (2, 0, 2)


def test_a_remnant_of_which_nothing_was_cut_goes_back_whole(bin_: Workroom) -> None:
    scrap(bin_, "L2")
    number = lay_at(bin_, ("L1", 0, 0), ("L2", 0, 0))
    done = cutting.cut(bin_, number, by="MB", uncut=[2])
    assert [sheet.whole for sheet in done.sheets] == [False, True]
    assert [sheet.keepers for sheet in done.sheets][1] == ()
    kept = remnants.get(bin_, "L2")
    assert (kept.state, kept.held_by, kept.children, kept.revision) == (RemnantState.IN_BIN, None, (), 1)
    assert {line.remnant for line in book.entries(bin_)[0].lines} == {"L1", "L1A"}


def test_what_is_too_small_or_too_narrow_goes_to_the_rag_bag(bin_: Workroom) -> None:
    """Left: a strip 39 mm wide, one of 41 mm, and 48 cm²: by the rule of 40 mm and 100 cm² only the second is kept."""
    settings.change(bin_, narrowest=40, smallest_keeper=10_000)
    scrap(bin_, "N", length=400, width=99)
    scrap(bin_, "W", length=400, width=101)
    scrap(bin_, "S", length=180, width=60)
    across = [("N", 100 * i, 0) for i in range(4)]
    assert cutting.cut(bin_, lay_at(bin_, *across), by="MB", spoiled=[1, 2, 3, 4]).sheets[0].keepers == ()
    across = [("W", 100 * i, 0) for i in range(4)]
    (kept,) = cutting.cut(bin_, lay_at(bin_, *across), by="MB", spoiled=[1, 2, 3, 4]).sheets[0].keepers
    assert (kept.length, kept.width) == pytest.approx((400, 41), abs=0.01)
    (sheet,) = cutting.cut(bin_, lay_at(bin_, ("S", 0, 0)), by="MB").sheets
    assert (sheet.keepers, sheet.rag_area) == ((), 4800)


def test_keepers_come_largest_first_and_have_tags_of_their_own(bin_: Workroom) -> None:
    scrap(bin_, "L2B", length=400, width=60)
    number = lay_at(bin_, ("L2B", 170, 0))
    settings.change(bin_, smallest_keeper=5000)
    (sheet,) = cutting.cut(bin_, number, by="MB").sheets
    assert [(keeper.tag, round(keeper.length)) for keeper in sheet.keepers] == [("L2B1", 170), ("L2B2", 130)]


def test_a_tag_that_is_taken_is_passed_over(bin_: Workroom) -> None:
    scrap(bin_, "L1A")
    (sheet,) = cutting.cut(bin_, lay_at(bin_, ("L1", 0, 0)), by="MB").sheets
    assert [keeper.tag for keeper in sheet.keepers] == ["L1B"]


def test_a_panel_cut_from_the_middle_leaves_a_hole(bin_: Workroom) -> None:
    (sheet,) = cutting.cut(bin_, lay_at(bin_, ("L1", 150, 120)), by="MB").sheets
    (keeper,) = sheet.keepers
    (hole,) = keeper.faults
    assert (hole.kind, hole.face) == (FaultKind.HOLE, Face.BOTH)
    assert hole.shape.symmetric_difference(box(150, 120, 250, 180)).area < 0.5
    assert keeper.area == pytest.approx(120_000 - 6_000, abs=0.02)
    assert keeper.outline.area == pytest.approx(120_000, abs=0.5)


def test_keepers_inherit_flaws_tears_holes_edges_and_nap(workroom: Workroom) -> None:
    """Cut in two by a row across: each half keeps what of the faults and edges lies on it."""
    linen(workroom, one_way=True)
    stain = NewFault(FaultKind.STAIN, ((100.0, 50.0), (350.0, 50.0), (350.0, 60.0), (100.0, 60.0)), Face.WRONG)
    tear = NewFault(FaultKind.HOLE, ((20.0, 20.0), (40.0, 30.0)))
    hole = NewFault(FaultKind.HOLE, ((300.0, 10.0), (320.0, 10.0), (320.0, 20.0), (300.0, 20.0)))
    edges = [EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.CUT, EdgeKind.RAW]
    scrap(workroom, "L1", length=400, width=60, edges=edges, faults=(stain, tear, hole), nap=Nap.ALONG)
    cuffs(workroom, count=1, hidden=True)
    settings.change(workroom, smallest_keeper=5000, narrowest=5)
    asked = asking.ask(workroom, "cuffs", gap=0, edge=0)
    # The raw edge at the left and the selvedge ask for margins of their own: the lay is put down without being examined.
    asked = with_plain_sheet(asked)
    lay = lays.record(workroom, asked, Result((Placement("L1", "cuff", 150, 0),), placed=1, complete=True))
    lays.chalk(workroom, lay.number, by="MB")
    (sheet,) = cutting.cut(workroom, lay.number, by="MB").sheets
    left, right = sorted(sheet.keepers, key=lambda keeper: keeper.outline.bounds)
    assert [(fault.kind, fault.shape.bounds) for fault in left.faults] == [
        (FaultKind.STAIN, pytest.approx((100, 50, 150, 60), abs=0.01)),
        (FaultKind.HOLE, pytest.approx((20, 20, 40, 30), abs=0.01)),
    ]
    assert sorted((fault.kind, tuple(round(v) for v in fault.shape.bounds)) for fault in right.faults) == [
        (FaultKind.HOLE, (300, 10, 320, 20)),
        (FaultKind.STAIN, (250, 50, 350, 60)),
    ]
    assert {(edge.kind, tuple(round(v) for v in edge.line.bounds)) for edge in left.edges} == {
        (EdgeKind.SELVEDGE, (0, 0, 150, 0)),
        (EdgeKind.RAW, (0, 0, 0, 60)),
    }
    assert {(edge.kind, tuple(round(v) for v in edge.line.bounds)) for edge in right.edges} == {
        (EdgeKind.SELVEDGE, (250, 0, 400, 0))
    }
    assert {keeper.one_way for keeper in (left, right)} == {True}
    assert {keeper.nap for keeper in (left, right)} == {Nap.ALONG}


def with_plain_sheet(asked: asking.Asked) -> asking.Asked:
    from dataclasses import replace

    from nesting import Sheet

    plain = Sheet("L1", ((0, 0), (400, 0), (400, 60), (0, 60)), turns=(0.0,))
    return replace(asked, case=replace(asked.case, sheets=(plain,)))


def test_what_a_rough_remnant_leaves_is_rough(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", outline=outlines.rectangle(400, 300, rough=True))
    cuffs(workroom, count=1)
    (sheet,) = cutting.cut(workroom, lay_at(workroom, ("L1", 0, 0)), by="MB").sheets
    assert sheet.keepers[0].rough


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"by": ""}, "cutting needs the initials"),
        ({"spoiled": [5]}, "there is no panel 5"),
        ({"uncut": [0]}, "there is no panel 0"),
        ({"spoiled": [1, 1]}, "panel 1 is named twice"),
        ({"spoiled": [1], "uncut": [1]}, "panel 1 is named twice"),
        ({"uncut": [1, 2]}, "nothing was cut"),
    ],
)
def test_cuts_that_cannot_be_change_nothing(bin_: Workroom, stash_file: Path, said: dict[str, object], why: str) -> None:
    number = lay_at(bin_, ("L1", 0, 0), ("L1", 100, 0))
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match=why):
        cutting.cut(bin_, number, **({"by": "MB"} | said))  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_only_a_chalked_lay_is_cut_and_only_once(bin_: Workroom) -> None:
    asked = asking.ask(bin_, "cuffs")
    tried = lays.record(bin_, asked, Result((Placement("L1", "cuff", 3, 3),), placed=1))
    with pytest.raises(WrongState, match="lay 1 is tried"):
        cutting.cut(bin_, tried.number, by="MB")
    number = chalked(bin_, most=1).number
    cutting.cut(bin_, number, by="MB")
    with pytest.raises(WrongState, match="lay 2 is cut"):
        cutting.cut(bin_, number, by="MB")


def test_quarantine_stops_the_shears(bin_: Workroom, stash_file: Path) -> None:
    number = lay_at(bin_, ("L1", 0, 0))
    remnants.put_apart(bin_, "L1", "moth", by="AK")
    before = whole_stash(stash_file)
    with pytest.raises(ChangedSince, match="quarantine"):
        cutting.cut(bin_, number, by="MB")
    assert whole_stash(stash_file) == before


def test_broken_off_in_the_middle_nothing_is_changed(
    bin_: Workroom, stash_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = lay_at(bin_, ("L1", 0, 0))
    before = whole_stash(stash_file)

    def break_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("stash.cutting.post", break_off)
    with pytest.raises(KeyboardInterrupt):
        cutting.cut(bin_, number, by="MB")
    assert whole_stash(stash_file) == before
