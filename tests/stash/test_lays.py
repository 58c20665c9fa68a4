"""Lay plans: kept, shown, chalked, rubbed out; held by one, refused to another."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from nesting import Placement, Result
from stash import Workroom, asking, cutting, finding, jobs, lays, leaving, losing, measuring, outlines, remnants
from stash.lays import Lay
from stash.refusals import ChangedSince, Held, Refused, Unknown, WrongState
from stash.words import Fate, LayState, RemnantState

from .scenes import chalked, cuffs, cut_all, linen, rows, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", place="Shelf A")
    scrap(workroom, "L2", length=250, width=150)
    cuffs(workroom, count=6, spares=2)


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def tried(workroom: Workroom, most: int | None = None) -> Lay:
    asked = asking.ask(workroom, "cuffs")
    return lays.record(workroom, asked, rows(asked, most), by="MB", note="first thought")


def test_a_lay_is_kept_and_shown_as_it_was_tried(bin_: Workroom) -> None:
    asked = asking.ask(bin_, "cuffs")
    cost = asked.case.sheets[0].cost
    result = replace(rows(asked), bound=9, cost=cost, seed=7, rounds=12, seconds=1.5)
    lay = lays.record(bin_, asked, result, by="MB", note="first thought")
    assert lays.get(bin_, lay.number) == lay
    assert (lay.number, lay.job, lay.state, lay.tried_by, lay.note) == (1, "cuffs", LayState.TRIED, "MB", "first thought")
    assert [(sheet.remnant.tag, sheet.changed) for sheet in lay.sheets] == [("L1", False)]
    assert (lay.gap, lay.edge) == (2, 3)
    assert [(count.piece, count.wanted, count.spares, count.placed, count.missing) for count in lay.counts] == [
        ("cuff", 6, 2, 8, 0)
    ]
    assert lay.complete
    assert (lay.result.bound, lay.result.cost, lay.result.seed, lay.result.rounds) == (9, cost, 7, 12)
    assert set(lay.result.placements) == set(result.placements)


def test_panels_are_numbered_along_each_sheet(bin_: Workroom) -> None:
    asked = asking.ask(bin_, "cuffs")
    spots = [("L2", 3, 3), ("L1", 200, 3), ("L1", 3, 100), ("L1", 3, 3)]
    result = Result(tuple(Placement(tag, "cuff", x, y) for tag, x, y in spots), placed=4)
    lay = lays.record(bin_, asked, result)
    laid = [(panel.number, panel.placement.sheet, panel.placement.x, panel.placement.y) for panel in lay.panels]
    assert laid == [(1, "L1", 3, 3), (2, "L1", 3, 100), (3, "L1", 200, 3), (4, "L2", 3, 3)]
    assert lay.panels[2].cut_line.equals(box(200, 3, 300, 63))
    assert lay.panels[2].sewing_line.symmetric_difference(box(205, 8, 295, 58)).area < 0.1
    assert {panel.fate for panel in lay.panels} == {Fate.PLANNED}
    assert lay.sheets[0].panel_area == pytest.approx(3 * 6000)


def test_a_turned_and_flipped_panel_is_drawn_where_it_lies() -> None:
    """Flipped across the grain, then turned counter-clockwise about (0, 0), then shifted (design, *Cases and results*)."""
    from shapely import Polygon

    from stash.plans import as_laid

    flag = ((0, 0), (100, 0), (100, 60))
    laid = as_laid(flag, Placement("s", "p", 200, 300, turn=90, flipped=True))
    assert laid.symmetric_difference(Polygon([(200, 300), (200, 400), (260, 400)])).area < 1e-9


def test_a_part_lay_says_what_is_missing(bin_: Workroom) -> None:
    lay = tried(bin_, most=2)
    assert not lay.complete
    assert [(count.placed, count.missing) for count in lay.counts] == [(4, 2)]


@pytest.mark.parametrize(
    ("placements", "why"),
    [
        ((), "holds no panel"),
        ((Placement("L1", "cuff", 0, 0),), "not legal"),
        ((Placement("L1", "cuff", 3, 3), Placement("L1", "cuff", 50, 3)), "not legal"),
        ((Placement("L1", "cuff", 3, 3, turn=90),), "not legal"),
        ((Placement("L9", "cuff", 3, 3),), "names 'L9'"),
        ((Placement("L1", "sleeve", 3, 3),), "names 'sleeve'"),
    ],
)
def test_lays_that_are_none_are_not_kept(
    bin_: Workroom, stash_file: Path, placements: tuple[Placement, ...], why: str
) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match=why):
        lays.record(bin_, asking.ask(bin_, "cuffs"), Result(placements, placed=len(placements)))
    assert whole_stash(stash_file) == before


def test_the_list_of_lays(bin_: Workroom) -> None:
    tried(bin_)
    chalked(bin_)
    lays.rub_out(bin_, 1, by="MB")
    assert [(listed.number, listed.job, listed.state, listed.placed, listed.remnants) for listed in lays.every(bin_)] == [
        (2, "cuffs", LayState.CHALKED, 8, ("L1",)),
        (1, "cuffs", LayState.RUBBED_OUT, 8, ("L1",)),
    ]
    assert [listed.number for listed in lays.every(bin_, states=(LayState.RUBBED_OUT,))] == [1]
    assert len(lays.every(bin_, job="CUFFS")) == 2
    with pytest.raises(Unknown):
        lays.every(bin_, job="collars")


@pytest.mark.parametrize("number", [0, 9, -1])
def test_an_unknown_lay(bin_: Workroom, number: int) -> None:
    with pytest.raises(Unknown, match=f"no lay {number}") as refusal:
        lays.get(bin_, number)
    assert refusal.value.next == "There is no lay yet"
    tried(bin_)
    with pytest.raises(Unknown) as refusal:
        lays.chalk(bin_, number, by="MB")
    assert refusal.value.expected == "a number from 1 to 1"


def test_only_a_chalked_lay_holds(bin_: Workroom) -> None:
    lay = tried(bin_)
    assert remnants.get(bin_, "L1").state is RemnantState.IN_BIN
    lays.chalk(bin_, lay.number, by=" AK ")
    kept = lays.get(bin_, lay.number)
    assert (kept.state, kept.chalked_by) == (LayState.CHALKED, "AK")
    assert [(listed.tag, listed.held_by) for listed in finding.find(bin_)] == [("L1", 1), ("L2", None)]
    lays.rub_out(bin_, lay.number, by="MB", note="wrong colour")
    rubbed = lays.get(bin_, lay.number)
    assert (rubbed.state, rubbed.rubbed_out_by, rubbed.note) == (LayState.RUBBED_OUT, "MB", "first thought\nwrong colour")
    assert [(listed.tag, listed.held_by) for listed in finding.find(bin_)] == [("L1", None), ("L2", None)]


def test_two_people_cannot_chalk_one_remnant(bin_: Workroom, stash_file: Path) -> None:
    first, second = tried(bin_), tried(bin_)
    lays.chalk(bin_, first.number, by="AK")
    before = whole_stash(stash_file)
    with pytest.raises(Held, match="L1 is held by lay 1, chalked by AK") as refusal:
        lays.chalk(bin_, second.number, by="MB")
    assert refusal.value.next.startswith("Ask AK to rub lay 1 out")
    assert whole_stash(stash_file) == before


def test_nobody_is_quicker_between_look_and_hold(bin_: Workroom, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a shared database: the remnant looked free, and was taken in that moment."""
    first, second = tried(bin_), tried(bin_)
    lays.chalk(bin_, first.number, by="AK")
    monkeypatch.setattr("stash.lays._must_be_free", lambda *_: None)
    with pytest.raises(Held, match="taken a moment ago"):
        lays.chalk(bin_, second.number, by="MB")


def re_measured(workroom: Workroom) -> None:
    measuring.measure_again(workroom, "L1", measuring.Measures(outline=outlines.rectangle(405, 300)), by="AK")


def gone(workroom: Workroom) -> None:
    leaving.give_away(workroom, "L1", to="the school", by="AK")


def lost(workroom: Workroom) -> None:
    losing.not_there(workroom, "L1", by="AK")


def quarantined(workroom: Workroom) -> None:
    remnants.put_apart(workroom, "L1", "mould", by="AK")


def cut_meanwhile(workroom: Workroom) -> None:
    cut_all(workroom)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (re_measured, r"L1 was measured again on \d+ March 2026, since"),
        (gone, r"L1 was given away on \d+ March 2026, since"),
        (quarantined, r"L1 is in quarantine \(mould\), since"),
        (cut_meanwhile, r"L1 was cut on \d+ March 2026 in lay 2, since"),
        (lost, "L1 cannot be found, since"),
    ],
)
def test_a_lay_on_cloth_that_changed_is_refused(bin_: Workroom, change: object, why: str) -> None:
    lay = tried(bin_)
    change(bin_)  # type: ignore[operator]
    assert lays.get(bin_, lay.number).sheets[0].changed
    with pytest.raises(ChangedSince, match=why) as refusal:
        lays.chalk(bin_, lay.number, by="MB")
    assert refusal.value.next == "Try a new lay with `fent lay try`"
    assert lays.get(bin_, lay.number).state is LayState.TRIED


def test_after_a_release_the_lay_is_as_good_as_before(bin_: Workroom) -> None:
    lay = tried(bin_)
    quarantined(bin_)
    remnants.release(bin_, "L1", by="AK")
    assert lays.chalk(bin_, lay.number, by="MB").state is LayState.CHALKED


def test_steps_from_a_wrong_state(bin_: Workroom) -> None:
    number = chalked(bin_).number
    with pytest.raises(WrongState, match="lay 1 is chalked") as refusal:
        lays.chalk(bin_, number, by="MB")
    assert refusal.value.expected == "a tried lay to chalk"
    lays.rub_out(bin_, number, by="MB")
    for step in (lays.chalk, lays.rub_out):
        with pytest.raises(WrongState, match="lay 1 is rubbed out"):
            step(bin_, number, by="MB")


@pytest.mark.parametrize("step", [lays.chalk, lays.rub_out])
def test_steps_want_initials(bin_: Workroom, step: object) -> None:
    number = tried(bin_).number
    with pytest.raises(Refused, match="needs the initials"):
        step(bin_, number, by=" ")  # type: ignore[operator]


def test_what_is_foreseen_is_what_comes(bin_: Workroom) -> None:

    lay = chalked(bin_)
    (foreseen,) = lays.foresee(bin_, lay)
    (done,) = cutting.cut(bin_, lay.number, by="MB").sheets
    assert foreseen.tag == done.tag == "L1"
    assert [keeper.area for keeper in foreseen.keepers] == pytest.approx([keeper.area for keeper in done.keepers], abs=0.02)
    assert foreseen.rag_area == pytest.approx(done.rag_area, abs=0.05)


def test_a_preview_is_the_lay_that_would_be_kept_and_keeps_nothing(bin_: Workroom, stash_file: Path) -> None:
    asked = asking.ask(bin_, "cuffs")
    before = whole_stash(stash_file)
    seen = lays.preview(bin_, asked, rows(asked))
    assert whole_stash(stash_file) == before
    kept = lays.record(bin_, asked, rows(asked))
    assert seen == replace(kept, number=0, tried_at=seen.tried_at)
    assert lays.foresee(bin_, seen) == lays.foresee(bin_, kept)
    with pytest.raises(Refused, match="holds no panel"):
        lays.preview(bin_, asked, Result())


def test_only_the_sheets_of_the_lay_are_kept_with_it(bin_: Workroom) -> None:
    from stash.tables import LayRow

    number = tried(bin_).number
    with bin_.reading() as session:
        case = session.get_one(LayRow, number).case
    assert [sheet["id"] for sheet in case["sheets"]] == ["L1"]


def test_what_is_planned_for_one_job_is_not_counted_for_another(bin_: Workroom) -> None:
    jobs.add(bin_, "more cuffs", [jobs.NewJobPiece(pattern="shirt", piece="cuff", count=3)])
    chalked(bin_)
    assert jobs.get(bin_, "more cuffs").pieces[0].chalked == 0
