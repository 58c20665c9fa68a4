"""What goes to the cutting table: marks on the panels as they lie, the tags to come, the list to pull by."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from shapely import Point

import nesting
from nesting import Lie, Placement, Ply, Result, in_stack, marks_of, on_ply
from stash import Workroom, asking, cutting, dockets, jobs, lay_drawings, lays, ordering, outlines, patterns, remnants
from stash.plies import CopyPlan, PlyPlan, StackPlan
from stash.refusals import WrongState
from stash.words import FaultKind

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


@pytest.mark.slow
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


@pytest.mark.slow
def test_notches_lie_across_the_allowance_of_their_edge(workroom: Workroom) -> None:
    pairs(workroom)
    _, (docket,) = dockets.docket(workroom, turned(workroom).number)
    for each in docket.panels:
        assert len(each.notches) == 3
        for foot, tip in each.notches:
            assert each.panel.sewing_line.exterior.distance(Point(foot)) < 0.01
            assert each.panel.cut_line.exterior.distance(Point(tip)) < 0.01


def test_the_chalk_measures_are_those_of_the_outline_and_the_panel(workroom: Workroom) -> None:
    pairs(workroom)
    lay, ((sheet, panels),) = dockets.measures(workroom, turned(workroom).number)
    corners = {mark.letter: mark.at for mark in marks_of(sheet.remnant.outline)}
    assert lay.number == 1
    for each in panels:
        measure, there = each.measure, {mark.letter: mark.at for mark in each.marks}
        assert corners[measure.start.letter] == measure.start.at
        assert corners[measure.end.letter] == measure.end.at
        if measure.by == "ties":
            for told in measure.points:
                assert told.first == pytest.approx(math.dist(there[told.letter], corners[measure.start.letter]))
                assert told.second == pytest.approx(math.dist(there[told.letter], corners[measure.end.letter]))


@pytest.mark.slow
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


@pytest.mark.slow
def test_a_triangle_is_proved_by_two_sides(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", outline=outlines.by_points(((0, 0), (700, 0), (0, 500))))
    cuffs(workroom, 2)
    _, (docket,) = dockets.docket(workroom, chalked(workroom).number)
    assert len(docket.proofs) == 2
    assert docket.proofs[0] != docket.proofs[1]


@pytest.mark.slow
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


@pytest.mark.slow
def test_a_lay_that_is_over_has_none(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom, 2)
    lay = chalked(workroom)
    lays.rub_out(workroom, lay.number, by="MB")
    for verb in (dockets.docket, dockets.measures, lambda w, n: dockets.to_pull(w, [n]), ordering.order):
        with pytest.raises(WrongState, match="rubbed out"):
            verb(workroom, lay.number)  # type: ignore[operator]


def stacked(workroom: Workroom) -> lays.Lay:
    """Two tracings through two plies, the lower one turned over, of cloth with two faces alike."""
    linen(workroom, faces_alike=True)
    scrap(workroom, "N-1", length=300, width=150, place="drawer 1")
    stain = remnants.NewFault(FaultKind.STAIN, ((120, 5), (140, 5), (140, 25), (120, 25)))
    scrap(workroom, "N-2", length=310, width=160, place="drawer 1", faults=(stain,))
    cuffs(workroom, 4, ring=CUFF)
    asked = asking.ask(workroom, "cuffs")
    (panel,) = asked.case.panels
    plies = (PlyPlan("N-1", Lie()), PlyPlan("N-2", Lie(y=155.0, flipped=True)))
    sheets = {sheet.id: sheet for sheet in asked.case.sheets}
    tracings = []
    for x, turn in ((10.0, 0.0), (250.0, 180.0)):
        traced = Placement("", panel.id, x, 20.0 if not turn else 100.0, turn)
        copies = (on_ply(traced, Ply(sheets[ply.tag], ply.lie)) for ply in plies)
        tracings.append(tuple(CopyPlan(n, copy) for n, copy in enumerate(copies, 1)))
    placed = tuple(copy.placement for n in (0, 1) for copy in (tracing[n] for tracing in tracings))
    plan = replace(asked, stacks=(StackPlan(plies, tuple(tracings)),))
    return lays.record(workroom, plan, Result(placed, 4, complete=True), by="MB")


def test_a_stack_has_a_docket_of_its_own_on_which_it_is_chalked(workroom: Workroom) -> None:
    lay = stacked(workroom)
    _, (stack, *rest) = dockets.docket(workroom, lay.number)
    assert stack.stack is not None
    assert [each.panel.number for each in stack.panels] == [1, 2]  # tracings
    assert [one.in_stack for one in rest] == [1, 1]
    assert stack.sheet.remnant.tag == "N-1"
    assert stack.under[0].bounds == pytest.approx((0, -5, 310, 155))
    (below,) = stack.below  # nobody sees it from above; the ply lies turned over
    assert (below.ply, below.tag) == (2, "N-2")
    assert below.fault.shape.bounds == pytest.approx((120, 130, 140, 150))
    assert not stack.sheet.remnant.faults
    names = [part.name for part in lay_drawings.of_sheet(stack)]  # its plies are drawn by their own tags
    assert names[:2] == ["Stack 1", "stain, ply 2"]
    assert "N-1" not in names
    by_number = {panel.number: panel for panel in lay.panels}
    lies = {ply.number: ply.lie for ply in stack.stack.plies}
    for each, tracing in zip(stack.panels, stack.stack.tracings, strict=True):
        for ply, number in tracing.panels.items():  # one line, whichever ply it is cut through
            there = in_stack(by_number[number].cut_line, lies[ply])
            assert there.symmetric_difference(each.panel.cut_line).area < 1e-6
        corners = {mark.letter: mark.at for mark in each.marks}
        assert all(each.panel.cut_line.exterior.distance(Point(at)) < 1e-6 for at in corners.values())
    found = dockets.to_pull(workroom, [lay.number])
    assert [(each.stack, each.plies[0].number) for each in found] == [(1, 1), (1, 2)]
