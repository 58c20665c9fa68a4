"""Washing: what is expected, what a job would want washed, and the event: area to *shrunk*, mass kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash import Workroom, asking, book, cloths, jobs, lays, outlines, remnants, undoing
from stash.measuring import Measures
from stash.refusals import ChangedSince, Held, NothingQualifies, Refused, WrongState
from stash.washing import Size, change, shrunk_to, wash, worth_washing
from stash.words import Account, Event

from .scenes import cuffs, linen, rows, scrap, whole_stash

HOW = "40 °C, line dried"


def again(length: float, width: float) -> Measures:
    return Measures(outline=outlines.rectangle(length, width))


@pytest.fixture
def room(workroom: Workroom) -> Workroom:
    """Linen that is expected to shrink by 6 % and 4 %; one remnant of 1000 × 600 mm that weighs 108 g."""
    linen(workroom, shrinks_warp=6.0, shrinks_weft=4.0)
    scrap(workroom, "L1", length=1000, width=600, mass=108)
    return workroom


def totals(workroom: Workroom) -> dict[Account, tuple[int, int]]:
    return {total.account: (total.area, total.mass) for total in book.balance(workroom).totals}


def test_linen_of_1000_by_600_mm_and_108_g_as_expected_and_as_booked(room: Workroom) -> None:
    """−6 % warp, −4 % weft: 940 × 576 mm, 0.54144 m², 199.5 g/m² (the changes as ISO 5077 defines them)."""
    expected = shrunk_to(Size(1000, 600, 600_000, 108 / 0.6), -6, -4)
    assert (expected.length, expected.width, expected.area) == pytest.approx((940, 576, 541_440))
    assert round(expected.weight, 1) == 199.5
    done = wash(room, "L1", HOW, again(940, 576), by="MB")
    assert (done.remnant.length, done.remnant.width, done.remnant.area) == pytest.approx((940, 576, 541_440))
    assert (done.remnant.mass, done.remnant.washed) == (108, HOW)
    assert round(done.after.weight, 1) == 199.5
    assert done.change == pytest.approx((-6, -4))
    assert done.expected == (-6, -4)
    found = totals(room)
    assert found[Account.SHRUNK] == (5_856_000, 0)
    assert found[Account.BIN] == (54_144_000, 108_000)
    assert book.balance(room).balanced
    assert book.entries(room)[0].event is Event.WASHED


@given(before=st.floats(10, 5000), percent=st.floats(-50, 20))
def test_a_change_and_what_it_leaves_belong_together(before: float, percent: float) -> None:
    after = shrunk_to(Size(before, 100, before * 100, 200), percent, 0)
    assert change(before, after.length) == pytest.approx(percent, abs=1e-9)
    assert after.area * after.weight == pytest.approx(before * 100 * 200)


def test_cloth_that_grew_in_the_wash_comes_back_out_of_shrunk(room: Workroom) -> None:
    wash(room, "L1", HOW, again(1010, 600), by="MB")
    assert totals(room)[Account.SHRUNK] == (-600_000, 0)
    assert book.balance(room).balanced


def test_an_undone_wash_gives_the_old_measures_back(room: Workroom) -> None:
    before = remnants.get(room, "L1")
    wash(room, "L1", HOW, again(940, 576), by="MB")
    undoing.undo(room, book.entries(room)[0].number, why="it was another one", by="MB")
    after = remnants.get(room, "L1")
    assert (after.washed, after.area, after.mass, after.way, after.within) == ("", 600_000, 108, before.way, before.within)
    assert totals(room)[Account.SHRUNK] == (0, 0)


def test_a_job_that_asks_for_washed_cloth_takes_only_washed_remnants(room: Workroom) -> None:
    cuffs(room, rule=jobs.ClothRule(washed=True))
    with pytest.raises(NothingQualifies, match="not washed"):
        asking.ask(room, "cuffs")
    assert [each.tag for each in worth_washing(room, "cuffs")] == ["L1"]
    wash(room, "L1", HOW, again(940, 576), by="MB")
    assert [sheet.id for sheet in asking.ask(room, "cuffs").case.sheets] == ["L1"]
    assert worth_washing(room, "cuffs") == ()


def test_only_what_would_still_be_large_enough_is_worth_washing(room: Workroom) -> None:
    """A cuff of 100 × 60 mm and 3 mm round it takes 106 mm along the warp, which 112 mm are not once they shrink by 6 %."""
    cuffs(room, rule=jobs.ClothRule(washed=True))
    scrap(room, "L2", length=112, width=300)
    scrap(room, "L3", length=113, width=300)
    scrap(room, "L4", length=500, width=300, washed="cold")
    cloths.add(room, cloths.NewCloth(name="odd linen", fibres={"linen": 100}, weight=180))
    scrap(room, "L5", cloth="odd linen", length=112, width=300)
    found = {each.tag: each for each in worth_washing(room, "cuffs")}
    assert set(found) == {"L1", "L3", "L5"}
    assert found["L3"].expected.length == pytest.approx(106.22)
    assert (found["L1"].sure, found["L5"].sure) == (True, False)


def test_nothing_is_worth_washing_for_a_job_that_does_not_ask_for_it(room: Workroom) -> None:
    cuffs(room)
    assert worth_washing(room, "cuffs") == ()


def test_a_lay_that_was_tried_on_it_before_must_be_tried_again(room: Workroom) -> None:
    cuffs(room)
    asked = asking.ask(room, "cuffs")
    lay = lays.record(room, asked, rows(asked), by="MB")
    wash(room, "L1", HOW, again(940, 576), by="MB")
    with pytest.raises(ChangedSince):
        lays.chalk(room, lay.number, by="MB")


@pytest.mark.parametrize(
    ("how", "measures", "by", "why"),
    [
        ("", again(940, 576), "MB", "how it was washed is not said"),
        (HOW, again(940, 576), "", "needs the initials"),
        (HOW, Measures(outline=outlines.rectangle(940, 576), mass=107), "MB", "leaves the mass as it is"),
    ],
)
def test_bad_washing_changes_nothing(
    room: Workroom, stash_file: Path, how: str, measures: Measures, by: str, why: str
) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match=why):
        wash(room, "L1", how, measures, by=by)
    assert whole_stash(stash_file) == before


def test_what_a_lay_holds_and_what_is_gone_cannot_be_washed(room: Workroom) -> None:
    cuffs(room)
    asked = asking.ask(room, "cuffs")
    lays.chalk(room, lays.record(room, asked, rows(asked), by="MB").number, by="MB")
    with pytest.raises(Held):
        wash(room, "L1", HOW, again(940, 576), by="MB")
    scrap(room, "L2")
    from stash import losing

    losing.not_there(room, "L2", by="MB")
    with pytest.raises(WrongState):
        wash(room, "L2", HOW, again(390, 290), by="MB")
