"""What goes to the cutting table: marks on the panels as they lie, the tags to come, the list to pull by."""

from __future__ import annotations

import math
from typing import Any

import pytest
from shapely import Point

import nesting
from nesting import Placement, Result, marks_of
from stash import Workroom, asking, cutting, dockets, jobs, lays, ordering, outlines, patterns
from stash.refusals import WrongState
from stash.words import EdgeKind

from .scenes import chalked, cuffs, linen, rows, scrap

CUFF = ((0, 0), (100, 0), (100, 40), (60, 60), (0, 60))  # no two of its hands, nor head and foot, are alike


@pytest.fixture(autouse=True)
def no_other_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is laid anew: the order of cutting has tests of its own."""
    monkeypatch.setattr(nesting, "solve", lambda case, **_: Result((), 0), raising=False)


def pairs(workroom: Workroom, **said: Any) -> None:
    linen(workroom)
    patterns.add(
        workroom,
        "shirt",
        [
            patterns.NewPiece(
                name="cuff",
                ring=CUFF,
                allowance=5.0,
                drawn="cut",  # type: ignore[arg-type]
                left_and_right=True,
                notches=(patterns.Notch("side 1", 30.0), patterns.Notch("side 3", 10.0, 2)),
            )
        ],
    )
    jobs.add(workroom, "cuffs", [jobs.NewJobPiece(pattern="shirt", piece="cuff", count=4)])
    scrap(workroom, **said)


def turned(workroom: Workroom) -> lays.Lay:
    """A lay with both hands, as drawn and head to foot."""
    asked = asking.ask(workroom, "cuffs")
    ids = [panel.id for panel in asked.case.panels]
    placements = [
        Placement("L1", panel, x, y, turn)
        for panel, (x, y, turn) in zip(
            [ids[0], ids[0], ids[1], ids[1]],
            [(20, 20, 0.0), (240, 120, 180.0), (20, 250, 0.0), (380, 200, 180.0)],
            strict=True,
        )
    ]
    return lays.record(workroom, asked, Result(tuple(placements), 4, complete=True), by="MB")


def test_the_marks_of_a_piece_lie_on_each_copy_in_the_same_corner(workroom: Workroom) -> None:
    pairs(workroom)
    lay = turned(workroom)
    _, (docket,) = dockets.docket(workroom, lay.number)
    piece = patterns.piece(workroom, "shirt", "cuff")
    corners = {mark.letter: mark.at for mark in marks_of(piece.cut_line, small=True)}
    assert len(corners) == 5
    assert {each.panel.hand for each in docket.panels} == {"left", "right"}
    for each in docket.panels:
        there = {mark.letter: mark.at for mark in each.marks}
        assert each.piece == piece
        assert all(each.panel.cut_line.exterior.distance(Point(at)) < 1e-6 for at in there.values())
        for one in corners:
            for other in corners:  # the same template, as it is or turned over, fits on them
                assert math.dist(there[one], there[other]) == pytest.approx(math.dist(corners[one], corners[other]))
        swept = [there[letter] for letter in "abc"]
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(swept, swept[1:] + swept[:1], strict=True))
        assert (area > 0) == (each.panel.hand == "left")


def test_notches_lie_across_the_allowance_of_their_edge(workroom: Workroom) -> None:
    pairs(workroom)
    _, (docket,) = dockets.docket(workroom, turned(workroom).number)
    for each in docket.panels:
        assert len(each.notches) == 3
        for foot, tip in each.notches:
            assert each.panel.sewing_line.exterior.distance(Point(foot)) < 0.01
            assert each.panel.cut_line.exterior.distance(Point(tip)) < 0.01


def test_the_chalk_measures_are_those_of_the_outline_and_the_panel(workroom: Workroom) -> None:
    pairs(workroom, edges=(EdgeKind.RAW, EdgeKind.CUT, EdgeKind.SELVEDGE, EdgeKind.CUT))
    lay, ((sheet, panels),) = dockets.measures(workroom, turned(workroom).number)
    corners = {mark.letter: mark.at for mark in marks_of(sheet.remnant.outline)}
    assert lay.number == 1
    for each in panels:
        measure, there = each.measure, {mark.letter: mark.at for mark in each.marks}
        assert corners[measure.start.letter] == measure.start.at
        assert measure.start.at[1] > 1  # not from the raw edge, which is the near one
        if measure.by == "ties":
            for told in measure.points:
                assert told.first == pytest.approx(math.dist(there[told.letter], corners[measure.start.letter]))
                assert told.second == pytest.approx(math.dist(there[told.letter], corners[measure.end.letter]))


def test_keepers_have_the_tags_that_the_cut_gives_them(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=900, width=300)
    cuffs(workroom, 4)
    lay = chalked(workroom)
    _, (docket,) = dockets.docket(workroom, lay.number)
    assert docket.keepers
    assert 0 < docket.used < 1
    done = cutting.cut(workroom, lay.number, by="MB")
    assert [(k.tag, round(k.shape.area)) for k in docket.keepers] == [(k.tag, round(k.area)) for k in done.sheets[0].keepers]


def test_two_diagonals_prove_an_outline(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=400, width=300)
    cuffs(workroom, 2)
    _, (docket,) = dockets.docket(workroom, chalked(workroom).number)
    assert {(p.start.letter, p.end.letter) for p in docket.proofs} == {("A", "C"), ("B", "D")}
    assert [proof.distance for proof in docket.proofs] == pytest.approx([500, 500])


def test_a_triangle_is_proved_by_two_sides(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", outline=outlines.by_points(((0, 0), (700, 0), (0, 500))))
    cuffs(workroom, 2)
    _, (docket,) = dockets.docket(workroom, chalked(workroom).number)
    assert len(docket.proofs) == 2
    assert docket.proofs[0] != docket.proofs[1]


def test_a_piece_that_has_changed_is_marked_as_it_lies(workroom: Workroom, monkeypatch: pytest.MonkeyPatch) -> None:
    pairs(workroom)
    lay = turned(workroom)
    monkeypatch.setattr(dockets, "_pieces", lambda *_: [])
    _, ((_, panels),) = dockets.measures(workroom, lay.number)
    assert all(each.piece is None and not each.notches for each in panels)
    assert all(len(each.marks) == 5 for each in panels)


def test_remnants_are_pulled_place_by_place(workroom: Workroom) -> None:
    linen(workroom)
    for tag, place in (("L1", "drawer 10"), ("L2", ""), ("L3", "Drawer 2"), ("L4", "bag"), ("L10", "bag")):
        scrap(workroom, tag, length=120, width=80, place=place)
    cuffs(workroom, 5)
    asked = asking.ask(workroom, "cuffs")
    lay = lays.record(workroom, asked, rows(asked), by="MB")
    found = dockets.to_pull(workroom, [lay.number, lay.number])
    assert [each.sheet.remnant.tag for each in found] == ["L4", "L10", "L3", "L1", "L2"]


@pytest.mark.parametrize("verb", [dockets.docket, dockets.measures, lambda w, n: dockets.to_pull(w, [n]), ordering.order])
def test_a_lay_that_is_over_has_none(workroom: Workroom, verb: Any) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, 2)
    lay = chalked(workroom)
    lays.rub_out(workroom, lay.number, by="MB")
    with pytest.raises(WrongState, match="rubbed out"):
        verb(workroom, lay.number)
