"""Patterns: sewing line, allowances and cut line belong together whichever was drawn."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity

from nesting import ring_of
from stash import Workroom, patterns
from stash.drafting import ARC_WITHIN
from stash.patterns import NewPiece, tapered
from stash.refusals import BadOutline, Refused, Taken, Unknown
from stash.words import Line

from .scenes import whole_stash
from .shapes import stars

RECTANGLE = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
INCH = Fraction(254, 10)


def test_a_piece_drawn_on_its_sewing_line(workroom: Workroom) -> None:
    kept = patterns.add(workroom, "shirt", [NewPiece(name="Cuff", ring=RECTANGLE, allowance=(10, 5, 0, 15))]).pieces[0]
    assert kept.sewing_line.equals(Polygon(RECTANGLE))
    assert kept.cut_line.bounds == pytest.approx((-15, -10, 105, 60))
    assert kept.allowances == (10, 5, 0, 15)


def test_a_piece_drawn_on_its_cut_line(workroom: Workroom) -> None:
    kept = patterns.add(workroom, "shirt", [NewPiece(name="cuff", ring=RECTANGLE, allowance=10, drawn=Line.CUT)]).pieces[0]
    assert kept.cut_line.equals(Polygon(RECTANGLE))
    assert kept.sewing_line.bounds == pytest.approx((10, 10, 90, 50))


def test_drawn_the_other_way_round_each_edge_keeps_its_allowance(workroom: Workroom) -> None:
    clockwise = (RECTANGLE[0], RECTANGLE[3], RECTANGLE[2], RECTANGLE[1])  # left, far, right, near
    pieces = [
        NewPiece(name="one", ring=RECTANGLE, allowance=(10, 5, 0, 15)),
        NewPiece(name="other", ring=clockwise, allowance=(15, 0, 5, 10)),
        NewPiece(name="closed", ring=(*clockwise, clockwise[0]), allowance=(15, 0, 5, 10)),
    ]
    one, other, closed = patterns.add(workroom, "shirt", pieces).pieces
    assert (
        one.cut_line.equals_exact(other.cut_line.normalize(), 1e-6)
        or one.cut_line.symmetric_difference(other.cut_line).area < 1e-6
    )
    assert closed.cut_line.equals(other.cut_line)


def test_the_grain_line_comes_to_lie_along_x(workroom: Workroom) -> None:
    standing = tuple((-y, x) for x, y in RECTANGLE)
    kept = patterns.add(workroom, "shirt", [NewPiece(name="cuff", ring=standing, grain_angle=90)]).pieces[0]
    assert kept.sewing_line.bounds == pytest.approx((0, 0, 100, 60))


def test_an_allowance_may_change_on_a_straight_edge(workroom: Workroom) -> None:
    ring = ((0.0, 0.0), (50.0, 0.0), *RECTANGLE[1:])
    kept = patterns.add(workroom, "shirt", [NewPiece(name="cuff", ring=ring, allowance=(5, 15, 0, 0, 0))]).pieces[0]
    assert kept.cut_line.area == pytest.approx(100 * 60 + 50 * 5 + 50 * 15)
    assert len(ring_of(kept.sewing_line)) == len(kept.allowances) == 5


def test_the_tapered_panel_of_a_29_inch_measure(workroom: Workroom) -> None:
    """Common practice, no source: length 7/48, ends 1/8 and 1/12 of 29 in on the cut line, ¼ in seams; by the usual rule
    (two allowances off each width) sixteen make a ring of 50.00 in outside and 30.67 in inside, along chords."""
    length, wide, narrow = (float(29 * part * INCH) for part in (Fraction(7, 48), Fraction(1, 8), Fraction(1, 12)))
    assert (length, wide, narrow) == pytest.approx((107.42, 92.075, 61.383), abs=0.005)
    quarter = float(INCH / 4)
    piece = NewPiece(name="panel", ring=tapered(length, wide, narrow), allowance=quarter, drawn=Line.CUT)
    kept = patterns.add(workroom, "ring", [piece]).pieces[0]
    assert kept.cut_line.bounds == pytest.approx((0, -wide / 2, length, wide / 2))
    assert [16 * (width / float(INCH) - 0.5) for width in (wide, narrow)] == pytest.approx([50.00, 30.67], abs=0.005)
    # Measured square to the slanted sides an allowance takes a little more than the rule: never less, and under 1 mm here.
    sewn = widths(kept.sewing_line)
    assert sewn[0] < wide - 2 * quarter
    assert sewn[0] == pytest.approx(wide - 2 * quarter, abs=2)


def widths(shape: Polygon) -> tuple[float, float]:
    """Width across the grain at either end of a panel with straight ends."""
    low, _, high, _ = shape.bounds
    ends = []
    for end in (low, high):
        ys = [y for x, y in shape.exterior.coords if abs(x - end) < 1e-6]
        ends.append(max(ys) - min(ys))
    return ends[0], ends[1]


@pytest.mark.parametrize(
    ("said", "kind", "why"),
    [
        ({"name": ""}, Refused, "no name"),
        ({"name": "CUFF"}, Taken, "has a piece 'CUFF' already"),
        ({"ring": RECTANGLE[:2]}, BadOutline, "2 points"),
        ({"ring": ((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0))}, BadOutline, "crosses itself"),
        ({"allowance": -1}, Refused, "allowance is -1"),
        ({"allowance": 301}, Refused, "allowance is 301"),
        ({"allowance": float("nan")}, Refused, "allowance is nan"),
        ({"allowance": (1, 2)}, Refused, "2 allowances are given for 4 sides"),
        ({"allowance": 30.0, "drawn": Line.CUT}, BadOutline, "nothing to sew"),
        ({"grain_angle": float("inf")}, Refused, "grain angle is inf"),
        ({"off_grain": 46}, Refused, "off grain is 46"),
        ({"off_grain": -1}, Refused, "off grain is -1"),
    ],
)
def test_bad_pieces_change_nothing(
    workroom: Workroom, stash_file: Path, said: dict[str, object], kind: type[Refused], why: str
) -> None:
    patterns.add(workroom, "shirt", [NewPiece(name="cuff", ring=RECTANGLE)])
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        patterns.add_piece(workroom, "shirt", NewPiece(**({"name": "collar", "ring": RECTANGLE} | said)))  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_a_pattern_is_one_or_nothing(workroom: Workroom) -> None:
    with pytest.raises(BadOutline):
        patterns.add(workroom, "shirt", [NewPiece(name="cuff", ring=RECTANGLE), NewPiece(name="collar", ring=RECTANGLE[:2])])
    assert patterns.every(workroom) == ()


def test_names_of_patterns(workroom: Workroom) -> None:
    patterns.add(workroom, "Shirt")
    assert patterns.get(workroom, "SHIRT").pieces == ()
    with pytest.raises(Taken):
        patterns.add(workroom, "shirt")
    with pytest.raises(Unknown) as refusal:
        patterns.get(workroom, "shrit")
    assert refusal.value.close == ("Shirt",)
    added = patterns.add_piece(
        workroom, "shirt", NewPiece(name="cuff", ring=RECTANGLE, one_way=True, hidden=True, off_grain=3)
    )
    assert patterns.get(workroom, "shirt").pieces == (added,)
    assert (added.one_way, added.hidden, added.left_and_right, added.off_grain) == (True, True, False, 3)


@pytest.mark.parametrize("sizes", [(0, 1, 1), (1, -1, 1), (1, 1, float("nan"))])
def test_tapered_panels_that_are_none(sizes: tuple[float, float, float]) -> None:
    with pytest.raises(Refused):
        tapered(*sizes)


@given(length=st.floats(20, 300), wide=st.floats(20, 300), narrow=st.floats(20, 300))
def test_trued_ends_are_square_to_the_sides_and_keep_their_measures(length: float, wide: float, narrow: float) -> None:
    """A frustum's gore is an annular sector: its ends are arcs about the point where its straight sides meet, so that every
    corner is a right angle (elementary geometry of a developable cone)."""
    assume(0.001 < abs(wide - narrow) / (2 * length) < 0.9)
    ring = tapered(length, wide, narrow, trued=True)
    shape = Polygon(ring)
    assert shape.is_valid
    assert shape.exterior.is_ccw
    centre = shape.intersection(LineString([(-999, 0), (999, 0)]))
    assert centre.bounds == pytest.approx((0, 0, length, 0), abs=1e-6)
    # The sides meet on the centre line, as far off as the ends' widths ask: similar triangles, along the sides themselves.
    apex = (length * wide / (wide - narrow), 0.0)
    for chord, at in ((wide, 0.0), (narrow, length)):
        radius = abs(apex[0] - at)
        corners = [point for point in ring if math.dist(point, apex) == pytest.approx(radius, abs=1e-6)]
        assert sorted(y for _, y in corners) == pytest.approx([-chord / 2, chord / 2], abs=1e-6)
        # The pieces between touch the arc from outside, a tenth of a millimetre off at most.
        end = [point for point in ring if radius - 1e-6 <= math.dist(point, apex) <= radius + ARC_WITHIN + 1e-6]
        assert len(end) >= 4
    for i, corner in enumerate(ring):
        before, after = ring[i - 1], ring[(i + 1) % len(ring)]
        if any(math.dist(corner, apex) == pytest.approx(abs(apex[0] - at), abs=1e-6) for at in (0.0, length)):
            sides = [(x - corner[0], y - corner[1]) for x, y in (before, after)]
            assert sum(a * b for a, b in zip(*sides, strict=True)) == pytest.approx(
                0, abs=1e-6 * math.hypot(*sides[0]) * length
            )


def test_ends_too_unlike_to_be_trued() -> None:
    with pytest.raises(Refused, match="too unlike for 50 mm"):
        tapered(50, 150, 20, trued=True)
    assert tapered(50, 20, 20, trued=True) == tapered(50, 20, 20)


@given(shape=stars(least=60), allowance=st.floats(0, 10), angle=st.floats(-180, 180))
def test_turning_the_drawing_with_its_grain_line_changes_nothing(shape: Polygon, allowance: float, angle: float) -> None:
    """A pattern piece may lie on the table as it likes."""
    from stash.edges import drawn
    from stash.piece_making import _lines

    plain = NewPiece(name="p", ring=ring_of(shape), allowance=allowance)
    turned = NewPiece(
        name="p", ring=ring_of(affinity.rotate(shape, angle, origin=(0, 0))), allowance=allowance, grain_angle=angle
    )
    wholes = [drawn(piece.ring, piece.allowance, (), piece.grain_angle, "p") for piece in (plain, turned)]
    cut_lines = [_lines(whole, Line.SEWING, "p")[1] for whole in wholes]
    assert cut_lines[0].symmetric_difference(cut_lines[1]).area < 1e-3
