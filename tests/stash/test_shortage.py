"""What a person is told of a shortage: the reason and what would do. The causes themselves are held against enumeration in
tests/nesting/test_shortfall.py; here it is looked at that the workroom's rules are put to the right question."""

from __future__ import annotations

from typing import Any

import pytest

from nesting import Cause
from stash import Workroom, asking, jobs, outlines, patterns, remnants, seeking
from stash.shortage import Shortage, shortage
from stash.terms import Terms
from stash.words import Hand, Nap, Rule

from .scenes import chalked, cuffs, linen, scrap

QUICK = seeking.Effort(rounds=3)


def short(workroom: Workroom, job: str = "cuffs", **said: Any) -> Shortage:
    terms = Terms(**said)
    asked = asking.ask(workroom, job, terms)
    result = seeking.seek(asked, QUICK).result
    return shortage(workroom, asked, result, job=job, terms=terms)


def loosened(found: Shortage) -> dict[Rule, tuple[Any, tuple[str, ...]]]:
    return {one.rule: (one.to, one.tags) for one in found.loosenings}


def test_too_little_cloth_and_which_rule_of_cloth_would_do_by_how_much(workroom: Workroom) -> None:
    """Three cuffs are missing; each of these alone would bring cloth enough in, G1 and G2 only together."""
    linen(workroom)
    scrap(workroom, "L1", length=110, width=70)
    for name, said, tags in (
        ("grey", {"colour": "grey"}, ("C1",)),
        ("heavy", {"weight": 205.0}, ("G1",)),
        ("heavier", {"weight": 215.0}, ("G2",)),
        ("far too heavy", {"weight": 400.0}, ("G3",)),
        ("half cotton", {"fibres": {"linen": 50, "cotton": 50}}, ("F1",)),
        ("grey and heavy", {"colour": "grey", "weight": 205.0}, ("X1",)),
    ):
        linen(workroom, name, **said)
        for tag in tags:
            scrap(workroom, tag, name, length=230 if tag in ("G1", "G2") else 400, width=70, washed="cold")
    scrap(workroom, "L2", length=400, width=70)
    scrap(workroom, "L3", length=400, width=70, washed="cold")
    scrap(workroom, "L4", length=400, width=70, washed="cold")
    remnants.put_apart(workroom, "L4", "moth", by="MB")
    workroom_washed(workroom, "L1")
    rule = jobs.ClothRule(fibres=("linen",), colours=("blue",), weight_to=200.0, washed=True)
    cuffs(workroom, count=4, rule=rule)
    other = jobs.NewJobPiece(pattern="shirt", piece="cuff", count=2, rule=jobs.ClothRule(washed=True, cloths=("blue linen",)))
    jobs.add(workroom, "others", [other])
    chalked(workroom, "others", {"L3": 2})
    found = short(workroom)
    assert (found.cause, found.proved, found.missing) == (Cause.LITTLE, True, {"cuff": 3})
    assert found.area == pytest.approx(110 * 70)
    assert found.needed == pytest.approx(4 * 6000)
    assert loosened(found) == {
        Rule.COLOUR: ("grey", ("C1",)),
        Rule.HEAVIEST: (215.0, ("G1", "G2")),
        Rule.FIBRE: ("50 % cotton, 50 % linen", ("F1",)),
        Rule.WASHED: ("unwashed", ("L2",)),
        Rule.HELD: (1.0, ("L3",)),
        Rule.QUARANTINE: ("moth", ("L4",)),
    }
    assert found.closing is not None
    assert found.closing.area >= 3 * 6000
    assert [len(over.reasons) for over in found.nearest] == [1] * 5


def workroom_washed(workroom: Workroom, tag: str) -> None:
    from stash.tables import RemnantRow

    with workroom.writing() as session:
        session.query(RemnantRow).filter_by(tag=tag).one().washed = "cold"


def test_large_enough_in_all_but_none_wide_enough(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=900, width=60)
    scrap(workroom, "L2", length=900, width=50)
    cuffs(workroom, count=2)
    with pytest.raises(Exception, match="no remnant in the bin will do"):
        asking.ask(workroom, "cuffs")
    from nesting import Result

    found = shortage(workroom, None, Result(), job="cuffs", terms=Terms())
    assert (found.cause, found.missing) == (Cause.SMALL, {"cuff": 2})
    assert found.area == 0
    nearest = found.too_small[0]
    assert (nearest.tag, nearest.short, nearest.narrow) == ("L1", 0.0, pytest.approx(6.0))
    assert loosened(found)[Rule.EDGE] == (0.0, ())


def test_nothing_of_that_cloth_at_all(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    cuffs(workroom, count=2, rule=jobs.ClothRule(fibres=("silk",)))
    from nesting import Result

    found = shortage(workroom, None, Result(), job="cuffs", terms=Terms())
    assert (found.cause, found.area, found.missing) == (Cause.LITTLE, 0.0, {"cuff": 2})
    assert loosened(found) == {Rule.FIBRE: ("100 % linen", ("L1",))}


@pytest.mark.parametrize("nap", [True, False])
def test_the_nap_of_the_cloth_or_the_piece_that_lies_one_way(workroom: Workroom, nap: bool) -> None:
    """Two wedges lie side by side head to foot on 170 mm; one way they take 200 and more."""
    linen(workroom, one_way=nap)
    scrap(workroom, "L1", length=206, width=170, **({"nap": Nap.ALONG} if nap else {}))
    wedge = ((0, 0), (200, 40), (200, 60), (0, 100))
    patterns.add(workroom, "cap", [patterns.NewPiece(name="wedge", ring=wedge, drawn="cut", one_way=not nap)])  # type: ignore[arg-type]
    jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="wedge", count=2)])
    found = short(workroom, "caps", gap=0.0)
    assert (found.cause, found.proved, found.missing) == (Cause.TURN, True, {"wedge": 1})
    assert found.one_way == (("cloth",) if nap else ("wedge",))
    assert found.loosenings[0].rule is Rule.TURN


def test_proved_by_the_bound_and_a_smaller_gap_would_do(workroom: Workroom) -> None:
    """Three cuffs of 100 and gaps of 5 take 310 mm; the remnant has 308 between its edges."""
    linen(workroom)
    scrap(workroom, "L1", length=314, width=120)
    cuffs(workroom, count=3)
    found = short(workroom, gap=5.0)
    assert (found.cause, found.bound) == (Cause.BOUND, 2)
    assert loosened(found)[Rule.GAP] == (2.5, ())


def test_of_left_and_right_what_is_missing_is_counted_by_piece(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=110, width=200)
    flag = ((0, 0), (100, 0), (100, 60), (0, 30))
    cuffs(workroom, count=8, left_and_right=True, ring=flag, one_way=True)
    asked = asking.ask(workroom, "cuffs")
    assert {meant.hand for meant in asked.panels.values()} == {Hand.LEFT, Hand.RIGHT}
    found = short(workroom)
    placed = seeking.seek(asked, QUICK).result.placed
    assert found.missing == {"cuff": 8 - placed}


HANDED = ((0.0, 0.0), (90.0, 0.0), (60.0, 40.0), (0.0, 40.0))
TRIANGLE = ((0.0, 0.0), (150.0, 0.0), (0.0, 90.0))
"""Its square corner takes the left hand; the right would reach over its long side, turned head to foot or not."""


def triangles(workroom: Workroom, *, alike: bool, count: int = 2) -> None:
    linen(workroom, faces_alike=alike)
    for n in range(count):
        scrap(workroom, f"T{n + 1}", outline=outlines.by_points(TRIANGLE))
    piece = patterns.NewPiece(name="gusset", ring=HANDED, allowance=4.0, drawn="cut", left_and_right=True)
    patterns.add(workroom, "bag", [piece])
    jobs.add(workroom, "bag", [jobs.NewJobPiece(pattern="bag", piece="gusset", count=2)])


def test_a_triangle_of_one_faced_cloth_holds_the_left_hand_and_not_the_right(workroom: Workroom) -> None:
    """Must show. Two such scraps for a left and a right: the face is the cause, and each scrap is named with its hand."""
    triangles(workroom, alike=False)
    found = short(workroom, "bag")
    assert (found.cause, found.missing) == (Cause.HAND, {"gusset": 1})
    assert {(one.tag, one.holds, one.lacks) for one in found.one_handed} == {
        ("T1", Hand.LEFT, Hand.RIGHT),
        ("T2", Hand.LEFT, Hand.RIGHT),
    }


def test_of_two_faced_cloth_the_triangles_hold_either_hand(workroom: Workroom) -> None:
    triangles(workroom, alike=True)
    asked = asking.ask(workroom, "bag")
    found = seeking.seek(asked, QUICK).result
    assert found.complete
    assert {placement.sheet for placement in found.placements} == {"T1", "T2"}


def test_which_hand_a_scrap_holds_is_said_whatever_the_cause(workroom: Workroom) -> None:
    triangles(workroom, alike=False, count=1)
    found = short(workroom, "bag")
    assert found.cause is not Cause.HAND
    assert [(one.tag, one.holds, one.lacks) for one in found.one_handed] == [("T1", Hand.LEFT, Hand.RIGHT)]
