"""Edges by name, pieces drawn on the fold, notches and joins; and a pattern proved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity

from nesting import ring_of
from stash import Workroom, patterns, piece_parts, seams
from stash.drafting import Draft, Ends
from stash.patterns import Finish, Join, NewEdge, NewPiece, Notch, Seam
from stash.piece_lines import edge_lines, narrowest
from stash.refusals import BadOutline, Refused, Taken, Unknown
from stash.seams import Matter, prove, sew, unpick
from stash.words import Line

from .scenes import linen, whole_stash
from .shapes import stars

SIDE = ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 180.0))
HALF = ((0.0, 0.0), (90.0, 0.0), (80.0, 200.0), (0.0, 200.0))
GORE = Draft(length=210, wide=84, narrow=30, sides=10, wide_end=10, narrow_end=10, count=12)


def kept(workroom: Workroom, piece: NewPiece, pattern: str = "bag") -> patterns.Piece:
    try:
        return patterns.add_piece(workroom, pattern, piece)
    except Unknown:
        return patterns.add(workroom, pattern, [piece]).pieces[0]


def test_edges_have_names_allowances_and_ways_to_end(workroom: Workroom) -> None:
    edges = (NewEdge("hem", 0, 30.0, Finish.FOLDED_BACK), NewEdge("right", 1), NewEdge("neck", 2, 0.0), NewEdge("left", 3))
    piece = kept(workroom, NewPiece(name="side", ring=SIDE, allowance=10.0, edges=edges))
    assert [(edge.name, edge.allowance, edge.sides) for edge in piece.edges] == [
        ("hem", 30, 1),
        ("right", 10, 1),
        ("neck", 0, 1),
        ("left", 10, 1),
    ]
    assert piece.edges[0].finish is Finish.FOLDED_BACK
    assert edge_lines(piece)["right"].length == pytest.approx(200)
    assert patterns.get(workroom, "bag").pieces[0].edges == piece.edges


@given(shape=stars(least=60), turn=st.floats(-180, 180), backwards=st.booleans(), drawn=st.sampled_from(Line))
def test_an_edge_is_found_again_on_either_line_however_the_piece_was_drawn(
    shape: Polygon, turn: float, backwards: bool, drawn: Line
) -> None:
    """Each edge's sewing line runs alongside its cut line, an allowance inside it."""
    from stash.piece_making import put_in
    from stash.tables import PatternRow

    ring = ring_of(affinity.rotate(shape, turn, origin=(0, 0)))
    ring = ring[::-1] if backwards else ring
    allowances = tuple(float(1 + i % 3) for i in range(len(ring)))
    pattern = PatternRow(name="p", key="p", note="", pieces=[])
    row = put_in(pattern, NewPiece(name="n", ring=ring, allowance=allowances, grain_angle=turn, drawn=drawn))
    row.pattern = pattern
    piece = patterns.piece_of(row)
    lines = edge_lines(piece)
    for i, width in enumerate(allowances):
        line = lines[f"side {i + 1}"]
        if line.is_empty or line.length < 20:
            continue
        middle = line.interpolate(0.5, normalized=True)
        assert piece.cut_line.exterior.distance(middle) <= width + 1e-3
        where = Polygon(ring).exterior if drawn is Line.SEWING else None
        if where is not None:
            side = LineString([ring[i], ring[(i + 1) % len(ring)]])
            assert affinity.rotate(side, -turn, origin=(0, 0)).distance(middle) < 1e-6
    # Where an allowance changes on a nearly straight edge, the sewing line has a step that belongs to neither.
    steps = piece.sewing_line.length - sum(line.length for line in lines.values())
    assert -1e-3 <= steps <= 3 * len(ring)


def test_a_half_on_the_fold_becomes_the_whole(workroom: Workroom) -> None:
    notches = (Notch("side 2", 50, marks=2),)
    piece = kept(workroom, NewPiece(name="pocket", ring=HALF, allowance=10.0, fold="side 4", notches=notches))
    assert piece.sewing_line.area == pytest.approx(2 * Polygon(HALF).area)
    assert piece.sewing_line.equals(affinity.scale(piece.sewing_line, -1, 1, origin=(0, 0)))
    assert piece.cut_line.bounds == pytest.approx((-piece.cut_line.bounds[2], -10, piece.cut_line.bounds[2], 210))
    assert piece.fold is not None
    assert sorted(piece.fold) == [(0, 0), (0, 200)]
    names = [edge.name for edge in piece.edges]
    assert names == ["side 1", "side 2", "side 3", "side 3, other half", "side 2, other half", "side 1, other half"]
    lines = edge_lines(piece)
    points = [lines[notch.edge].interpolate(notch.at) for notch in piece.notches]
    assert points[0].x == pytest.approx(-points[1].x)
    assert points[0].y == pytest.approx(points[1].y)


@pytest.mark.parametrize(
    ("said", "kind", "why"),
    [
        ({"edges": (NewEdge("a", 0), NewEdge("A", 2))}, Refused, "two edges have one name"),
        ({"edges": (NewEdge("a", 0), NewEdge("b", 0))}, Refused, "two edges begin at one point"),
        ({"edges": (NewEdge("a", 4),)}, Refused, "begin at one point, or one at no point"),
        ({"edges": (NewEdge("a", 0, -1.0),)}, Refused, "allowance is -1"),
        ({"fold": "side 9"}, Refused, "no edge 'side 9'"),
        ({"fold": "side 2", "edges": (NewEdge("side 2", 0), NewEdge("b", 3))}, Refused, "not one straight side"),
        ({"fold": "side 1", "ring": ((0, 0), (90, 0), (40, -50), (45, 60))}, BadOutline, "crosses itself"),
        ({"notches": (Notch("side 9", 5),)}, Unknown, "no edge 'side 9'"),
        ({"notches": (Notch("side 1", 301),)}, Refused, "301 mm of side 1, which is 300"),
        ({"notches": (Notch("side 1", 5, marks=4),)}, Refused, "marks of a notch is 4"),
        ({"joins": (Join(((0, 500), (10, 500)), 10),)}, Refused, "does not cross the piece once"),
        ({"joins": (Join(((0, 90), (10, 90)), -1),)}, Refused, "allowance at the join is -1"),
        ({"count": 0}, Refused, "count is 0"),
        ({"drawn": Line.CUT, "edges": (NewEdge("a", 0, 5.0, Finish.BLUNT),)}, Refused, "joined on the cut line"),
    ],
)
def test_bad_pieces_change_nothing(
    workroom: Workroom, stash_file: Path, said: dict[str, object], kind: type[Refused], why: str
) -> None:
    patterns.add(workroom, "bag")
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        patterns.add_piece(workroom, "bag", NewPiece(**({"name": "side", "ring": SIDE} | said)))  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_a_join_runs_from_rim_to_rim_on_the_grain(workroom: Workroom) -> None:
    standing = tuple((-y, x) for x, y in SIDE)
    piece = kept(workroom, NewPiece(name="side", ring=standing, grain_angle=90, joins=(Join(((-90, 0), (-90, 1)), 12),)))
    ((start, end),) = (join.line for join in piece.joins)
    assert sorted([start[0], end[0]]) == pytest.approx([0, 300])
    assert [start[1], end[1]] == pytest.approx([90, 90])


@pytest.mark.parametrize("drawn", Line)
def test_a_piece_is_made_of_two_at_its_join(workroom: Workroom, drawn: Line) -> None:
    """The parts sewn together are the piece: their sewing lines share the join, and cover it."""
    edges = (NewEdge("hem", 0, 30.0), NewEdge("right", 1), NewEdge("neck", 2), NewEdge("left", 3))
    join = Join(((0, 100), (300, 100)), 8)
    notches = (Notch("right", 20), Notch("right", 150, marks=2))
    whole = kept(
        workroom,
        NewPiece(name="side", ring=SIDE, allowance=10.0, edges=edges, joins=(join,), notches=notches, drawn=drawn, count=2),
    )
    one, other = piece_parts.in_two(workroom, "bag", "SIDE")
    assert (one.name, other.name, one.count) == ("side, part 1", "side, part 2", 2)
    union = one.sewing_line.union(other.sewing_line)
    assert union.symmetric_difference(whole.sewing_line).area < 1e-3
    assert one.sewing_line.intersection(other.sewing_line).area < 1e-3
    widths = {edge.name: edge.allowance for part in (one, other) for edge in part.edges}
    assert widths == {"hem": 30, "right": 10, "neck": 10, "left": 10, "join": 8}
    points = [edge_lines(part)[notch.edge].interpolate(notch.at) for part in (one, other) for notch in part.notches]
    was = [edge_lines(whole)[notch.edge].interpolate(notch.at) for notch in whole.notches]
    assert len(points) == len(was)
    assert all(min(point.distance(old) for old in was) < 1e-6 for point in points)
    assert prove(workroom, "bag").seams[0].seam == Seam("side, part 1/join", "side, part 2/join")
    with pytest.raises(Refused, match="has 1 joins, and none of number 2"):
        piece_parts.in_two(workroom, "bag", "side", 2)
    with pytest.raises(Taken):
        piece_parts.in_two(workroom, "bag", "side")


# --- seams and the proof -------------------------------------------------------------------------------------------------


@pytest.fixture
def gores(workroom: Workroom) -> Workroom:
    """A ring of twelve trued gores."""
    linen(workroom, frays=4.0)
    patterns.add(workroom, "cap", [patterns.drafted(GORE, "gore")])
    return workroom


def test_a_ring_of_trued_gores_goes_together(gores: Workroom) -> None:
    found = prove(gores, "cap", cloth="blue linen")
    assert found.good
    (seam,) = found.seams
    assert (seam.seam.first, seam.seam.second) == ("gore/left side", "gore/right side")
    assert seam.kinks == pytest.approx((0, 0), abs=1e-6)
    assert seam.first == pytest.approx(210)
    (piece,) = found.pieces
    assert [angle for _, _, angle in piece.corners] == pytest.approx([90] * 4)
    assert piece.narrowest == pytest.approx(30, abs=0.1)
    assert set(piece.between) == {"left side", "right side"}
    cut = patterns.piece(gores, "cap", "gore").cut_line.area
    assert found.area == pytest.approx(12 * cut)
    assert found.mass == pytest.approx(12 * cut / 1e6 * 180)


def test_straight_ends_are_found_out_by_their_kinks(gores: Workroom) -> None:
    patterns.add(gores, "flat", [patterns.drafted(replace(GORE, ends=Ends.STRAIGHT), "gore")])
    found = prove(gores, "flat")
    assert not found.good
    kinks = [finding for finding in found.findings if finding.matter is Matter.KINK and not finding.good]
    assert len(kinks) == 2
    half = 2 * 7.330  # atan(27 / 210) twice
    assert sorted(abs(kink.figure) for kink in kinks) == pytest.approx([half, half], abs=0.05)


def test_allowances_are_held_against_the_clothes_fraying(gores: Workroom) -> None:
    linen(gores, "loose linen", frays=8.0)
    wrong = [finding for finding in prove(gores, "cap", cloth="loose linen").findings if not finding.good]
    assert [(finding.matter, finding.figure, finding.asked) for finding in wrong] == [(Matter.FRAYING, 10, 11)]
    linen(gores, "plain linen")
    assert prove(gores, "cap", cloth="plain linen").good


def test_a_place_narrower_than_its_allowances_is_found(workroom: Workroom) -> None:
    waist = ((0.0, 0.0), (100.0, 45.0), (200.0, 0.0), (200.0, 100.0), (100.0, 55.0), (0.0, 100.0))
    kept(workroom, NewPiece(name="bow", ring=waist, allowance=6.0))
    wrong = [finding for finding in prove(workroom, "bag").findings if not finding.good]
    assert [(finding.matter, finding.asked) for finding in wrong] == [(Matter.NARROW, 12)]
    assert wrong[0].figure == pytest.approx(10)


def test_the_narrowest_place_of_a_triangle_is_its_least_height(workroom: Workroom) -> None:
    piece = kept(workroom, NewPiece(name="flag", ring=((0, 0), (300, 0), (150, 60))))
    assert narrowest(piece)[0] == pytest.approx(60)


def test_edges_sewn_together_are_held_to_their_ease_and_notches(workroom: Workroom) -> None:
    front = NewPiece(name="front", ring=SIDE, allowance=10.0, notches=(Notch("side 2", 60),))
    back = NewPiece(
        name="back", ring=((0, 0), (250, 0), (250, 190), (0, 190)), allowance=10.0, notches=(Notch("side 4", 135),)
    )
    patterns.add(workroom, "coat", [front, back])
    sew(workroom, "Coat", Seam("FRONT/side 2", "back/Side 4", ease=10))
    found = prove(workroom, "coat")
    (seam,) = found.seams
    assert (seam.seam.first, seam.seam.second) == ("front/side 2", "back/side 4")
    assert seam.first - seam.second == pytest.approx(10)
    good = {finding.matter: finding.good for finding in found.findings if finding.matter in (Matter.EASE, Matter.NOTCHES)}
    assert good == {Matter.EASE: True, Matter.NOTCHES: True}
    unpick(workroom, "coat", "back/side 4", "front/side 2")
    sew(workroom, "coat", Seam("front/side 2", "back/side 4"))
    wrong = [finding for finding in prove(workroom, "coat").findings if not finding.good and finding.matter is Matter.EASE]
    assert [finding.figure for finding in wrong] == pytest.approx([10])


def test_face_to_face_no_edge_runs_on(workroom: Workroom) -> None:
    pieces = [NewPiece(name=name, ring=SIDE, allowance=10.0) for name in ("body", "lining")]
    patterns.add(workroom, "bag", pieces)
    sew(workroom, "bag", Seam("body/side 2", "lining/side 2", face_to_face=True))
    assert prove(workroom, "bag").good
    unpick(workroom, "bag", "body/side 2", "lining/side 2")
    sew(workroom, "bag", Seam("body/side 2", "lining/side 2"))
    assert not prove(workroom, "bag").good


@pytest.mark.parametrize(
    ("seam", "kind", "why"),
    [
        (Seam("gore", "gore/left side"), Refused, "'gore' is not an edge of a piece"),
        (Seam("gorse/left side", "gore/left side"), Unknown, "no piece 'gorse'"),
        (Seam("gore/left", "gore/left side"), Unknown, "no edge of gore 'left'"),
        (Seam("gore/left side", "gore/right side", ease=400), Refused, "ease is 400"),
    ],
)
def test_seams_that_are_none(gores: Workroom, seam: Seam, kind: type[Refused], why: str) -> None:
    with pytest.raises(kind, match=why):
        sew(gores, "cap", seam)


def test_no_two_seams_on_one_pair_of_edges(gores: Workroom) -> None:
    sew(gores, "cap", Seam("gore/left side", "gore/right side", ease=0))
    assert len(seams.seams_of(patterns.get(gores, "cap"))) == 1
    with pytest.raises(Taken):
        sew(gores, "cap", Seam("gore/right side", "gore/left side"))
    with pytest.raises(Refused, match="not sewn together"):
        unpick(gores, "cap", "gore/wide end", "gore/narrow end")


def test_an_empty_pattern_proves_nothing(workroom: Workroom) -> None:
    patterns.add(workroom, "empty")
    with pytest.raises(Refused, match="has no pieces"):
        prove(workroom, "empty")
