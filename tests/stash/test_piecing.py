"""Panels joined from two scraps: geometry, rules and the whole way of a job that is short by two."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import Any

import pytest
from shapely import LineString, Polygon
from shapely import Point as Spot

from nesting import examine, read_case
from stash import Workroom, asking, audit, book, cutting, finding, jobs, lays, losing, patterns, proving, seeking, undoing
from stash.jobs import NewJobPiece
from stash.joins import PermittedJoin, hindrances, in_parts, permitted
from stash.lying import line_of
from stash.patterns import Join, JoinZone, NewEdge, NewPiece
from stash.piecing import Piecing, piecing
from stash.refusals import NotNeeded, Refused
from stash.remnants import NewFault
from stash.seeking import Effort
from stash.tables import LayPanelRow
from stash.terms import Terms
from stash.words import Face, FaultKind, Hand

from .scenes import linen, scrap

EFFORT = Effort(seconds=0.0)
# A tapered panel: 200 mm long, 80 and 60 mm wide on its sewing line, 10 mm of allowance all round.
WEDGE = ((0.0, 0.0), (200.0, 10.0), (200.0, 70.0), (0.0, 80.0))
ACROSS = JoinZone(along=False, low=80.0, high=120.0, allowance=8.0)


def wedges(workroom: Workroom, count: int = 6, **said: Any) -> patterns.Piece:
    given: dict[str, Any] = {"name": "wedge", "ring": WEDGE, "allowance": 10.0, "join_zones": (ACROSS,)}
    made = patterns.add(workroom, "cushion", [NewPiece(**(given | said))])
    jobs.add(workroom, "cushion", [NewJobPiece(pattern="cushion", piece="wedge", count=count)])
    return made.pieces[0]


HERE = JoinZone(along=False, low=100.0, high=100.0, allowance=8.0)


def short_by_two(workroom: Workroom, zone: JoinZone = HERE) -> None:
    """Six wedges are wanted; one scrap holds four, and two are too short for any."""
    linen(workroom)
    scrap(workroom, "L1", length=232, width=425)
    scrap(workroom, "L2", length=140, width=215)
    scrap(workroom, "L3", length=140, width=215)
    wedges(workroom, join_zones=(zone,))


def proposed(workroom: Workroom, job: str = "cushion", terms: Terms | None = None) -> Piecing | None:
    terms = terms or Terms(spares=False)
    asked = asking.ask(workroom, job, terms)
    result = seeking.seek(asked, EFFORT).result
    return piecing(workroom, asked, result, job=job, terms=terms, effort=EFFORT)


def test_a_job_short_by_two_is_completed_with_joins(workroom: Workroom) -> None:
    """Seam lengths, allowances and grain, all by shapely from the outlines that were laid."""
    short_by_two(workroom, ACROSS)
    asked = asking.ask(workroom, "cushion", spares=False)
    whole = seeking.seek(asked, EFFORT).result
    assert (whole.placed, whole.complete) == (4, False)
    found = piecing(workroom, asked, whole, job="cushion", terms=Terms(spares=False), effort=EFFORT)
    assert found is not None
    assert (found.count, found.missing, found.result.complete) == (2, 0, True)
    assert examine(found.asked.case, found.result).faults == ()
    lay = lays.record(workroom, found.asked, found.result, by="MB")
    assert lay.complete
    assert [(count.wanted, count.placed, count.missing) for count in lay.counts] == [(6, 6, 0)]
    piece = patterns.piece(workroom, "cushion", "wedge")
    parts = [panel for panel in lay.panels if panel.part is not None]
    assert Counter((panel.joined, panel.part) for panel in parts) == {(j, p): 1 for j in (1, 2) for p in (1, 2)}
    assert {sheet.remnant.tag for sheet in lay.sheets for panel in sheet.panels if panel.part} <= {"L2", "L3", "L1"}
    for panel in parts:
        assert panel.seam is not None
        assert panel.placement.turn in (0.0, 180.0), "the grain is kept"
        # The seam lies on the part's sewing line, as long as the piece is wide there; its allowance is all 8 mm beyond it.
        assert panel.sewing_line.exterior.buffer(1e-6).covers(panel.seam)
        assert panel.seam.length == pytest.approx(found.joined[0].seam)
        end = max(_sides(panel.cut_line), key=lambda side: (_parallel(side, panel.seam), -side.distance(panel.seam)))
        assert end.distance(panel.seam) == pytest.approx(8.0)
        assert all(panel.cut_line.buffer(1e-6).covers(Spot(at)) for at in panel.seam.coords)
    one, two = (panel for panel in parts if panel.joined == 1)
    assert one.sewing_line.area + two.sewing_line.area == pytest.approx(piece.sewing_line.area)
    assert one.cut_line.area + two.cut_line.area == pytest.approx(piece.cut_line.area + found.joined[0].more)
    # What both have in common, laid on each other as they are sewn, is a band of both allowances.
    assert found.joined[0].more == pytest.approx(16.0 * (found.joined[0].seam + 20.0), rel=0.02)


def _sides(shape: Polygon) -> list[LineString]:
    return [LineString(two) for two in pairwise(shape.exterior.coords)]


def _parallel(side: LineString, seam: LineString) -> bool:
    (ax, ay), (bx, by) = side.coords
    (cx, cy), (dx, dy) = seam.coords
    return abs((bx - ax) * (dy - cy) - (by - ay) * (dx - cx)) < 1e-6 * side.length * seam.length


def test_sewn_together_the_parts_are_the_whole(workroom: Workroom) -> None:
    piece = wedges(workroom)
    for parts in permitted(piece):
        assert parts.sewing[0].union(parts.sewing[1]).symmetric_difference(piece.sewing_line).area < 1e-6
        both = parts.cut[0].intersection(parts.cut[1])
        low_x, _, high_x, _ = both.bounds
        assert (low_x, high_x) == pytest.approx((parts.join.off - 8.0, parts.join.off + 8.0))
        assert parts.cut[0].union(parts.cut[1]).symmetric_difference(piece.cut_line).area < 1e-6
        assert LineString(parts.join.line).length == pytest.approx(80.0 - 20.0 * parts.join.off / 200.0)


def test_an_allowance_that_is_forgotten_is_found_out(workroom: Workroom) -> None:
    piece = wedges(workroom)
    parts = in_parts(piece, next(permitted(piece)).join)
    bare = in_parts(piece, PermittedJoin(parts.join.line, False, 0.0)) if parts else None
    assert parts is not None
    assert bare is not None
    assert bare.more == pytest.approx(0.0)
    assert parts.more > 1000.0


def test_a_join_keeps_away_from_where_two_seams_meet(workroom: Workroom) -> None:
    """A corner in the middle of one side: a join of 8 mm keeps 18 mm from it where the edges have 10 mm."""
    bent = ((0.0, 0.0), (100.0, 0.0), (200.0, 30.0), (200.0, 90.0), (0.0, 80.0))
    piece = wedges(workroom, ring=bent, join_zones=(JoinZone(along=False, low=60.0, high=140.0, allowance=8.0),))
    offs = sorted(parts.join.off for parts in permitted(piece))
    assert offs
    assert all(abs(off - 100.0) >= 18.0 for off in offs)
    smooth = ((0.0, 0.0), (100.0, 0.0), (200.0, 1.0), (200.0, 90.0), (0.0, 80.0))
    other = patterns.add_piece(workroom, "cushion", NewPiece(name="smooth", ring=smooth, allowance=10.0, join_zones=(ACROSS,)))
    assert any(abs(parts.join.off - 100.0) < 18.0 for parts in permitted(other))


@pytest.mark.slow
def test_two_joined_panels_sewn_side_by_side_are_told_of(workroom: Workroom) -> None:
    short_by_two(workroom)
    found = proposed(workroom)
    assert found is not None
    assert [each.apart for each in found.joined] == [False]
    from stash.seams import sew

    sew(workroom, "cushion", patterns.Seam("wedge/side 1", "wedge/side 3"))
    found = proposed(workroom)
    assert found is not None
    assert [each.apart for each in found.joined] == [True]


def test_a_second_piece_that_is_joined_may_lie_over_a_flaw_as_well(workroom: Workroom) -> None:
    """Two pieces of which no whole one has a place, on four scraps with a stain in the middle of the wrong face."""
    linen(workroom)
    stain = NewFault(FaultKind.STAIN, ((60.0, 45.0), (80.0, 45.0), (80.0, 65.0), (60.0, 65.0)), Face.WRONG)
    for tag in ("L1", "L2", "L3", "L4"):
        scrap(workroom, tag, length=140, width=110, faults=(stain,))
    pieces = [NewPiece(name=name, ring=WEDGE, allowance=10.0, join_zones=(HERE,)) for name in ("wedge", "gore")]
    patterns.add(workroom, "cushion", pieces)
    jobs.add(workroom, "cushion", [NewJobPiece(pattern="cushion", piece=name, count=1) for name in ("wedge", "gore")])
    found = piecing(workroom, None, _nothing(), job="cushion", terms=Terms(spares=False), effort=EFFORT)
    assert found is not None
    assert {each.piece: each.count for each in found.joined} == {"wedge": 1, "gore": 1}
    assert examine(found.asked.case, found.result).faults == ()


def test_where_nothing_permits_it_nothing_is_joined(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=140, width=215)
    scrap(workroom, "L2", length=232, width=110)
    wedges(workroom, count=2, join_zones=())
    assert proposed(workroom) is None


def test_a_line_that_was_marked_along_the_grain_is_a_seam_too(workroom: Workroom) -> None:
    linen(workroom)
    for tag in ("L1", "L2"):
        scrap(workroom, tag, length=235, width=75)
    wedges(workroom, count=1, join_zones=(), joins=(Join(((0.0, 40.0), (200.0, 40.0)), 6.0),))
    found = piecing(workroom, None, _nothing(), job="cushion", terms=Terms(spares=False), effort=EFFORT)
    assert found is not None
    assert [(each.along, each.seam, each.count) for each in found.joined] == [(True, 200.0, 1)]
    assert found.result.complete


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (((0.0, 30.0), (200.0, 50.0)), "neither along nor across"),
        (((0.0, 12.0), (200.0, 12.0)), "where two other seams meet"),
        (((0.0, 40.0), (200.0, 40.05)), ""),
        (((50.0, 40.0), (150.0, 40.0)), ""),
    ],
)
def test_a_line_at_which_no_lay_can_join_is_told_of(workroom: Workroom, line: Any, why: str) -> None:
    """One drawn short of the rim is sewn from rim to rim."""
    piece = wedges(workroom, join_zones=(), joins=(Join(line, 6.0),))
    told = list(hindrances(piece))
    assert [why in each for each in told] == ([True] if why else [])
    assert [parts.join.seam for parts in permitted(piece)] == ([] if why else [pytest.approx(200.0)])


def _nothing() -> Any:
    from nesting import Result

    return Result()


@pytest.mark.slow
def test_both_parts_come_from_one_cloth(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red linen", colour="red")
    scrap(workroom, "L1", length=232, width=110)
    scrap(workroom, "L2", length=140, width=110)
    scrap(workroom, "R1", "red linen", length=140, width=110)
    wedges(workroom, count=2, join_zones=(HERE,))
    assert proposed(workroom) is None
    scrap(workroom, "L3", length=140, width=110)
    found = proposed(workroom)
    assert found is not None
    assert {placement.sheet for placement in found.result.placements if "part" in placement.panel} == {"L2", "L3"}


def test_the_right_hand_is_the_left_mirrored(workroom: Workroom) -> None:
    slanted = ((0.0, 0.0), (200.0, 0.0), (200.0, 60.0), (0.0, 90.0))
    piece = wedges(workroom, ring=slanted, left_and_right=True)
    parts = next(permitted(piece))
    for whole in parts.cut:
        left, right = (Polygon(line_of(whole, hand)) for hand in Hand)
        assert left.area == pytest.approx(right.area)
        assert left.bounds[1] == pytest.approx(-right.bounds[3])


# --- the lay goes on: chalked, cut, undone, planned again ------------------------------------------------------------------


def joined_lay(workroom: Workroom) -> lays.Lay:
    short_by_two(workroom)
    found = proposed(workroom)
    assert found is not None
    return lays.record(workroom, found.asked, found.result, by="MB")


def test_a_joined_lay_is_proved_chalked_cut_and_booked(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    _, examined = proving.prove(workroom, lay.number)
    assert examined.faults == ()
    assert [listed.placed for listed in finding.lays_listed(workroom)] == [6], "two parts are one panel"
    lays.chalk(workroom, lay.number, by="MB")
    assert [(p.chalked, p.missing) for p in jobs.get(workroom, "cushion").pieces] == [(6, 0)]
    done = cutting.cut(workroom, lay.number, by="MB")
    assert book.balance(workroom).balanced
    assert [(p.cut, p.missing) for p in jobs.get(workroom, "cushion").pieces] == [(6, 0)]
    assert audit.audit(workroom).faults == ()
    with workroom.reading() as session:
        rows = [row for row in session.query(LayPanelRow) if row.part is not None]
        # Each part is a child of the remnant that it was cut from, with its share of it.
        assert all(row.area and row.mass for row in rows)
        assert {row.joined for row in rows} == {1, 2}
    undoing.undo(workroom, done.entry, by="MB", why="not yet")
    assert [(p.cut, p.chalked) for p in jobs.get(workroom, "cushion").pieces] == [(0, 6)]


@pytest.mark.slow
def test_a_part_without_its_other_is_found_by_the_audit(workroom: Workroom) -> None:
    joined_lay(workroom)
    with workroom.writing() as session:
        row = next(row for row in session.query(LayPanelRow) if row.part == 2)
        row.joined, number = 9, row.number
    assert {fault.what for fault in audit.audit(workroom).faults} >= {
        f"panel {number} is one part of a panel that is joined from two, and the other is not there"
    }


def test_a_part_that_was_spoiled_leaves_no_panel(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    lays.chalk(workroom, lay.number, by="MB")
    part = next(panel for panel in lay.panels if panel.part == 1)
    done = cutting.cut(workroom, lay.number, by="MB", spoiled=[part.number])
    assert [(p.cut, p.missing) for p in jobs.get(workroom, "cushion").pieces] == [(5, 1)]
    mate = next(panel for panel in lay.panels if panel.joined == part.joined and panel.part == 2)
    assert dict(done.widowed) == {mate.number: part.number}
    (kept,) = jobs.get(workroom, "cushion").pieces[0].kept
    assert (kept.lay, kept.number, kept.part, len(kept.seam)) == (lay.number, mate.number, 2, 2)
    assert book.balance(workroom).balanced
    assert audit.audit(workroom).faults == ()


@pytest.mark.slow
def test_a_joined_lay_is_planned_again_round_what_is_there(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    lays.chalk(workroom, lay.number, by="MB")
    lost = next(sheet.remnant.tag for sheet in lay.sheets if sheet.remnant.tag in ("L2", "L3"))
    losing.not_there(workroom, lost, by="MB")
    asked = asking.ask_round(workroom, lay.number)
    there = {name for name, meant in asked.panels.items() if meant.part is not None}
    fixed = Counter(placement.panel for placement in asked.case.fixed if placement.panel in there)
    # No part stays without its other.
    assert len(set(fixed.values())) <= 1
    assert sum(meant.panels for meant in asked.panels.values()) == 6


@pytest.mark.slow
def test_a_joined_panel_is_not_fixed_by_halves(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    with pytest.raises(Refused, match="joined from two"):
        asking.ask_beside(workroom, lay.number)


@pytest.mark.slow
def test_a_second_lay_is_not_chalked_for_what_the_joined_one_has(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    scrap(workroom, "L9", length=232, width=425)
    asked = asking.ask(workroom, "cushion", only=["L9"], spares=False)
    again = lays.record(workroom, asked, seeking.seek(asked, EFFORT).result, by="MB")
    lays.chalk(workroom, lay.number, by="MB")
    with pytest.raises(NotNeeded, match="has use for no more wedge"):
        lays.chalk(workroom, again.number, by="MB")


@pytest.mark.slow
def test_the_case_of_a_joined_lay_reads_back(workroom: Workroom) -> None:
    lay = joined_lay(workroom)
    with workroom.reading() as session:
        from stash.plans import row_of

        case = read_case(row_of(session, lay.number).case, where="lay")
    assert {panel.id for panel in case.panels} == {"wedge", "wedge, part 1", "wedge, part 2"}


def test_a_band_that_is_none_is_refused(workroom: Workroom) -> None:
    with pytest.raises(Refused, match="the lesser one first"):
        wedges(workroom, join_zones=(JoinZone(along=False, low=120.0, high=80.0, allowance=8.0),))


def test_edges_with_names_keep_their_own_allowance(workroom: Workroom) -> None:
    edges = tuple(NewEdge(f"side {i + 1}", i, 10.0 if i else 15.0) for i in range(4))
    piece = wedges(workroom, edges=edges)
    for parts in permitted(piece):
        assert parts.cut[0].union(parts.cut[1]).symmetric_difference(piece.cut_line).area < 1e-6
