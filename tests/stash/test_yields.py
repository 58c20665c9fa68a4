"""The question turned round: copies of a piece, whole sets, binding. A plain engine lays in rows."""

from __future__ import annotations

import pytest

import nesting
from nesting.hands import many_hands
from stash import Workroom, jobs, patterns, yields
from stash.words import FaultKind

from .scenes import chalked, cuffs, linen, scrap
from .test_seeking import plain_engine


@pytest.fixture(autouse=True)
def _plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", plain_engine, raising=False)


def test_copies_of_a_piece_from_each_free_remnant_of_the_right_cloth(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "grey wool", fibres={"wool": 100}, colour="grey")
    scrap(workroom, "L1", length=320, width=70, place="drawer 1")
    scrap(workroom, "L2", length=220, width=140)
    scrap(workroom, "L3", length=90, width=90)
    scrap(workroom, "W1", "grey wool")
    cuffs(workroom, count=1)
    with many_hands(1) as hands:
        rule = jobs.ClothRule(fibres=("linen",))
        found = yields.of_piece(workroom, "shirt", "cuff", rule, seconds=1, hands=hands)
        every = yields.of_piece(workroom, "shirt", "cuff", seconds=1, hands=hands)
    assert [(one.tag, one.copies, one.place) for one in found] == [("L2", 4, ""), ("L1", 3, "drawer 1")]
    assert {one.tag for one in every} == {"L1", "L2", "W1"}
    assert found[1].used == pytest.approx(3 * 6000 / (320 * 70))
    chalked(workroom)
    with many_hands(1) as hands:
        assert {one.tag for one in yields.of_piece(workroom, "shirt", "cuff", seconds=1, hands=hands)} < {"L1", "L2", "W1"}


def test_whole_sets_of_every_job_each_for_itself(workroom: Workroom) -> None:
    """Three cuffs on L1 and four on L2: seven singles, three pairs, of one lot one pair and two, and of wool none."""
    linen(workroom, "A", lot="A")
    linen(workroom, "B", lot="B")
    scrap(workroom, "L1", "A", length=320, width=70)
    scrap(workroom, "L2", "B", length=220, width=140)
    cuffs(workroom, count=1)
    pair = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=2)
    jobs.add(workroom, "pairs", [pair])
    jobs.add(workroom, "of one lot", [pair], one_lot=True)
    wool = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=2, rule=jobs.ClothRule(fibres=("wool",)))
    jobs.add(workroom, "in wool", [wool])
    with many_hands(1) as hands:
        found = yields.of_jobs(workroom, seconds=1, hands=hands)
        assert {one.job: one.sets for one in found} == {"cuffs": 7, "pairs": 3, "of one lot": 2, "in wool": 0}
        assert all(one.sets <= one.most for one in found)
        assert [one.job for one in yields.of_jobs(workroom, seconds=1, hands=hands, job="PAIRS")] == ["pairs"]


def test_a_set_needs_all_its_pieces(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=330, width=70)
    cuffs(workroom, count=1)
    patterns.add_piece(
        workroom, "shirt", patterns.NewPiece(name="yoke", ring=((0, 0), (300, 0), (300, 60), (0, 60)), drawn="cut")
    )  # type: ignore[arg-type]
    pieces = [jobs.NewJobPiece(pattern="shirt", piece=name, count=1) for name in ("cuff", "yoke")]
    jobs.add(workroom, "shirts", pieces)
    with many_hands(1) as hands:
        (found,) = yields.of_jobs(workroom, seconds=1, hands=hands, job="shirts")
    assert (found.sets, found.most) == (0, 0)  # 330 × 70 less the edges is less than 24,000 mm²


def test_binding_clear_of_edges_and_faults(workroom: Workroom) -> None:
    from stash.remnants import NewFault

    linen(workroom)
    stain = NewFault(FaultKind.STAIN, ((290, 20), (310, 20), (310, 40), (290, 40)))
    scrap(workroom, "L1", length=606, width=132)
    scrap(workroom, "L2", length=606, width=48, faults=[stain])
    scrap(workroom, "L3", length=606, width=30)
    with many_hands(1) as hands:
        found = {one.tag: one for one in yields.of_binding(workroom, 40, hands=hands)}
    assert set(found) == {"L1", "L2"}
    assert found["L1"].straight == pytest.approx(3 * 600)  # three strips of 40 and two gaps of 2 on 126 mm
    assert found["L1"].along
    assert found["L2"].straight == pytest.approx((287 - 3) + (603 - 313), abs=0.1)
    assert found["L2"].bias == 0
