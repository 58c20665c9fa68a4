"""A remnant that is not on its shelf: lost in the book, out of the lay, and the lay planned again round what is chalked."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from nesting import Placement, Result, examine
from stash import Workroom, asking, book, cutting, finding, jobs, lays, losing, proving, remnants
from stash.finding import Wanted
from stash.refusals import ChangedSince, NothingQualifies, NothingToCut, Refused, Unknown, WrongState
from stash.remnants import NewFault
from stash.words import Account, EdgeKind, Fate, FaultKind, LayState, RemnantState

from .scenes import chalked, cuffs, linen, rows, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    """Two remnants for a lay of four cuffs, two on each, and one more."""
    linen(workroom)
    scrap(workroom, "L1", length=330, width=150)
    scrap(workroom, "L2", length=330, width=150, place="Shelf B")
    scrap(workroom, "L3", length=330, width=150)
    cuffs(workroom, count=4)


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


@pytest.fixture
def lay(bin_: Workroom) -> lays.Lay:
    return chalked(bin_, most={"L1": 2, "L2": 2})


def on(asked: asking.Asked, *placed: tuple[str, str, float, float]) -> Result:
    """A lay of what was asked: what is fixed, and these."""
    placements = (*asked.case.fixed, *(Placement(*each) for each in placed))
    wanted = sum(panel.copies for panel in asked.case.panels)
    return Result(placements, placed=len(placements), complete=len(placements) == wanted)


def test_what_is_not_there_is_lost_in_the_book(bin_: Workroom) -> None:
    before = remnants.get(bin_, "L2")
    done = losing.not_there(bin_, "l2", by="MB", note="looked twice")
    assert (done.remnant.state, done.lay, done.missing, done.tried) == (RemnantState.LOST, None, 0, ())
    (entry,) = book.entries(bin_, limit=1)
    assert (entry.event, entry.by, entry.note, entry.lay) == ("lost", "MB", "looked twice", None)
    assert {(line.account, line.area, line.mass) for line in entry.lines} == {
        (Account.BIN, -round(before.area * 100), -round(before.mass * 1000)),
        (Account.LOST, round(before.area * 100), round(before.mass * 1000)),
    }
    assert [listed.tag for listed in finding.find(bin_)] == ["L1", "L3"]
    assert [listed.tag for listed in finding.find(bin_, Wanted(states=(RemnantState.LOST,)))] == ["L2"]
    assert "it is lost" in str(asking.ask(bin_, "cuffs", only=["L1", "L2"]).passed_over)


def test_found_again_it_is_back(bin_: Workroom) -> None:
    before = remnants.get(bin_, "L2")
    losing.not_there(bin_, "L2", by="MB")
    back = losing.found_again(bin_, "L2", by="AK", place="the mending")
    assert (back.state, back.place, back.area, back.mass) == (RemnantState.IN_BIN, "the mending", before.area, before.mass)
    losing.not_there(bin_, "L2", by="MB")
    assert losing.found_again(bin_, "L2", by="AK").place == "the mending"
    lost = next(total for total in book.balance(bin_).totals if total.account is Account.LOST)
    assert (lost.area, lost.mass) == (0, 0)


def test_a_lay_that_was_only_tried_is_named(bin_: Workroom) -> None:
    asked = asking.ask(bin_, "cuffs")
    tried = lays.record(bin_, asked, rows(asked, {"L1": 2, "L2": 2})).number
    assert losing.not_there(bin_, "L2", by="MB").tried == (tried,)
    with pytest.raises(ChangedSince, match="L2 cannot be found"):
        lays.chalk(bin_, tried, by="MB")
    losing.found_again(bin_, "L2", by="MB")
    assert lays.chalk(bin_, tried, by="MB").state is LayState.CHALKED


def test_a_chalked_lay_keeps_the_rest(bin_: Workroom, lay: lays.Lay) -> None:
    done = losing.not_there(bin_, "L2", by="MB")
    assert done.missing == 2
    assert done.lay is not None
    assert done.lay.state is LayState.CHALKED
    assert [(sheet.remnant.tag, sheet.dropped, sheet.changed) for sheet in done.lay.sheets] == [
        ("L1", False, False),
        ("L2", True, False),
    ]
    assert [(count.placed, count.missing) for count in done.lay.counts] == [(2, 2)]
    assert (remnants.get(bin_, "L1").held_by, remnants.get(bin_, "L2").held_by) == (lay.number, None)
    (piece,) = jobs.get(bin_, "cuffs").pieces
    assert (piece.chalked, piece.missing) == (2, 2)
    assert [foreseen.tag for foreseen in lays.foresee(bin_, done.lay)] == ["L1"]
    assert book.entries(bin_, limit=1)[0].lay == lay.number


def test_it_may_be_cut_as_it_is(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    done = cutting.cut(bin_, lay.number, by="MB", spoiled=[1])
    assert [sheet.tag for sheet in done.sheets] == ["L1"]
    assert Counter(panel.fate for panel in done.lay.panels) == {Fate.SPOILED: 1, Fate.CUT: 1, Fate.UNCUT: 2}
    assert remnants.get(bin_, "L2").state is RemnantState.LOST
    assert book.balance(bin_).balanced


def test_found_again_before_the_cut_it_is_free(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    losing.found_again(bin_, "L2", by="MB")
    cutting.cut(bin_, lay.number, by="MB")
    assert remnants.get(bin_, "L2").state is RemnantState.IN_BIN


@pytest.mark.parametrize("named", [{"spoiled": [3]}, {"uncut": [4]}])
def test_a_panel_of_what_is_not_there_cannot_be_named(bin_: Workroom, lay: lays.Lay, named: dict[str, list[int]]) -> None:
    losing.not_there(bin_, "L2", by="MB")
    with pytest.raises(Refused, match="is not there"):
        cutting.cut(bin_, lay.number, by="MB", **named)


def test_a_lay_that_has_no_other_remnant_is_rubbed_out(bin_: Workroom) -> None:
    only = chalked(bin_, most={"L1": 4})
    done = losing.not_there(bin_, "L1", by="MB")
    assert done.lay is not None
    assert (done.lay.number, done.lay.state, done.lay.note) == (only.number, LayState.RUBBED_OUT, "L1 was not there")


def test_planned_again_round_what_is_chalked(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    asked = asking.ask_round(bin_, lay.number)
    assert asked.replaces == lay.number
    assert [(p.sheet, p.panel) for p in asked.case.fixed] == [("L1", "cuff"), ("L1", "cuff")]
    assert [sheet.id for sheet in asked.case.sheets] == ["L1", "L3"]
    assert [(panel.id, panel.copies) for panel in asked.case.panels] == [("cuff", 2), ("cuff, more", 2)]
    # One more beside those that are chalked on L1, one on L3.
    again = lays.record(bin_, asked, on(asked, ("L1", "cuff, more", 3, 70), ("L3", "cuff, more", 3, 3)), by="MB")
    assert (again.complete, again.replaces, again.job) == (True, lay.number, "cuffs")
    assert proving.prove(bin_, again.number)[1].legal
    taken = lays.chalk(bin_, again.number, by="AK")
    old = lays.get(bin_, lay.number)
    assert (old.state, old.rubbed_out_by, old.replaced_by) == (LayState.RUBBED_OUT, "AK", again.number)
    assert old.note == f"planned again as lay {again.number}"
    assert {remnants.get(bin_, tag).held_by for tag in ("L1", "L3")} == {taken.number}
    (piece,) = jobs.get(bin_, "cuffs").pieces
    assert (piece.chalked, piece.missing) == (4, 0)
    assert len(cutting.cut(bin_, taken.number, by="AK").sheets) == 2


def test_the_engine_lays_round_what_is_chalked(bin_: Workroom, lay: lays.Lay) -> None:
    from nesting import solve

    losing.not_there(bin_, "L2", by="MB")
    asked = asking.ask_round(bin_, lay.number)
    result = solve(asked.case, seconds=5, rounds=2)
    assert set(asked.case.fixed) <= set(result.placements)
    assert result.placed == 4
    assert lays.record(bin_, asked, result).complete


def test_it_may_be_planned_again_more_than_once(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    asked = asking.ask_round(bin_, lay.number)
    again = lays.record(bin_, asked, on(asked, ("L3", "cuff, more", 3, 3), ("L3", "cuff, more", 110, 3)))
    lays.chalk(bin_, again.number, by="MB")
    scrap(bin_, "L4", length=330, width=150)
    losing.not_there(bin_, "L1", by="MB")
    third = asking.ask_round(bin_, again.number)
    assert [(p.sheet, p.panel) for p in third.case.fixed] == [("L3", "cuff, more")] * 2
    assert [(panel.id, panel.copies) for panel in third.case.panels] == [("cuff, more", 2), ("cuff", 2)]


def test_flaws_on_a_chalked_remnant_are_put_to_the_panels_that_come_in(workroom: Workroom) -> None:
    """A stain on the wrong face spares what is chalked, and what comes in beside it too."""
    linen(workroom)
    spot = NewFault(FaultKind.STAIN, ((20, 20), (40, 20), (40, 40)), "wrong")  # type: ignore[arg-type]
    scrap(workroom, "L1", length=330, width=150, faults=(spot,))
    scrap(workroom, "L2", length=330, width=150)
    cuffs(workroom, count=2)
    asked = asking.ask(workroom, "cuffs")
    first = lays.record(workroom, asked, on(asked, ("L1", "cuff", 3, 3), ("L2", "cuff", 3, 3)))
    lays.chalk(workroom, first.number, by="MB")
    losing.not_there(workroom, "L2", by="MB")
    (sheet,) = asking.ask_round(workroom, first.number).case.sheets
    assert sheet.flaws[0].spares == {"cuff", "cuff, more"}


def test_what_was_legal_is_legal_again_whatever_the_margins_now(workroom: Workroom) -> None:
    from stash import settings

    linen(workroom)
    for tag in ("L1", "L2", "L3"):
        scrap(workroom, tag, length=350, width=150, edges=EdgeKind.SELVEDGE)
    cuffs(workroom, count=4)
    lay = chalked(workroom, most={"L1": 2, "L2": 2})
    losing.not_there(workroom, "L2", by="MB")
    settings.change(workroom, edge=9, raw=20, selvedge=12, gap=11)
    asked = asking.ask_round(workroom, lay.number)
    assert (asked.case.gap, asked.case.edge) == (lay.gap, lay.edge)
    assert examine(asked.case, on(asked)).legal


def test_while_it_is_planned_again_the_old_lay_may_not_lose_more(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    asked = asking.ask_round(bin_, lay.number)
    again = lays.record(bin_, asked, on(asked, ("L3", "cuff, more", 3, 3)))
    losing.not_there(bin_, "L1", by="MB")
    with pytest.raises(ChangedSince, match="L1 cannot be found"):
        lays.chalk(bin_, again.number, by="MB")
    assert lays.get(bin_, again.number).state is LayState.TRIED


def test_a_replaced_lay_that_was_cut_meanwhile_is_not_cut_again(bin_: Workroom, lay: lays.Lay) -> None:
    losing.not_there(bin_, "L2", by="MB")
    asked = asking.ask_round(bin_, lay.number)
    again = lays.record(bin_, asked, on(asked, ("L3", "cuff, more", 3, 3)))
    cutting.cut(bin_, lay.number, by="MB")
    with pytest.raises(ChangedSince, match="L1 was cut"):
        lays.chalk(bin_, again.number, by="MB")


def test_what_cannot_be_planned_again(bin_: Workroom, lay: lays.Lay) -> None:
    with pytest.raises(NothingToCut):
        asking.ask_round(bin_, lay.number)
    with pytest.raises(Unknown, match="no lay 9"):
        asking.ask_round(bin_, 9)
    lays.rub_out(bin_, lay.number, by="MB")
    with pytest.raises(WrongState, match="rubbed out"):
        asking.ask_round(bin_, lay.number)


def test_where_nothing_is_left_that_will_do(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=330, width=150)
    scrap(workroom, "L2", length=330, width=150)
    cuffs(workroom, count=4)
    lay = chalked(workroom, most={"L1": 2, "L2": 2})
    losing.not_there(workroom, "L2", by="MB")
    remnants.put_apart(workroom, "L1", "moth", by="MB")
    with pytest.raises(NothingQualifies):
        asking.ask_round(workroom, lay.number)


@pytest.mark.parametrize(
    ("tag", "by", "kind", "why"),
    [("L9", "MB", Unknown, "no remnant"), ("L1", " ", Refused, "initials"), ("L1", "x" * 41, Refused, "initials")],
)
def test_what_is_refused_changes_nothing(
    bin_: Workroom, stash_file: Path, tag: str, by: str, kind: type[Refused], why: str
) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        losing.not_there(bin_, tag, by=by)
    with pytest.raises(kind, match=why):
        losing.found_again(bin_, tag, by=by)
    assert whole_stash(stash_file) == before


def test_only_what_should_be_there_can_be_lost_and_only_what_is_lost_found(bin_: Workroom) -> None:
    with pytest.raises(WrongState, match="L1 is in the bin"):
        losing.found_again(bin_, "L1", by="MB")
    losing.not_there(bin_, "L1", by="MB")
    with pytest.raises(WrongState, match="L1 is lost"):
        losing.not_there(bin_, "L1", by="MB")
