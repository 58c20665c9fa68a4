"""A tapered panel drafted from its measures, and the ring that sixteen of them make."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity
from shapely.geometry import Point
from shapely.ops import unary_union

from stash import Workroom, patterns
from stash.drafting import Draft, Ends, LengthAt, edges_of, from_json, panel, resized, ring_of, to_json
from stash.piece_lines import edge_lines
from stash.refusals import Refused
from stash.sewn_ring import Truing, rings
from stash.words import Line

INCH = 25.4
PANEL = Draft(length=7 / 48 * 29 * INCH, wide=29 / 8 * INCH, narrow=29 / 12 * INCH, on=Line.CUT, sides=INCH / 4, count=16)
"""*Common practice, no source*: length 7/48, ends 1/8 and 1/12 of a 29 in measure on the cut line, ¼ in seams."""
drafts = st.builds(
    Draft,
    length=st.floats(60, 300),
    wide=st.floats(90, 200),
    narrow=st.floats(50, 89),
    on=st.sampled_from(Line),
    at=st.sampled_from(LengthAt),
    sides=st.floats(0, 15),
    wide_end=st.floats(0, 20),
    narrow_end=st.floats(0, 20),
)


@given(draft=drafts)
def test_the_measures_are_those_that_were_told_on_the_line_that_was_told(draft: Draft) -> None:
    """Measured off the drawing itself: the chord between an end's corners, and the length at the centre or at the side."""
    assume((draft.wide - draft.narrow) / (2 * draft.length) < 0.7)
    assume(draft.length > draft.wide_end + draft.narrow_end + 10)
    piece = drawn(draft)
    line = piece.sewing_line if draft.on is Line.SEWING else piece.cut_line
    wide, narrow = ends_of(line, draft)
    assert math.dist(*wide) == pytest.approx(draft.wide, abs=0.01)
    assert math.dist(*narrow) == pytest.approx(draft.narrow, abs=0.01)
    centre = line.intersection(LineString([(-1000, 0), (1000, 0)])).length
    side = math.dist(wide[0], narrow[0])
    assert (centre if draft.at is LengthAt.CENTRE else side) == pytest.approx(draft.length, abs=0.02)


def drawn(draft: Draft) -> patterns.Piece:
    from stash.piece_making import put_in
    from stash.tables import PatternRow

    pattern = PatternRow(name="p", key="p", note="", pieces=[])
    row = put_in(pattern, patterns.drafted(draft, "panel"))
    row.pattern = pattern
    return patterns.piece_of(row)


def ends_of(line: Polygon, draft: Draft) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """The two corners of each end: where the rim turns most."""
    ring = list(line.exterior.coords[:-1])

    def turn(i: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = ring[i - 1], ring[i], ring[(i + 1) % len(ring)]
        return abs((math.atan2(cy - by, cx - bx) - math.atan2(by - ay, bx - ax) + math.pi) % (2 * math.pi) - math.pi)

    corners = sorted((ring[i] for i in sorted(range(len(ring)), key=turn)[-4:]), key=lambda p: p[0])
    return sorted(corners[:2], key=lambda p: p[1]), sorted(corners[2:], key=lambda p: p[1])


@given(draft=drafts)
def test_every_sewn_corner_is_a_right_angle_and_the_cut_line_runs_an_allowance_outside(draft: Draft) -> None:
    assume((draft.wide - draft.narrow) / (2 * draft.length) < 0.7)
    assume(draft.length > draft.wide_end + draft.narrow_end + 10)
    piece = drawn(draft)
    lines = edge_lines(piece)
    for before, after in pairwise([*lines.values(), next(iter(lines.values()))]):
        (ax, ay), (bx, by) = ((q[0] - p[0], q[1] - p[1]) for p, q in (before.coords[-2:], after.coords[:2]))
        assert ax * by - ay * bx == pytest.approx(math.hypot(ax, ay) * math.hypot(bx, by), rel=1e-9)
    widths = {"right side": draft.sides, "left side": draft.sides, "wide end": draft.wide_end, "narrow end": draft.narrow_end}
    for edge in piece.edges:
        assert edge.allowance == widths[edge.name]
        middle = lines[edge.name].interpolate(0.5, normalized=True)
        assert piece.cut_line.exterior.distance(middle) == pytest.approx(edge.allowance, abs=0.01)


def test_the_29_inch_panel_by_the_usual_rule_and_exactly() -> None:
    """By the rule: inner girth 30.67 in and outer 50.00 in along chords. An allowance square to a slanted side takes a little
    more off a straight end, 2 s / cos a instead of 2 s; off the chord of a trued one a little less, 2 s cos a."""
    straight, on_cut, trued = rings(PANEL)
    assert [each.truing for each in (straight, on_cut, trued)] == list(Truing)
    for each in (straight, on_cut, trued):
        assert each.outer.by_rule / INCH == pytest.approx(50.00, abs=0.005)
        assert each.inner.by_rule / INCH == pytest.approx(30.67, abs=0.005)
    half = math.radians(straight.angle / 2)
    less = 16 * 2 * PANEL.sides * (1 / math.cos(half) - 1)
    assert straight.outer.along_chords == pytest.approx(straight.outer.by_rule - less)
    assert straight.inner.along_chords == pytest.approx(straight.inner.by_rule - less)
    assert straight.outer.along_chords / INCH == pytest.approx(49.92, abs=0.005)
    half = math.radians(trued.angle / 2)
    more = 16 * 2 * PANEL.sides * (1 - math.cos(half))
    assert trued.outer.along_chords == pytest.approx(trued.outer.by_rule + more)
    assert trued.outer.along_chords / INCH == pytest.approx(50.08, abs=0.005)
    assert trued.outer.along_arcs == pytest.approx(trued.outer.along_chords * half / math.sin(half))


def test_the_kinks_of_the_three_ways_to_draw_the_ends() -> None:
    """Straight about 16.3°; trued on the cut line a few degrees; trued on the sewing line none."""
    straight, on_cut, trued = rings(PANEL)
    assert straight.outer.kink == straight.inner.kink == pytest.approx(16.3, abs=0.05)
    assert 1 < on_cut.outer.kink < on_cut.inner.kink < 5
    assert trued.outer.kink == trued.inner.kink == 0


@pytest.mark.parametrize("line", Line)
@pytest.mark.parametrize("at", LengthAt)
def test_the_kink_of_ends_trued_on_the_cut_line_is_that_of_the_drawing(line: Line, at: LengthAt) -> None:
    """Against shapely: the cut line's own arcs, drawn as circles about the point where the cut sides meet, meet the sewn sides
    an allowance inside those; there the chord is measured, and how far the circle is from square to the side."""
    draft = replace(PANEL, on=line, at=at, wide_end=4.0, narrow_end=3.0)
    _, found, _ = rings(draft)
    half = math.radians(found.angle / 2)
    side = LineString([(0, 0), (2000 * math.cos(half), 2000 * math.sin(half))])  # of the cut line, from its apex
    sewn_side = side.parallel_offset(draft.sides, "right")
    radii, corners = [], []
    for edge in (found.outer, found.inner):
        # On which circle does the sewn side have that chord? Then the kink must be what that circle makes.
        level = LineString([(-3000, edge.chord / 2), (3000, edge.chord / 2)])
        corner = sewn_side.intersection(level)
        corners.append(corner)
        radii.append(math.hypot(corner.x, corner.y))
        tangent = math.atan2(corner.x, -corner.y)  # square to the radius
        assert math.degrees(2 * abs(tangent - half - math.pi / 2)) == pytest.approx(edge.kink, abs=1e-6)
        arc = Point(0, 0).buffer(radii[-1], quad_segs=4000).exterior
        wedge = Polygon([(0, 0), (3 * corner.x, 3 * corner.y), (3 * corner.x, -3 * corner.y)])
        assert arc.intersection(wedge).length * 16 == pytest.approx(edge.along_arcs, rel=1e-6)
    # And the circles are those of the measures that were told.
    wide, narrow = radii if line is Line.SEWING else (radii[0] + draft.wide_end, radii[1] - draft.narrow_end)
    told = LineString([(0, 0), (2000 * math.cos(half), 2000 * math.sin(half))]) if line is Line.CUT else sewn_side
    ends = [told.intersection(Point(0, 0).buffer(radius, quad_segs=4000).exterior) for radius in (wide, narrow)]
    assert [2 * end.y for end in ends] == pytest.approx([draft.wide, draft.narrow], abs=1e-3)
    length = ends[0].distance(ends[1]) if at is LengthAt.SIDE else wide - narrow
    assert length == pytest.approx(draft.length, abs=1e-3)


def test_a_ring_of_trued_panels_is_one_smooth_band() -> None:
    """Sixteen sewing lines side by side: their union is an annular sector (geometry of a developable cone)."""
    found = panel(PANEL)
    assert found.radii is not None
    shape = Polygon(ring_of(found))
    apex = (found.radii[0], 0.0)
    band = unary_union([affinity.rotate(shape, math.degrees(2 * found.half) * i, origin=apex).buffer(1e-7) for i in range(16)])
    sector = 16 * found.half * (found.radii[0] ** 2 - found.radii[1] ** 2)
    assert band.geom_type == "Polygon"
    assert band.area == pytest.approx(sector, rel=2e-3)
    distances = [math.dist(point, apex) for point in band.exterior.coords]
    assert all(min(abs(d - r) for r in found.radii) < 0.11 for d in distances)


@given(draft=drafts, end=st.sampled_from(["wide end", "narrow end"]), by=st.floats(-8, 30))
def test_bigger_or_smaller_from_one_end_leaves_the_other_as_it_was(draft: Draft, end: str, by: float) -> None:
    assume((draft.wide - draft.narrow) / (2 * draft.length) < 0.6)
    assume(draft.length > draft.wide_end + draft.narrow_end + 30)
    was = panel(draft)
    new = panel(resized(draft, end, longer=by)) if by else was
    other = {"wide end": "narrow", "narrow end": "wide"}[end]
    assert getattr(new, other) == pytest.approx(getattr(was, other))
    assert new.half == pytest.approx(was.half)
    assert new.side == pytest.approx(was.side + by)
    wider = resized(draft, end, width=(was.wide if end == "wide end" else was.narrow) + (1 if end == "wide end" else -1))
    assert getattr(panel(wider), other) == pytest.approx(getattr(was, other))
    assert panel(wider).side == pytest.approx(was.side)
    assert (wider.on, wider.sides, wider.count) == (Line.SEWING, draft.sides, draft.count)


def test_straight_ends_on_the_cut_line_stay_where_they_were_measured() -> None:
    piece = drawn(replace(PANEL, ends=Ends.STRAIGHT, wide_end=10, narrow_end=0))
    assert piece.cut_line.equals_exact(
        Polygon(ring_of(panel(replace(PANEL, on=Line.SEWING, sides=0, ends=Ends.STRAIGHT)))), 1e-6
    )
    sewn_line = panel(replace(PANEL, ends=Ends.STRAIGHT, wide_end=10))
    assert edge_lines(piece)["wide end"].length == pytest.approx(sewn_line.wide)
    assert edge_lines(piece)["narrow end"].length == pytest.approx(sewn_line.narrow)
    assert edge_lines(piece)["left side"].length == pytest.approx(sewn_line.side)


def test_ends_alike_make_a_plain_strip_and_no_ring() -> None:
    strip = Draft(length=100, wide=50, narrow=50, sides=5)
    assert Polygon(ring_of(panel(strip))).area == pytest.approx(5000)
    assert [edge.start for edge in edges_of(panel(strip))] == [0, 1, 2, 3]
    with pytest.raises(Refused, match="its ends are alike"):
        rings(strip)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"length": 0}, "length of the panel is 0"),
        ({"wide": 30.0, "narrow": 50.0}, "give|wide end is 30"),
        ({"sides": -1}, "allowance: sides is -1"),
        ({"sides": 40.0}, "leave nothing to sew"),
        ({"length": 20.0, "wide": 92.0, "narrow": 10.0}, "too unlike"),
        ({"count": 0}, "count of panels is 0"),
        ({"count": 361}, "count of panels is 361"),
    ],
)
def test_drafts_that_are_none(said: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        panel(replace(PANEL, **said))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("end", "said", "why"),
    [
        ("wide end", {}, "one end is changed one way"),
        ("wide end", {"width": 90.0, "longer": 5.0}, "one end is changed one way"),
        ("side", {"width": 90.0}, "'side' is no end"),
        ("narrow end", {"width": 300.0}, "wide end is"),
        ("wide end", {"longer": -500.0}, "how much longer is -500"),
    ],
)
def test_resizing_that_cannot_be(end: str, said: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        resized(PANEL, end, **said)


def test_a_draft_is_kept_and_found_again(workroom: Workroom) -> None:
    assert from_json(to_json(PANEL)) == PANEL
    kept = patterns.add(workroom, "ring", [patterns.drafted(PANEL, "panel")]).pieces[0]
    assert kept.draft == PANEL
    assert kept.count == 16
    assert patterns.piece(workroom, "Ring", "PANEL") == kept
