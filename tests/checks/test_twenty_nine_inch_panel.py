"""*Common practice, no source*: a panel whose length is 7/48, wide end 1/8 and narrow end 1/12 of a 29 in measure; sixteen of
them, with quarter-inch seams, cut as four tracings through four layers.

The arithmetic is elementary: an inch is 25.4 mm exactly (international yard and pound agreement, 1959), a convex outline grown
by d with mitred corners gains P·d + d²·Σ cot(θ/2) of area, P its rim and θ its corners' inner angles.
"""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest
from shapely import Polygon, affinity

from cli.units import length
from nesting import Case, Panel, Result, Sheet, solve
from stash import Workroom, patterns

MEASURE = Fraction("25.4") * 29  # mm
LONG, WIDE, NARROW = MEASURE * 7 / 48, MEASURE / 8, MEASURE / 12
SEAM = 6.35


def test_the_measures_are_read_exactly() -> None:
    assert (
        length("7/48 of 29 in")
        == LONG
        == Fraction("107.4208333333333333333") + Fraction(1, 3 * 10**19)
        == Fraction(128905, 1200)
    )
    assert length("1/8 of 29 in") == WIDE == Fraction("92.075")
    assert length("1/12 of 29 in") == NARROW
    assert length("1/4 in") == Fraction("6.35")


@pytest.fixture
def piece(tmp_path: Path) -> patterns.Piece:
    ring = patterns.tapered(float(LONG), float(WIDE), float(NARROW))
    with Workroom.open(tmp_path / "stash.fent") as workroom:
        pattern = patterns.add(workroom, "tapered", [patterns.NewPiece(name="panel", ring=ring, allowance=SEAM)])
    return pattern.pieces[0]


def test_the_sewing_line_and_the_cut_line(piece: patterns.Piece) -> None:
    """The cut line is the sewing line grown by the seam, and each of its sides runs a seam's width outside."""
    sewing, cut = piece.sewing_line, piece.cut_line
    assert sewing.area == pytest.approx(float(LONG * (WIDE + NARROW) / 2))
    slope = math.atan2(float(WIDE - NARROW) / 2, float(LONG))
    wide_corner, narrow_corner = math.pi / 2 - slope, math.pi / 2 + slope
    mitres = 2 / math.tan(wide_corner / 2) + 2 / math.tan(narrow_corner / 2)
    assert cut.area == pytest.approx(sewing.area + sewing.length * SEAM + SEAM**2 * mitres, abs=1e-3)
    assert len(cut.exterior.coords) == len(sewing.exterior.coords) == 5
    assert cut.bounds[2] - cut.bounds[0] == pytest.approx(float(LONG) + 2 * SEAM)
    assert cut.exterior.distance(sewing) == pytest.approx(SEAM)


def room_for_four(cut: Polygon, spare: float) -> tuple[float, float]:
    """Length and width of the least rectangle for four tracings laid head to foot, side against side, and `spare` more.

    Head to foot the slanting sides are parallel and meet along their whole length, so each pair takes up wide + narrow across;
    the last slant sticks out by half the difference of the ends.
    """
    ends = [
        max(y) - min(y)
        for y in ([y for x, y in cut.exterior.coords if abs(x - at) < 1] for at in (cut.bounds[0], cut.bounds[2]))
    ]
    return cut.bounds[2] - cut.bounds[0] + spare, 2 * sum(ends) + abs(ends[0] - ends[1]) / 2 + spare


def solve_on(cut: Polygon, plies: int, *, narrower: float = 0.0) -> tuple[Case, Result]:
    long, wide = room_for_four(cut, spare=1.0)
    ring = ((0.0, 0.0), (long, 0.0), (long, wide - narrower), (0.0, wide - narrower))
    outline = tuple((x, y) for x, y in cut.exterior.coords[:-1])
    case = Case(sheets=(Sheet("stack", ring, plies=plies),), panels=(Panel("panel", outline, copies=4 * plies),))
    return case, solve(case, rounds=40, seed=1)


def test_four_tracings_through_four_layers_make_sixteen(piece: patterns.Piece) -> None:
    case, result = solve_on(piece.cut_line, plies=4)
    assert len(result.placements) == 4
    assert result.placed == 16
    assert result.complete
    assert result.bound == 16
    laid = [affinity.translate(affinity.rotate(piece.cut_line, p.turn, origin=(0, 0)), p.x, p.y) for p in result.placements]
    assert {p.turn % 360 for p in result.placements} == {0, 180}
    assert all(Polygon(case.sheets[0].outline).buffer(0.01).contains(shape) for shape in laid)
    assert all(a.intersection(b).area < 0.02 * a.length for n, a in enumerate(laid) for b in laid[:n])


def test_a_stack_a_little_too_narrow_does_not_make_sixteen(piece: patterns.Piece) -> None:
    """3 mm less across than four tracings need: three tracings, twelve panels, and it is not called complete."""
    _, result = solve_on(piece.cut_line, plies=4, narrower=4.0)
    assert result.placed == 12
    assert not result.complete
    assert result.bound is None or result.bound >= 12
