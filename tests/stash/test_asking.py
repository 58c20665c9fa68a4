"""From a job to a case."""

from __future__ import annotations

from typing import Any

import pytest
from shapely import Polygon, affinity

from nesting import case_to_json, read_case
from stash import Workroom, asking, jobs, lying, patterns, remnants, settings
from stash.jobs import ClothRule, NewJobPiece
from stash.refusals import NothingQualifies, NothingToCut, Refused, Unknown
from stash.words import EdgeKind, FaultKind, Hand

from .scenes import chalked, cuffs, cut_all, linen, scrap

FLAG = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0))


def flags(workroom: Workroom, count: int = 4, **said: Any) -> None:
    """A job of one triangular piece, which has hands."""
    patterns.add(workroom, "bunting", [patterns.NewPiece(**({"name": "flag", "ring": FLAG, "allowance": 5.0} | said))])
    jobs.add(workroom, "flags", [NewJobPiece(pattern="bunting", piece="flag", count=count)])


def test_the_plain_case(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L2")
    scrap(workroom, "L1")
    cuffs(workroom, count=4, spares=1)
    asked = asking.ask(workroom, "CUFFS")
    (panel,) = asked.case.panels
    assert (asked.job, panel.id, panel.copies, panel.turns, panel.flip, panel.on) == (
        "cuffs",
        "cuff",
        5,
        (0.0, 180.0),
        False,
        None,
    )
    assert Polygon(panel.outline).bounds == (0, 0, 100, 60)
    assert panel.sound is not None
    assert Polygon(panel.sound).bounds == pytest.approx((5, 5, 95, 55))
    assert [sheet.id for sheet in asked.case.sheets] == ["L1", "L2"]
    assert (asked.case.gap, asked.case.edge) == (2, 3)
    assert asked.panels["cuff"] == asking.Meant(1, "cuff", None, 4, 1)
    assert asked.revisions == {"L1": 1, "L2": 1}
    assert asked.passed_over == ()
    assert read_case(case_to_json(asked.case)).panels[0].copies == 5


def test_margins_are_the_workrooms_unless_given(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, edges=EdgeKind.RAW)
    cuffs(workroom)
    settings.change(workroom, gap=1, edge=4, raw=9)
    asked = asking.ask(workroom, "cuffs")
    assert (asked.case.gap, asked.case.edge) == (1, 4)
    assert Polygon(asked.case.sheets[0].outline).bounds == (5, 5, 395, 295)
    given = asking.ask(workroom, "cuffs", gap=0, edge=8)
    assert (given.case.gap, given.case.edge) == (0, 8)
    assert Polygon(given.case.sheets[0].outline).bounds == (1, 1, 399, 299)


def test_only_what_is_still_needed_is_asked(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    scrap(workroom, "L2")
    cuffs(workroom, count=6)
    chalked(workroom, most={"L1": 2})
    asked = asking.ask(workroom, "cuffs")
    assert asked.case.panels[0].copies == 4
    assert [sheet.id for sheet in asked.case.sheets] == ["L2"]
    assert [(over.tag, over.reasons) for over in asked.passed_over] == [("L1", ("lay 1 holds it",))]


def test_spoiled_copies_are_asked_for_again(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, count=4)
    cut_all(workroom, spoiled=[2], uncut=[3])
    assert asking.ask(workroom, "cuffs").case.panels[0].copies == 2


def test_spares_may_be_left_aside(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, count=4, spares=3)
    assert asking.ask(workroom, "cuffs", spares=False).case.panels[0].copies == 4


def test_nothing_is_left_to_cut(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    scrap(workroom, "L2")
    cuffs(workroom, count=4, spares=2)
    chalked(workroom, most=4)
    with pytest.raises(NothingToCut, match="all panels of cuffs are cut or chalked"):
        asking.ask(workroom, "cuffs")


def test_left_and_right_of_cloth_with_two_faces_are_two_panels(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    flags(workroom, left_and_right=True)
    asked = asking.ask(workroom, "flags")
    left, right = asked.case.panels
    assert [(panel.id, panel.copies, panel.flip) for panel in (left, right)] == [
        ("flag, left", 2, False),
        ("flag, right", 2, False),
    ]
    assert affinity.scale(Polygon(left.outline), 1, -1, origin=(0, 0)).equals(Polygon(right.outline))
    assert [asked.panels[panel.id].hand for panel in (left, right)] == [Hand.LEFT, Hand.RIGHT]


def test_of_cloth_with_faces_alike_one_panel_may_be_turned_over(workroom: Workroom) -> None:
    linen(workroom, faces_alike=True)
    scrap(workroom)
    flags(workroom, left_and_right=True)
    (panel,) = asking.ask(workroom, "flags").case.panels
    assert (panel.id, panel.copies, panel.flip) == ("flag", 4, True)


def test_a_piece_of_one_hand_is_turned_over_only_where_faces_are_alike(workroom: Workroom) -> None:
    linen(workroom, faces_alike=True)
    linen(workroom, "red linen")
    scrap(workroom, "L1")
    flags(workroom)
    assert asking.ask(workroom, "flags").case.panels[0].flip
    scrap(workroom, "R1", "red linen")
    assert not asking.ask(workroom, "flags").case.panels[0].flip
    assert asking.ask(workroom, "flags", only=["L1"]).case.panels[0].flip


@pytest.mark.parametrize(
    ("ring", "one_way", "hands"),
    [
        (((0, 0), (100, 0), (100, 60), (0, 60)), True, False),
        (((0, -30), (100, -20), (100, 20), (0, 30)), True, False),
        (FLAG, False, True),
        # A parallelogram's mirror is not itself, turned or not; a kite across the grain is its own mirror only when turned.
        (((0, 0), (100, 0), (130, 60), (30, 60)), False, True),
        (((0, 0), (50, -20), (100, 0), (50, 60)), False, False),
        (((0, 0), (50, -20), (100, 0), (50, 60)), True, True),
    ],
)
def test_which_shapes_have_hands(ring: tuple[tuple[float, float], ...], one_way: bool, hands: bool) -> None:
    assert lying.has_hands(Polygon(ring), one_way=one_way) is hands


def test_one_way_pieces_are_not_turned(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    flags(workroom, one_way=True, off_grain=2.0)
    (panel,) = asking.ask(workroom, "flags").case.panels
    assert (panel.turns, panel.off_grain) == ((0.0,), 2.0)


def test_a_hidden_piece_may_lie_over_marks_but_not_over_thin_places(workroom: Workroom) -> None:
    linen(workroom)
    spot = ((50.0, 50.0), (60.0, 50.0), (60.0, 60.0))
    scrap(workroom, "L1", faults=(remnants.NewFault(FaultKind.STAIN, spot),))
    flags(workroom, hidden=True)
    assert asking.ask(workroom, "flags").case.panels[0].hidden
    scrap(workroom, "L2", faults=(remnants.NewFault(FaultKind.THIN, spot),))
    case = asking.ask(workroom, "flags").case
    assert not case.panels[0].hidden
    assert [flaw.spares for sheet in case.sheets for flaw in sheet.flaws] == [{"flag"}, set()]


def test_each_piece_has_its_own_cloths(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100})
    scrap(workroom, "L1")
    scrap(workroom, "W1", "red wool")
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
    patterns.add(workroom, "coat", [patterns.NewPiece(name=name, ring=ring) for name in ("collar", "cuff", "flap")])
    patterns.add(workroom, "cap", [patterns.NewPiece(name="cuff", ring=ring)])
    wool, silk = ClothRule(fibres=("wool",)), ClothRule(fibres=("silk",))
    pieces = [("coat", "collar", wool), ("coat", "cuff", ClothRule()), ("cap", "cuff", ClothRule()), ("coat", "flap", silk)]
    job = [NewJobPiece(pattern=pattern, piece=piece, count=1, rule=rule) for pattern, piece, rule in pieces]
    jobs.add(workroom, "coats", job)
    asked = asking.ask(workroom, "coats")
    assert [(panel.id, panel.on) for panel in asked.case.panels] == [
        ("collar", ("W1",)),
        ("cuff (2)", None),
        ("cuff (3)", None),
        ("flap", ()),
    ]
    assert {(over.tag, over.piece) for over in asked.passed_over} == {("L1", "collar"), ("L1", "flap"), ("W1", "flap")}


def test_only_and_without(workroom: Workroom) -> None:
    linen(workroom)
    for tag in ("L1", "L2", "L3"):
        scrap(workroom, tag)
    cuffs(workroom)
    assert [sheet.id for sheet in asking.ask(workroom, "cuffs", without=["l2"]).case.sheets] == ["L1", "L3"]
    assert [sheet.id for sheet in asking.ask(workroom, "cuffs", only=["l2", "L3"], without=["L3"]).case.sheets] == ["L2"]
    with pytest.raises(Unknown):
        asking.ask(workroom, "cuffs", only=["L9"])


def test_what_is_named_is_explained_whatever_became_of_it(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    cuffs(workroom, count=8)
    cutting = chalked(workroom, most=1)
    from stash import cutting as scissors

    scissors.cut(workroom, cutting.number, by="MB")
    with pytest.raises(NothingQualifies, match=r"L1 comes nearest: it is cut"):
        asking.ask(workroom, "cuffs", only=["L1"])


@pytest.mark.parametrize(
    ("tags", "rule", "why"),
    [
        ((), ClothRule(), "the bin holds nothing to cut cuffs from"),
        (("L1",), ClothRule(fibres=("silk",)), "L1 comes nearest: it is 100 % linen; nothing but silk is asked"),
    ],
)
def test_nothing_qualifies(workroom: Workroom, tags: tuple[str, ...], rule: ClothRule, why: str) -> None:
    linen(workroom)
    for tag in tags:
        scrap(workroom, tag)
    cuffs(workroom, rule=rule)
    with pytest.raises(NothingQualifies, match=why):
        asking.ask(workroom, "cuffs")


def test_margins_may_leave_nothing(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, length=400, width=70, edges=EdgeKind.SELVEDGE)
    cuffs(workroom)
    settings.change(workroom, selvedge=40)
    with pytest.raises(NothingQualifies, match="margins of its edges leave nothing"):
        asking.ask(workroom, "cuffs")


@pytest.mark.parametrize("said", [{"gap": -1}, {"edge": float("nan")}])
def test_margins_that_are_none(workroom: Workroom, said: dict[str, Any]) -> None:
    cuffs(workroom)
    with pytest.raises(Refused):
        asking.ask(workroom, "cuffs", **said)
