"""Bounds: never below what is known to go in, on whatever kind of case; and in plain cases no higher."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting import Case, Flaw, Panel, Ring, Sheet
from nesting.bounds import SheetBound, area_offer, body_areas, bound_copies, most_placements
from nesting.bounds_program import Watch
from nesting.offers import LinearCut, Offer
from nesting.reading import read_case
from tests.checks.known_optima import (
    EQUAL_RECTANGLES,
    SQUARED_RECTANGLES,
    UNIT_SQUARES,
    EqualRectangles,
    rectangle,
    unit_squares,
)

from .shapes import GORE


def on(sheet: Sheet, *panels: Panel, gap: float = 0.0, edge: float = 0.0) -> Case:
    return Case(panels, (sheet,), gap=gap, edge=edge)


# --- never below the truth -----------------------------------------------------------------------------------------------


@st.composite
def lays(draw: st.DrawFn) -> tuple[Case, int]:
    """A lay made first, and a case that it is a lay of: the sheet is the panels' surroundings, with a hole between them."""
    gap, edge = draw(st.sampled_from([(0.0, 0.0), (2.0, 0.0), (3.0, 4.0)]))
    corners = draw(st.integers(3, 7))
    reach = draw(st.lists(st.floats(15, 50), min_size=corners, max_size=corners))
    ring = tuple(
        (r * math.cos(2 * math.pi * k / corners), r * math.sin(2 * math.pi * k / corners)) for k, r in enumerate(reach)
    )
    turns = draw(st.sampled_from([(0.0,), (0.0, 180.0), (0.0, 90.0)]))
    off = draw(st.sampled_from([0.0, 0.0, 1.0]))
    flip = draw(st.booleans())
    laid: list[shapely.Polygon] = []
    for _ in range(draw(st.integers(2, 14))):
        shape = shapely.Polygon(ring)
        if flip and draw(st.booleans()):
            shape = shapely.affinity.scale(shape, 1, -1, origin=(0, 0))
        turn = draw(st.sampled_from(turns)) + draw(st.floats(-off, off))
        shape = shapely.affinity.rotate(shape, turn, origin=(0, 0))
        shape = shapely.affinity.translate(shape, draw(st.floats(0, 250)), draw(st.floats(0, 160)))
        if all(shape.distance(other) > gap and not shape.intersects(other) for other in laid):
            laid.append(shape)
    room = shapely.union_all([shape.buffer(edge + 0.01, join_style="mitre") for shape in laid])
    cloth = room.convex_hull if draw(st.booleans()) else room.buffer(20).buffer(-20).union(room)
    cloth = max(getattr(cloth, "geoms", [cloth]), key=lambda p: p.area)
    laid = [shape for shape in laid if cloth.contains(shape.buffer(edge, join_style="mitre"))]
    spots: list[shapely.Polygon] = []
    for _ in range(draw(st.integers(0, 3))):
        x, y = draw(st.floats(0, 250)), draw(st.floats(0, 160))
        spot = shapely.Point(x, y).buffer(draw(st.floats(2, 9)), quad_segs=2)
        if cloth.contains(spot) and all(spot.distance(other) > max(edge, 0.1) for other in [*laid, *spots]):
            spots.append(spot)
    as_ring = [tuple(spot.exterior.coords)[:-1] for spot in spots]
    sheet = Sheet(
        "s",
        tuple(cloth.exterior.coords)[:-1],
        holes=tuple(tuple(hole.coords)[:-1] for hole in cloth.interiors) + tuple(as_ring[:1]),
        flaws=tuple(Flaw(r) for r in as_ring[1:]),
    )
    panel = Panel("p", ring, copies=len(laid) + 5, turns=turns, off_grain=off, flip=flip)
    return on(sheet, panel, gap=gap, edge=edge), len(laid)


def holds(lay: tuple[Case, int], effort: float) -> None:
    case, laid = lay
    one = SheetBound(case, 0)
    assert one.most() >= laid
    one.tighten_by_reach()
    assert one.most() >= laid
    one.tighten_by_weights(effort)
    assert one.most() >= laid


@settings(max_examples=3)
@given(lays())
def test_never_below_a_lay_that_was_made(lay: tuple[Case, int]) -> None:
    holds(lay, 0.02)


@pytest.mark.slow
@settings(max_examples=150)
@given(lays())
def test_never_below_many_lays_that_were_made(lay: tuple[Case, int]) -> None:
    holds(lay, 0.3)


@pytest.mark.parametrize("known", EQUAL_RECTANGLES, ids=lambda k: f"{k.length}x{k.width}-{k.a}x{k.b}")
def test_never_below_the_optimum_of_equal_rectangles(known: EqualRectangles) -> None:
    """Source: see `known_optima`."""
    bound = bound_copies(known.case(), 0.05, found=known.most)
    assert known.most <= bound.most <= known.by_area


@pytest.mark.parametrize("known", SQUARED_RECTANGLES, ids=lambda k: f"{k.length}x{k.width}")
def test_squared_rectangles_are_bounded_by_their_squares(known: object) -> None:
    """All squares go in, with nothing to spare: the bound is all of them."""
    case = known.case()  # type: ignore[attr-defined]
    assert bound_copies(case, 0.1, found=len(case.panels)).most == len(case.panels)


@pytest.mark.parametrize(("count", "side"), sorted(UNIT_SQUARES.items())[:4])
def test_unit_squares_at_any_angle(count: int, side: float) -> None:
    """E. Friedman, *Packing Unit Squares in Squares*, Electronic Journal of Combinatorics, Dynamic Survey 7."""
    case = unit_squares(count, side)
    case = replace(case, panels=(replace(case.panels[0], copies=count + 3),))
    one = SheetBound(case, 0)
    one.tighten_by_reach()
    assert one.most() >= count


def planted(benchmarks: Path) -> list[Path]:
    return sorted((benchmarks / "planted").glob("*.json"))


def test_never_below_what_was_planted(benchmarks: Path) -> None:
    """Sheets drawn round a lay: the bound holds it, and on these three quickly proves it to be the most."""
    for name in ("godet-24-5020", "sole-24-5028", "cuff-12-5031"):
        told = json.loads((benchmarks / "planted" / f"{name}.json").read_text())
        assert bound_copies(read_case(told), 0.02, found=told["planted"]).most == told["planted"]


@pytest.mark.slow
def test_never_below_any_that_was_planted(benchmarks: Path) -> None:
    proved = []
    for path in planted(benchmarks):
        told = json.loads(path.read_text())
        bound = bound_copies(read_case(told), 2.0)
        assert bound.most >= told["planted"], path.name
        proved.append(bound.most == told["planted"])
    assert sum(proved) >= 0.8 * len(proved)


# --- as low as the truth, where that is plain ------------------------------------------------------------------------------


SQUARE: Ring = rectangle(10.0, 10.0)


@pytest.mark.parametrize(
    ("side", "most"),
    [
        (9.9, 0),
        (10.0, 1),
        (18.0, 1),
        (20.0, 4),
        pytest.param(26.0, 4, marks=pytest.mark.slow),
        pytest.param(30.0, 9, marks=pytest.mark.slow),
    ],
    ids=lambda v: str(v),
)
def test_squares_on_a_square_sheet(side: float, most: int) -> None:
    """On the grain alone ⌊side/10⌋² go in: points a square's side apart, each under at most one square."""
    case = on(Sheet("s", rectangle(side, side)), Panel("p", SQUARE, copies=20, turns=(0.0,)))
    assert bound_copies(case, 1.0).most == most


def test_one_way_and_either_way_differ() -> None:
    """Two right triangles make a rectangle if one may be turned head to foot; the same way round only one goes in."""
    triangle = ((0.0, 0.0), (60.0, 0.0), (0.0, 40.0))
    sheet = Sheet("s", rectangle(60.0, 40.0))
    assert bound_copies(on(sheet, Panel("p", triangle, copies=5)), 0.5).most == 2
    assert bound_copies(on(sheet, Panel("p", triangle, copies=5, turns=(0.0,))), 0.5).most == 1
    assert bound_copies(on(replace(sheet, turns=(0.0,)), Panel("p", triangle, copies=5)), 0.5).most == 1
    assert bound_copies(on(replace(sheet, turns=(90.0,)), Panel("p", triangle, copies=5)), 0.5).most == 0


def test_off_the_grain_is_allowed_for() -> None:
    """A bar that is too long for the sheet lies on it askew: 100 × 2 across 98.5 × 30, 15° off the grain."""
    bar, sheet = rectangle(100.0, 2.0), Sheet("s", rectangle(98.5, 30.0))
    assert bound_copies(on(sheet, Panel("p", bar, copies=3, turns=(0.0,)))).most == 0
    assert bound_copies(on(sheet, Panel("p", bar, copies=3, turns=(0.0,), off_grain=15.0)), 0.1).most >= 1


def test_gap_and_edge_take_room() -> None:
    """k squares of 10 with gaps of 2 and edges of 3 need 12 k + 4."""
    for length, most in ((27.9, 1), (28.0, 2), (39.9, 2), (40.0, 3)):
        case = on(Sheet("s", rectangle(length, 16.0)), Panel("p", SQUARE, copies=9, turns=(0.0,)), gap=2.0, edge=3.0)
        assert bound_copies(case, 0.5).most == most


def test_holes_tears_and_flaws_take_room() -> None:
    """Two squares side by side; what lies in the middle of one of them leaves one, and what spares the panel leaves two."""
    strip, square = Sheet("s", rectangle(20.0, 10.0)), Panel("p", SQUARE, copies=9, turns=(0.0,))
    spot: Ring = ((3.0, 3.0), (6.0, 3.0), (5.0, 6.0))
    tear: Ring = ((3.0, 3.0), (5.0, 5.0))
    inner: Ring = ((6.5, 1.0), (9.0, 1.0), (9.0, 9.0), (6.5, 9.0))
    for sheet, panel, most in (
        (strip, square, 2),
        (replace(strip, holes=(spot,)), square, 1),
        (replace(strip, holes=(tear,)), square, 1),
        (replace(strip, flaws=(Flaw(spot),)), square, 1),
        (replace(strip, flaws=(Flaw(spot, frozenset({"p"})),)), square, 2),
        (replace(strip, flaws=(Flaw(spot),)), replace(square, hidden=True), 2),
        (replace(strip, flaws=(Flaw(spot),)), replace(square, sound=inner), 2),
    ):
        assert bound_copies(on(sheet, panel), 0.3, found=most).most == most


def test_corners_that_no_copy_reaches_do_not_count() -> None:
    """A disc-like sheet of 300 mm² and more corners than a square can use: reach says less than area."""
    star = tuple((r * math.cos(math.pi * k / 8), r * math.sin(math.pi * k / 8)) for k, r in enumerate([30.0, 10.0] * 8))
    one = SheetBound(on(Sheet("s", star), Panel("p", SQUARE, copies=9, turns=(0.0,))), 0)
    by_area = one.most()
    one.tighten_by_reach()
    assert by_area > one.most() >= 1
    assert one.how == ["reach"]


def test_parts_are_counted_for_themselves() -> None:
    """Two rooms of one and a half squares, joined by a corridor too narrow for any: two squares, though area says three."""
    sheet = Sheet(
        "s", ((0, 0), (15, 0), (15, 4), (20, 4), (20, 0), (35, 0), (35, 10), (20, 10), (20, 6), (15, 6), (15, 10), (0, 10))
    )
    one = SheetBound(on(sheet, Panel("p", SQUARE, copies=9, turns=(0.0,))), 0)
    assert one.most() == 3
    one.tighten_by_reach()
    assert one.most() == 2
    assert len(one.parts()) == 2


def test_several_panels_share_a_sheet() -> None:
    """Of a 20 × 10 sheet: two squares of 10, or one and two of 5 × 10, never three and more."""
    half = rectangle(5.0, 10.0)
    panels = (Panel("a", SQUARE, copies=2, turns=(0.0,)), Panel("b", half, copies=2, turns=(0.0,)))
    case = on(Sheet("s", rectangle(20.0, 10.0)), *panels)
    assert bound_copies(case, 0.5).most == 3
    one = SheetBound(case, 0)
    one.tighten_by_weights(0.5)
    for counts in ((2, 0), (1, 2), (0, 2)):
        assert all(
            sum(w * n for w, n in zip(cut.weights, counts, strict=True)) <= cut.limit * (1 + 1e-6) for cut in one.offer.cuts
        )
    assert any(sum(w * n for w, n in zip(cut.weights, (2, 1), strict=True)) > cut.limit for cut in one.offer.cuts)


def test_many_sheets_and_plies() -> None:
    """Two sheets for one square each, one of them in three plies; four copies, of five wanted."""
    panel = Panel("p", SQUARE, copies=5, turns=(0.0,))
    ring = rectangle(12.0, 12.0)
    case = Case((panel,), (Sheet("a", ring), Sheet("b", ring, plies=3), Sheet("c", rectangle(8.0, 80.0))))
    bound = bound_copies(case, 0.5)
    assert bound.most == 4
    assert [offer.most for offer in bound.offers] == [(1,), (1,), (0,)]
    none = replace(case, panels=(replace(panel, on=("c",)),))
    assert bound_copies(none, 0.5).most == 0


def test_the_offer_of_a_sheet() -> None:
    offer = area_offer(
        on(Sheet("s", rectangle(40.0, 25.0), holes=(((1, 1), (3, 1), (3, 2)),)), Panel("p", SQUARE, copies=3)), 0
    )
    assert offer.cost == pytest.approx(999.0)
    assert offer.most == (3,)
    assert offer.area == pytest.approx(999.0, rel=1e-2)


def test_same_effort_same_bound() -> None:
    case = on(Sheet("s", rectangle(250.0, 190.0)), Panel("p", GORE, copies=30), gap=2.0, edge=3.0)
    first, second = SheetBound(case, 0), SheetBound(case, 0)
    for one in (first, second):
        one.tighten_by_weights(0.1)
    assert first.offer == second.offer


def test_most_placements_takes_the_least_of_the_limits() -> None:
    offer = Offer("s", 1, 1.0, (4, 4), 100.0, (LinearCut((0.0, 1.0), 2.0),))
    assert most_placements(offer, [10.0, 10.0], [9, 9]) == 6
    assert most_placements(offer, [10.0, 30.0], [9, 9]) == 6
    assert most_placements(offer, [25.0, 50.0], [9, 9]) == 4
    assert body_areas(on(Sheet("s", SQUARE), Panel("p", SQUARE, copies=1)))[0] == pytest.approx(100.0, rel=1e-3)


def test_a_proof_that_no_one_waits_for_ends_at_its_next_step() -> None:
    class EnoughError(Exception):
        pass

    class Twenty(Watch):
        looked = 0

        def __call__(self) -> None:
            self.looked += 1
            if self.looked == 20:
                raise EnoughError

    watch = Twenty()
    with pytest.raises(EnoughError):
        bound_copies(on(Sheet("s", rectangle(34.0, 33.0)), Panel("p", SQUARE, copies=12, turns=(0.0,))), 8.0, watch=watch)
    assert watch.looked == 20
