"""What is sought beyond the most panels: spares that open nothing, one lot, pairs, remnants that must be used, what is fixed.

The engine is a plain one that lays in rows (`scenes.rows`), so that what is tested is what is asked of it.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import nesting
from nesting import Case, Placement, Result, examine, sheet_cost
from stash import CannotBeDone, Refused, Workroom, asking, jobs, lays, pairing, seeking
from stash.asking import Asked
from stash.terms import AsInLay, ByHand
from stash.words import Aim, FaultKind, Hand

from .scenes import cuffs, linen, rows, scrap

EFFORT = seeking.Effort(seconds=1.0)


def plain_engine(case: Case, **more: Any) -> Result:
    """Rows, on the cheapest sheets first, beside what is fixed."""
    order = sorted(case.sheets, key=lambda sheet: sheet_cost(sheet))
    left = {panel.id: panel.copies for panel in case.panels}
    for placement in case.fixed:
        left[placement.panel] -= 1
    free = [sheet for sheet in order if all(p.sheet != sheet.id for p in case.fixed)]
    more_panels = tuple(nesting_replace(panel, copies=left[panel.id]) for panel in case.panels if left[panel.id])
    asked = Asked("", nesting_replace(case, panels=more_panels, sheets=tuple(free), fixed=()), {}, {}, ())
    found = rows(asked) if more_panels and free else Result()
    placements = (*case.fixed, *found.placements)
    touched = {placement.sheet for placement in placements}
    wanted = sum(panel.copies for panel in case.panels)
    cost = sum(sheet_cost(sheet) for sheet in case.sheets if sheet.id in touched)
    return Result(placements, len(placements), complete=len(placements) == wanted, cost=cost)


def nesting_replace(what: Any, **said: Any) -> Any:
    from dataclasses import replace

    return replace(what, **said)


@pytest.fixture(autouse=True)
def _plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", plain_engine, raising=False)


def tags(result: Result) -> dict[str, int]:
    return dict(Counter(placement.sheet for placement in result.placements))


def sound(asked: Asked, result: Result) -> Result:
    assert not examine(asked.case, result).faults
    return result


def test_spares_are_cut_only_where_they_open_no_further_remnant(workroom: Workroom) -> None:
    """L1 holds three cuffs in a row; two are needed and four more are welcome."""
    linen(workroom)
    scrap(workroom, "L1", length=320, width=70)
    scrap(workroom, "L2", length=320, width=70)
    cuffs(workroom, count=2, spares=4)
    asked = asking.ask(workroom, "cuffs")
    found = sound(asked, seeking.seek(asked, EFFORT).result)
    # The plain engine lays nothing on a sheet with something fixed, so no spare is laid; and none opens the other remnant.
    assert len(tags(found)) == 1
    lay = lays.record(workroom, asked, found)
    assert lay.complete


@pytest.mark.usefixtures("real_engine")
def test_spares_go_beside_what_is_needed(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=320, width=70)
    scrap(workroom, "L2", length=320, width=70)
    cuffs(workroom, count=2, spares=4)
    asked = asking.ask(workroom, "cuffs")
    found = sound(asked, seeking.seek(asked, seeking.Effort(rounds=3)).result)
    assert list(tags(found).values()) == [3]
    assert not found.complete  # not all that would be welcome,
    assert lays.record(workroom, asked, found).complete  # but all that is needed


@pytest.fixture
def real_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    from nesting.solving import solve

    monkeypatch.setattr(nesting, "solve", solve)


def two_lots(workroom: Workroom) -> None:
    """Four cuffs go on A1 and A2 together or on B1 alone; one on A1 and three on C1 would cost less by their area."""
    linen(workroom, "blue A", lot="A")
    linen(workroom, "blue B", lot="B")
    scrap(workroom, "A1", "blue A", length=220, width=70)
    scrap(workroom, "A2", "blue A", length=220, width=70)
    scrap(workroom, "B1", "blue B", length=600, width=90)


def test_a_seen_set_is_of_one_lot_from_the_fewest_remnants(workroom: Workroom) -> None:
    two_lots(workroom)
    cuffs(workroom, count=4)
    asked = asking.ask(workroom, "cuffs")
    assert asked.aim is Aim.MATCHING
    assert asked.seen == {"cuff"}
    found = seeking.seek(asked, EFFORT)
    assert tags(sound(asked, found.result)) == {"B1": 4}
    assert found.lots == 1


def test_of_two_lays_alike_the_one_sought_for_longer_is_kept(workroom: Workroom, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is settled: what it leaves is more useful, though it holds no more."""

    def marked(case: Case, *, seconds: float, **more: Any) -> Result:
        return nesting_replace(plain_engine(case), seconds=seconds)

    monkeypatch.setattr(nesting, "solve", marked, raising=False)
    two_lots(workroom)
    cuffs(workroom, count=4)
    assert seeking.seek(asking.ask(workroom, "cuffs"), EFFORT).result.seconds > 0


def test_lots_are_mixed_only_where_none_alone_yields_all_and_the_job_does_not_forbid_it(workroom: Workroom) -> None:
    two_lots(workroom)
    cuffs(workroom, count=8)
    asked = asking.ask(workroom, "cuffs")
    found = seeking.seek(asked, EFFORT)
    assert (found.result.placed, found.lots) == (8, 2)
    piece = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=8)
    jobs.add(workroom, "matched", [piece], one_lot=True)
    asked = asking.ask(workroom, "matched")
    found = seeking.seek(asked, EFFORT)
    assert tags(sound(asked, found.result)) == {"B1": 5}
    assert found.lots == 1
    assert found.result.bound is None  # of one lot nothing is proved for the bin


def test_hidden_pieces_come_from_small_remnants_first(workroom: Workroom) -> None:
    two_lots(workroom)
    cuffs(workroom, count=4, hidden=True)
    asked = asking.ask(workroom, "cuffs")
    assert (asked.aim, asked.seen) == (Aim.SMALL_FIRST, frozenset())
    assert set(tags(seeking.seek(asked, EFFORT).result)) == {"A1", "A2"}


def test_a_job_may_say_that_a_piece_is_hidden(workroom: Workroom) -> None:
    two_lots(workroom)
    cuffs(workroom, count=4)
    scrap(workroom, "A9", "blue A", faults=[lays_stain()])
    jobs.add(workroom, "lining", [jobs.NewJobPiece(pattern="shirt", piece="cuff", count=4, hidden=True)])
    assert asking.ask(workroom, "lining").seen == frozenset()
    sheet = next(s for s in asking.ask(workroom, "lining").case.sheets if s.id == "A9")
    assert sheet.flaws[0].spares == {"cuff"}


def lays_stain() -> Any:
    from stash.remnants import NewFault

    return NewFault(FaultKind.STAIN, ((10, 10), (40, 10), (40, 40), (10, 40)))


def test_by_age_and_by_number(workroom: Workroom) -> None:
    from datetime import date

    linen(workroom)
    scrap(workroom, "OLD", length=220, width=150, came_on=date(2020, 1, 1))
    scrap(workroom, "NEW1", length=110, width=70)
    scrap(workroom, "NEW2", length=110, width=70)
    cuffs(workroom, count=2)
    oldest = asking.ask(workroom, "cuffs", aim=Aim.OLDEST_FIRST)
    assert set(tags(seeking.seek(oldest, EFFORT).result)) == {"OLD"}
    small = asking.by_aim(oldest, Aim.SMALL_FIRST)
    assert set(tags(seeking.seek(small, EFFORT).result)) == {"NEW1", "NEW2"}


def test_a_remnant_that_must_be_used_is(workroom: Workroom) -> None:
    two_lots(workroom)
    cuffs(workroom, count=4)
    asked = asking.ask(workroom, "cuffs", must=("a2",), aim=Aim.LEAST_LOST)
    found = sound(asked, seeking.seek(asked, EFFORT).result)
    assert "A2" in tags(found)
    assert found.least_cost is None
    scrap(workroom, "A7", "blue A", length=90, width=70)
    with pytest.raises(CannotBeDone, match="A7 must be used, and will not do"):
        asking.ask(workroom, "cuffs", must=["A7"])
    with pytest.raises(Refused, match="must be used and must not"):
        asking.ask(workroom, "cuffs", must=["A1"], without=["A1"])


def test_what_is_fixed_by_hand_stays_and_is_completed(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=400, width=300)
    scrap(workroom, "L2", length=400, width=300)
    cuffs(workroom, count=3)
    asked = asking.ask(workroom, "cuffs", fixed=(ByHand(piece="Cuff", tag="l2", left=50, near=40, head_to_foot=True),))
    assert asked.case.fixed == (Placement("L2", "cuff", 150, 100, 180.0),)
    found = sound(asked, seeking.seek(asked, EFFORT).result)
    assert asked.case.fixed[0] in found.placements
    assert found.placed == 3
    lay = lays.record(workroom, asked, found)
    again = asking.ask(workroom, "cuffs", fixed=[AsInLay(lay.number, (3,))])
    assert again.case.fixed == (lay.panels[2].placement,)


def test_what_is_fixed_is_met_to_what_a_tape_shows(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=400, width=300)
    cuffs(workroom, count=3)
    first, second = ByHand(piece="cuff", tag="L1", left=3, near=3), ByHand(piece="cuff", tag="L1", left=3, near=40)
    with pytest.raises(Refused, match=r"two of cuff on L1 overlap by .* cm²") as refused:
        asking.ask(workroom, "cuffs", fixed=(first, second))
    told = re.search(r"nearest place for cuff is ([\d.]+) mm from the left and ([\d.]+) mm from", refused.value.next)
    assert told is not None
    left, near = float(told[1]), float(told[2])
    asked = asking.ask(workroom, "cuffs", fixed=(first, replace(second, left=left, near=near - 0.5)))
    assert asked.case.fixed[1].y - asked.case.fixed[0].y == pytest.approx(near - 3, abs=0.1)


@pytest.mark.parametrize(
    ("fixed", "why"),
    [
        (ByHand(piece="sleeve", tag="L1", left=5, near=5), "needs no 'sleeve'"),
        (ByHand(piece="cuff", tag="L9", left=5, near=5), "L9 will not do"),
        (ByHand(piece="cuff", tag="L1", left=390, near=5), "cannot lie so: cuff on L1 sticks out"),
        (AsInLay(7), "no lay 7"),
    ],
)
def test_what_cannot_be_fixed_so_is_refused(workroom: Workroom, fixed: ByHand | AsInLay, why: str) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    cuffs(workroom, count=3)
    with pytest.raises(Refused, match=why):
        asking.ask(workroom, "cuffs", fixed=(fixed,))


@pytest.mark.usefixtures("real_engine")
@pytest.mark.parametrize("alike", [True, False])
def test_each_pair_comes_from_one_remnant(workroom: Workroom, alike: bool) -> None:
    """L1 and L2 hold three cuffs each; two pairs go on them only as two and two, and would else be three and one."""
    linen(workroom, faces_alike=alike)
    scrap(workroom, "L1", length=320, width=70)
    scrap(workroom, "L2", length=320, width=70)
    flag = ((0, 0), (100, 0), (100, 60), (0, 30))
    cuffs(workroom, count=4, left_and_right=True, ring=flag, one_way=True)
    piece = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=4)
    jobs.add(workroom, "paired", [piece], pairs_together=True)
    asked = asking.ask(workroom, "paired")
    assert len(asked.pairs) == 1
    found = sound(asked, seeking.seek(asked, seeking.Effort(rounds=2)).result)
    assert found.placed == 4
    hands: Counter[tuple[str, Hand | None]] = Counter((p.sheet, asked.panels[p.panel].hand) for p in found.placements)
    if alike:
        assert {tag: n % 2 for (tag, _), n in hands.items()} == dict.fromkeys(tags(found), 0)
    else:
        assert all(hands[tag, Hand.LEFT] == hands[tag, Hand.RIGHT] for tag in tags(found))


@pytest.mark.usefixtures("real_engine")
@pytest.mark.parametrize(("length", "laid"), [(430, 4), (330, 2)])
def test_spares_of_pairs_are_cut_two_by_two(workroom: Workroom, length: int, laid: int) -> None:
    """A pair is needed and another is welcome, on a remnant for two pairs and on one for a pair and one more cuff."""
    linen(workroom, faces_alike=False)
    scrap(workroom, "L1", length=length, width=70)
    cuffs(workroom, count=2, left_and_right=True, ring=((0, 0), (100, 0), (100, 60), (0, 30)), one_way=True)
    piece = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=2, spares=2)
    jobs.add(workroom, "paired", [piece], pairs_together=True)
    asked = asking.ask(workroom, "paired")
    found = sound(asked, seeking.seek(asked, seeking.Effort(rounds=1)).result)
    assert Counter(asked.panels[p.panel].hand for p in found.placements) == dict.fromkeys(Hand, laid // 2)


def test_of_one_hand_alone_there_are_no_pairs(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    scrap(workroom, "L1", length=330, width=130)
    cuffs(workroom, count=2, left_and_right=True, ring=((0, 0), (100, 0), (100, 60), (0, 30)), one_way=True)
    jobs.add(workroom, "paired", [jobs.NewJobPiece(pattern="shirt", piece="cuff", count=2)], pairs_together=True)
    asked = asking.ask(workroom, "paired")
    assert [len(ids) for ids in asked.pairs] == [2]
    (left,) = (panel.id for panel in asked.case.panels if asked.panels[panel.id].hand is Hand.LEFT)
    lay = lays.record(workroom, asked, Result((Placement("L1", left, 10, 10),), 1))
    lays.chalk(workroom, lay.number, by="MB")
    scrap(workroom, "L2", length=330, width=130)
    asked = asking.ask(workroom, "paired", only=["L2"])
    assert {meant.hand for meant in asked.panels.values()} == {Hand.RIGHT}
    assert asked.pairs == ()


@pytest.mark.usefixtures("real_engine")
def test_what_is_fixed_gets_its_other_hand_beside_it(workroom: Workroom) -> None:
    """All of the one hand fixed already, and one of the other: there are fewer pairs to find than copies."""
    linen(workroom, faces_alike=False)
    scrap(workroom, "L1", length=330, width=130)
    scrap(workroom, "L2", length=330, width=130)
    cuffs(workroom, count=4, left_and_right=True, ring=((0, 0), (100, 0), (100, 60), (0, 30)), one_way=True)
    jobs.add(workroom, "paired", [jobs.NewJobPiece(pattern="shirt", piece="cuff", count=4)], pairs_together=True)
    hands = ((Hand.LEFT, "L1", 5), (Hand.LEFT, "L2", 5), (Hand.RIGHT, "L2", 110))
    fixed = tuple(ByHand(piece="cuff", hand=hand, tag=tag, left=left, near=5) for hand, tag, left in hands)
    asked = asking.ask(workroom, "paired", fixed=fixed)
    found = sound(asked, seeking.seek(asked, seeking.Effort(rounds=1)).result)
    laid = Counter((p.sheet, asked.panels[p.panel].hand) for p in found.placements)
    assert laid == {(tag, hand): 1 for tag in ("L1", "L2") for hand in (Hand.LEFT, Hand.RIGHT)}


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(1, 9)), min_size=1, max_size=5), st.integers(0, 8))
def test_the_cheapest_remnants_for_pairs_are_the_cheapest_of_all_choices(offered: list[tuple[int, int]], wanted: int) -> None:
    holds = {str(n): most for n, (most, _) in enumerate(offered)}
    cost = {str(n): float(price) for n, (_, price) in enumerate(offered)}
    found = pairing.cheapest(holds, cost, wanted)
    reachable = min(wanted, sum(holds.values()))
    assert sum(found.values()) == reachable
    assert all(0 < n <= holds[tag] for tag, n in found.items())
    choices = ({str(n) for n, taken in enumerate(which) if taken} for which in product([False, True], repeat=len(offered)))
    least = min(sum(cost[tag] for tag in choice) for choice in choices if sum(holds[tag] for tag in choice) >= reachable)
    assert sum(cost[tag] for tag in found) <= least + 1e-9
