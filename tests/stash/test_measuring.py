"""Measured again: the book says the difference, the old outline is kept, lays tried on the old one are not chalked."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box
from sqlalchemy import select

from stash import Workroom, asking, book, keepers, lays, leaving, measuring, outlines, remnants
from stash.measuring import Measures
from stash.refusals import BadOutline, ChangedSince, Held, Plainly, Refused, Unknown, WrongState
from stash.remnants import NewFault
from stash.tables import RemnantBeforeRow
from stash.words import Account, EdgeKind, Face, FaultKind, Nap, RemnantState

from .scenes import chalked, cuffs, cut_all, linen, rows, scrap, whole_stash


def lines_of_the_last(workroom: Workroom) -> set[tuple[str, int, int]]:
    (entry,) = book.entries(workroom, limit=1)
    return {(str(line.account), line.area, line.mass) for line in entry.lines}


def test_a_rough_remnant_is_measured_in_full(workroom: Workroom) -> None:
    """200 × 100 mm known, 3.6 g by its area; an L of 28 000 mm² found: 5.04 g."""
    linen(workroom)
    scrap(workroom, outline=outlines.rectangle(200, 100, rough=True))
    shape = outlines.by_points([(0, 0), (200, 0), (200, 100), (80, 100), (80, 200), (0, 200)])
    kept = measuring.measure_again(workroom, "l1", Measures(outline=shape), by="MB", note="had the time")
    assert (kept.rough, kept.area, kept.mass, kept.revision, kept.rect_length) == (False, 28_000, 5.04, 2, 200)
    assert lines_of_the_last(workroom) == {("bin", 800_000, 1_440), ("re-measured", -800_000, -1_440)}
    assert book.entries(workroom, limit=1)[0].note == "had the time"
    with workroom.reading() as session:
        before = session.scalars(select(RemnantBeforeRow)).one()
        assert (before.shape.equals(box(0, 0, 200, 100)), before.rough, before.area, before.mass) == (
            True,
            True,
            2_000_000,
            3_600,
        )
        assert before.entry_id == 2


def test_the_mass_on_the_scale_stays(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, mass=20.0)
    kept = measuring.measure_again(workroom, "L1", Measures(outline=outlines.rectangle(400, 290)), by="MB")
    assert (kept.mass, kept.weighed) == (20.0, True)
    assert lines_of_the_last(workroom) == {("bin", -400_000, 0), ("re-measured", 400_000, 0)}


def test_it_may_be_weighed_at_the_same_time(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    kept = measuring.measure_again(workroom, "L1", Measures(outline=outlines.rectangle(400, 300), mass=22.0), by="MB")
    assert (kept.mass, kept.weighed) == (22.0, True)
    assert lines_of_the_last(workroom) == {("bin", 0, 400), ("re-measured", 0, -400)}


def test_the_same_measures_are_an_entry_that_moves_nothing(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    kept = measuring.measure_again(workroom, "L1", Measures(outline=outlines.rectangle(400, 300)), by="MB")
    assert (kept.revision, len(book.entries(workroom))) == (2, 2)
    assert lines_of_the_last(workroom) == {("bin", 0, 0), ("re-measured", 0, 0)}


def test_faults_edges_and_lying_are_those_told_now(workroom: Workroom) -> None:
    linen(workroom)
    stain = NewFault(FaultKind.STAIN, ((10, 10), (30, 10), (30, 30)))
    hole = NewFault(FaultKind.HOLE, ((100, 100), (120, 100), (120, 120), (100, 120)), Face.BOTH)
    scrap(workroom, faults=(stain,), edges=EdgeKind.RAW)
    told = Measures(outline=outlines.rectangle(300, 400), grain_angle=90, nap=Nap.ALONG, faults=(hole,))
    kept = measuring.measure_again(workroom, "L1", told, by="MB")
    assert ([fault.kind for fault in kept.faults], kept.edges) == ([FaultKind.HOLE], ())
    assert (kept.length, kept.width, kept.area, kept.one_way, kept.grain_angle) == (400, 300, 120_000 - 400, True, 90)
    assert remnants.get(workroom, "L1") == kept


def test_a_keeper_that_came_out_smaller(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, count=1)
    keeper = cut_all(workroom).sheets[0].keepers[0]
    assert not keeper.confirmed
    kept = measuring.measure_again(workroom, keeper.tag, Measures(outline=outlines.rectangle(200, 200)), by="MB")
    assert kept.confirmed
    assert kept.mass == pytest.approx(keeper.mass * 40_000 / keeper.area, abs=0.001)
    assert keepers.waiting(workroom) == ()
    assert book.balance(workroom).balanced


def test_a_lay_tried_on_the_old_measures_is_not_chalked(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom)
    asked = asking.ask(workroom, "cuffs")
    tried = lays.record(workroom, asked, rows(asked)).number
    measuring.measure_again(workroom, "L1", Measures(outline=outlines.rectangle(400, 299)), by="MB")
    with pytest.raises(ChangedSince, match="L1 was measured again"):
        lays.chalk(workroom, tried, by="MB")


@pytest.mark.parametrize(
    ("tag", "told", "by", "kind", "why"),
    [
        ("L9", {}, "MB", Unknown, "no remnant"),
        ("L1", {}, "", Refused, "initials"),
        ("L1", {"outline": outlines.Measured(((0, 0), (9, 9), (9, 0), (0, 9)))}, "MB", BadOutline, "crosses itself"),
        ("L1", {"mass": -1}, "MB", Refused, "mass is -1"),
        ("L1", {"grain_angle": float("inf")}, "MB", Refused, "grain angle"),
        ("L1", {"faults": (NewFault(FaultKind.STAIN, ((900, 0), (910, 0), (910, 9))),)}, "MB", BadOutline, "off the remnant"),
    ],
)
def test_what_is_refused_changes_nothing(
    workroom: Workroom, stash_file: Path, tag: str, told: dict[str, object], by: str, kind: type[Plainly], why: str
) -> None:
    linen(workroom)
    scrap(workroom)
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        measuring.measure_again(workroom, tag, Measures(**({"outline": outlines.rectangle(50, 50)} | told)), by=by)  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_what_is_held_lost_or_cut_is_not_measured(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom)
    lay = chalked(workroom)
    told = Measures(outline=outlines.rectangle(50, 50))
    with pytest.raises(Held, match=f"lay {lay.number} holds L1"):
        measuring.measure_again(workroom, "L1", told, by="MB")
    from stash import cutting

    cutting.cut(workroom, lay.number, by="MB")
    with pytest.raises(WrongState, match="L1 is cut"):
        measuring.measure_again(workroom, "L1", told, by="MB")


@settings(max_examples=25)
@given(area=st.integers(1, 10**12), mass=st.integers(0, 10**9), again=st.integers(1, 10**12))
def test_a_mass_by_area_follows_the_area_to_the_nearest_milligram(area: int, mass: int, again: int) -> None:
    from fractions import Fraction

    from stash.measuring import _mass
    from stash.tables import RemnantRow

    found = _mass(RemnantBeforeRow(area=area, mass=mass), RemnantRow(area=again, weighed=False), None)
    assert abs(Fraction(mass * again, area) - found) <= Fraction(1, 2)


def test_keepers_are_confirmed_and_put_away(workroom: Workroom) -> None:
    linen(workroom)
    for tag in ("L1", "L2"):
        scrap(workroom, tag, length=220, width=120)
    cuffs(workroom, count=2)
    done = cut_all(workroom)
    scrap(workroom, "L3")
    from stash import patterns
    from stash.jobs import NewJobPiece
    from stash.jobs import add as add_job

    patterns.add_piece(
        workroom, "shirt", patterns.NewPiece(name="yoke", ring=((0, 0), (250, 0), (250, 200), (0, 200)), allowance=0)
    )
    add_job(workroom, "yokes", [NewJobPiece(pattern="shirt", piece="yoke", count=1)])
    other = cut_all(workroom, "yokes")
    mine = tuple(keeper.tag for sheet in done.sheets for keeper in sheet.keepers)
    theirs = tuple(keeper.tag for sheet in other.sheets for keeper in sheet.keepers)
    assert tuple(each.tag for each in keepers.waiting(workroom, lay=done.lay.number)) == mine
    assert {each.tag for each in keepers.waiting(workroom)} == {*mine, *theirs}
    kept = keepers.confirm(workroom, mine, by="MB", place="Shelf C")
    assert {(each.confirmed, each.place) for each in kept} == {(True, "Shelf C")}
    assert tuple(each.tag for each in keepers.waiting(workroom)) == theirs
    with pytest.raises(WrongState, match="confirmed already"):
        keepers.confirm(workroom, [*theirs, mine[0]], by="MB")
    assert tuple(each.tag for each in keepers.waiting(workroom)) == theirs
    with pytest.raises(Unknown):
        keepers.waiting(workroom, lay=99)
    with pytest.raises(Refused, match="no keeper is named"):
        keepers.confirm(workroom, [], by="MB")
    with pytest.raises(Refused, match="initials"):
        keepers.confirm(workroom, theirs, by="")


def test_what_is_thrown_away_is_gone_and_booked_out(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    remnants.put_apart(workroom, "L1", "mould", by="MB")
    assert leaving.throw_away(workroom, "L1", by="MB", note="mould").remnant.state is RemnantState.GONE
    assert lines_of_the_last(workroom) == {(Account.BIN, -12_000_000, -21_600), (Account.OUT, 12_000_000, 21_600)}
    with pytest.raises(WrongState, match="L1 is gone"):
        leaving.throw_away(workroom, "L1", by="MB")
    with pytest.raises(Refused, match="initials"):
        leaving.throw_away(workroom, "L1", by="")


def test_what_a_lay_holds_is_not_thrown_away(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom)
    chalked(workroom)
    with pytest.raises(Held):
        leaving.throw_away(workroom, "L1", by="MB")
