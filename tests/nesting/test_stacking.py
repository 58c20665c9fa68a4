"""Plies on one another: where a panel of the stack lies on each, what they share, and what is cut through them."""

from __future__ import annotations

import math
from collections import Counter

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from nesting import (
    Case,
    Flaw,
    Layer,
    Lie,
    Panel,
    Placement,
    Ply,
    Result,
    Sheet,
    Wanted,
    best_fold,
    examine,
    fill_stack,
    folded,
    from_ply,
    in_stack,
    lay_out,
    mirrors,
    on_ply,
    proving_measure,
    solve,
    ways_of,
)
from nesting.bounds import bound_copies
from nesting.odd_plies import deepest
from nesting.stacking import shared
from nesting.tracing import copy_on, tracings_wanted

from .test_tapered_strip import LONG, PANEL


def rectangle(length: float, width: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


HANDED = ((0.0, 0.0), (90.0, 0.0), (60.0, 40.0), (0.0, 40.0))
"""A panel that no turn makes its own mirror."""
LEFT = Panel("cuff, left", HANDED, 4)
RIGHT = Panel("cuff, right", tuple((x, -y) for x, y in HANDED), 4)
MM = st.floats(-400, 400)
LIES = st.builds(Lie, MM, MM, st.sampled_from([0.0, 180.0]), st.booleans())


# --- where things lie -----------------------------------------------------------------------------------------------------


@given(LIES, MM, MM, st.sampled_from([0.0, 180.0, 45.0, 33.3]), st.booleans())
@settings(max_examples=12, deadline=None)
def test_a_panel_of_the_stack_and_on_its_ply_is_the_same_cloth(
    lie: Lie, x: float, y: float, turn: float, flipped: bool
) -> None:
    """Held against shapely: the panel as it lies on the ply, carried into the stack, is the panel as it was traced there."""
    panel, ply = Panel("p", HANDED, 1), Ply(Sheet("s", rectangle(500, 300)), lie)
    traced = Placement("stack", "p", x, y, turn, flipped)
    own = on_ply(traced, ply)
    there = in_stack(lay_out(panel, own), lie)
    assert there.hausdorff_distance(lay_out(panel, traced)) < 1e-9
    assert lay_out(panel, from_ply(own, ply)).hausdorff_distance(there) < 1e-9
    assert own.flipped == (flipped != lie.flipped)


@given(LIES, LIES, MM, MM)
@settings(max_examples=40, deadline=None)
def test_one_lie_after_another_and_back(one: Lie, other: Lie, x: float, y: float) -> None:
    assert one.after(other).apply((x, y)) == pytest.approx(one.apply(other.apply((x, y))), abs=1e-9)
    assert one.back().apply(one.apply((x, y))) == pytest.approx((x, y), abs=1e-9)


def test_what_plies_share_is_cut_back_by_slip_and_has_the_flaws_of_all() -> None:
    spot = Flaw(((10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)), frozenset({"p"}))
    plies = [Ply(Sheet("a", rectangle(300, 200))), Ply(Sheet("b", rectangle(280, 240), flaws=(spot,)), Lie(x=10.0, y=-20.0))]
    common = shared(plies, 2.0)
    assert common is not None
    assert Polygon(common.outline).equals(shapely.box(12, 2, 288, 198))
    (grown,) = common.flaws
    assert Polygon(grown.ring).bounds == (18, -12, 32, 2)
    assert grown.spares == {"p"}
    assert shared([plies[0], Ply(Sheet("c", rectangle(10, 10)), Lie(x=900.0))], 0.0) is None


def test_a_hole_and_a_tear_of_any_ply_are_out_of_the_stack() -> None:
    hole = ((50.0, 50.0), (60.0, 50.0), (60.0, 60.0), (50.0, 60.0))
    tear = ((200.0, 20.0), (200.0, 40.0))
    under = Ply(Sheet("b", rectangle(300, 200), holes=(hole, tear)), Lie(x=300.0, y=0.0, turn=180.0, flipped=True))
    common = shared([Ply(Sheet("a", rectangle(300, 200))), under], 1.0)
    assert common is not None
    found = sorted(Polygon(ring).bounds for ring in common.holes)
    assert found == [(99.0, 19.0, 101.0, 41.0), (239.0, 49.0, 251.0, 61.0)]


def test_one_way_cloth_of_every_ply_keeps_its_way() -> None:
    napped = Sheet("a", rectangle(300, 200), turns=(0.0,))
    assert shared([Ply(napped), Ply(napped, Lie(y=200.0, flipped=True))], 0.0).turns == (0.0,)  # type: ignore[union-attr]
    assert shared([Ply(napped), Ply(napped, Lie(300.0, 200.0, 180.0))], 0.0).turns == ()  # type: ignore[union-attr]


def test_a_fold_makes_two_plies_the_second_of_the_other_hand_and_eats_cloth() -> None:
    near, far = folded(Sheet("s", rectangle(300, 210)), 100.0, 4.0)
    assert Polygon(near.sheet.outline).bounds == (0, 0, 300, 96)
    assert Polygon(far.sheet.outline).bounds == (0, 104, 300, 210)
    assert far.lie == Lie(y=200.0, flipped=True)
    own = on_ply(Placement("stack", "p", 10.0, 20.0), far)
    assert lay_out(Panel("p", HANDED, 1), own).bounds == (10, 140, 100, 180)
    assert own.flipped
    with pytest.raises(ValueError, match="leaves no cloth"):
        folded(Sheet("s", rectangle(300, 210)), 2.0, 4.0)


@pytest.mark.slow
def test_the_best_fold_of_an_outline_is_where_its_halves_cover_most() -> None:
    bitten = Polygon(rectangle(300, 200)).difference(shapely.box(0, 150, 200, 200))
    ring = tuple(bitten.exterior.coords[:-1])
    fold = best_fold(Sheet("s", ring))

    def doubled(y: float) -> float:
        return float(bitten.intersection(affinity.translate(affinity.scale(bitten, 1, -1, origin=(0, 0)), 0, 2 * y)).area)

    assert doubled(fold) >= max(doubled(y) for y in range(1, 200)) - 1e-6


# --- hands ----------------------------------------------------------------------------------------------------------------


def wanted(*panels: Panel, edge: float = 3.0, slip: float = 0.0, seconds: float = 0.05) -> Wanted:
    return Wanted(panels, 0.0, edge, slip, mirrors(panels), seconds)


@pytest.mark.slow
def test_face_to_face_plies_give_one_left_and_one_right() -> None:
    sheets = [Sheet(tag, rectangle(96, 46)) for tag in "ab"]
    panels = (LEFT, RIGHT)
    layers = [Layer((Ply(sheet),), ways_of(sheet, panels, mirrors(panels))) for sheet in sheets]
    asked = wanted(Panel("cuff, left", HANDED, 1), Panel("cuff, right", RIGHT.outline, 1))
    found = fill_stack(layers, asked, solve)
    assert found is not None
    assert len(found.tracings) == 1
    assert [ply.lie.flipped for ply in found.plies] == [False, True]
    copies = [copy.placement for copy in found.tracings[0].copies]
    assert Counter(p.panel for p in copies) == {"cuff, left": 1, "cuff, right": 1}
    assert not any(p.flipped for p in copies)


def test_a_panel_without_its_other_hand_is_never_cut_in_a_ply_turned_over() -> None:
    over = Ply(Sheet("b", rectangle(96, 46)), Lie(y=46.0, flipped=True))
    traced = Placement("stack", "cuff, left", 3.0, 3.0)
    alone, both, two_faced = (LEFT,), (LEFT, RIGHT), (Panel("cuff, left", HANDED, 4, flip=True),)
    assert copy_on(traced, 0, over, wanted(*alone), {p.id: p for p in alone}) is None
    copy = copy_on(traced, 0, over, wanted(*both), {p.id: p for p in both})
    assert copy is not None
    assert (copy.placement.panel, copy.placement.flipped) == ("cuff, right", False)
    copy = copy_on(traced, 0, over, wanted(*two_faced), {p.id: p for p in two_faced})
    assert copy is not None
    assert copy.placement.flipped


def test_a_symmetrical_panel_is_its_own_mirror_whichever_way_its_axis_runs() -> None:
    across = Panel("gore", PANEL, 1)  # its axis along the grain: flipped it is itself
    along = Panel("collar", ((0.0, 0.0), (90.0, 0.0), (70.0, 40.0), (20.0, 40.0)), 1)  # flipped and turned it is itself
    found = mirrors([across, along])
    assert {name: (mirror.panel, mirror.turn) for name, mirror in found.items()} == {
        "gore": ("gore", 0.0),
        "collar": ("collar", 180.0),
    }
    over = Ply(Sheet("s", rectangle(300, 100)), Lie(y=100.0, flipped=True))
    traced = Placement("stack", "collar", 10.0, 20.0)
    copy = copy_on(traced, 0, over, wanted(across, along), {"gore": across, "collar": along})
    assert copy is not None
    assert in_stack(lay_out(along, copy.placement), over.lie).hausdorff_distance(lay_out(along, traced)) < 1e-9


def test_panels_of_two_pieces_are_not_each_others_hands() -> None:
    found = mirrors([LEFT, RIGHT], kin={"cuff, left": 1, "cuff, right": 2})
    assert found == {}


@pytest.mark.parametrize(("left", "right", "over", "tracings"), [(4, 4, 2, 2), (1, 1, 1, 1), (3, 0, 0, 1), (3, 1, 1, 2)])
def test_the_fewest_tracings_of_two_hands(left: int, right: int, over: int, tracings: int) -> None:
    """Held against every choice: of `over` plies turned over and four (or two, three) in all."""
    count = {2: 4, 1: 2, 0: 3}[over]
    panels = (Panel("cuff, left", HANDED, left), Panel("cuff, right", RIGHT.outline, right))
    quota = tracings_wanted(wanted(*panels), [n < over for n in range(count)])
    up = count - over
    a, b = quota["cuff, left"], quota["cuff, right"]
    assert a * up + b * over >= left
    assert a * over + b * up >= right
    if (left, right) != (3, 1):
        assert a + b == tracings


def test_a_proving_measure_tells_the_hands_apart_and_is_none_where_there_are_none() -> None:
    shape = Polygon(HANDED)
    measure = proving_measure(shape)
    assert measure is not None
    assert measure.length == pytest.approx(math.dist((0, 0), (60, 40)))  # from the corners by hand
    other = proving_measure(affinity.scale(shape, 1, -1))
    assert other is not None
    assert (other.length, other.other) == pytest.approx((measure.other, measure.length))
    assert proving_measure(Polygon(PANEL)) is None
    assert proving_measure(Polygon(((0, 0), (90, 0), (70, 40), (20, 40)))) is None
    assert proving_measure(Polygon(((0, 0), (90, 0), (70, 40), (20, 40))), one_way=True) is not None


# --- what is cut through a stack ------------------------------------------------------------------------------------------


def stack_of(*widths: float) -> list[Layer]:
    """Rectangles of 116 mm along the grain, as layers."""
    sheets = [Sheet(f"N-{n}", rectangle(116.0, width)) for n, width in enumerate(widths, 1)]
    panel = Panel("panel", PANEL, 1)
    return [Layer((Ply(sheet),), ways_of(sheet, (panel,), mirrors([panel]))) for sheet in sheets]


def must_be_sound(found: object, asked: Wanted) -> None:
    """Each ply by itself, with shapely: its copies are legal with edge and slip, and coincide with the tracings."""
    from nesting import Stacked

    assert isinstance(found, Stacked)
    panels = {panel.id: panel for panel in asked.panels}
    for number, ply in enumerate(found.plies):
        mine = [(t, c.placement) for t in found.tracings for c in t.copies if c.ply == number]
        case = Case(asked.panels, (ply.sheet,), gap=asked.gap, edge=asked.edge + asked.slip)
        laid = tuple(placement for _, placement in mine)
        complete = len(laid) == sum(panel.copies for panel in asked.panels)
        assert not examine(case, Result(laid, len(laid), complete=complete)).faults
        for tracing, placement in mine:
            seen = in_stack(lay_out(panels[placement.panel], placement), ply.lie)
            assert seen.hausdorff_distance(lay_out(panels[tracing.placement.panel], tracing.placement)) < 0.05


@pytest.mark.slow
def test_four_plies_one_of_them_4_mm_too_narrow() -> None:
    """Four plies of 116 × 330, 330, 330 and 326 mm, either way: head to foot n panels take n × 76.73 + 15.35 mm across, so
    that 324 mm clear hold four and 320 mm three. Sixteen through all four plies are refused, naming the fourth; fifteen is
    the best, and the bounds of the plies prove it."""
    asked = wanted(Panel("panel", PANEL, 16))
    found = fill_stack(stack_of(330, 330, 330, 326), asked, solve)
    assert found is not None
    must_be_sound(found, asked)
    assert (found.through_all, found.copies, len(found.tracings)) == (12, 15, 4)
    (lack,) = found.too_small
    assert found.plies[lack.ply].sheet.id == "N-4"
    assert lack.by > 1.0
    x, y = lack.on_ply  # at an outer corner of the ply that is too narrow
    assert min(y, 326 - y) < 3.0
    assert 0 < x < 116
    cases = {
        width: Case((Panel("panel", PANEL, 5),), (Sheet("s", rectangle(116.0, width)),), edge=3.0) for width in (330.0, 326.0)
    }
    most = {
        width: bound_copies(case, 1.0, found=found).most for (width, case), found in zip(cases.items(), (4, 3), strict=True)
    }
    assert 3 * most[330.0] + most[326.0] == 15


def test_without_the_narrow_ply_all_sixteen_go_through() -> None:
    asked = wanted(Panel("panel", PANEL, 16))
    found = fill_stack(stack_of(330, 330, 330, 330), asked, solve)
    assert found is not None
    must_be_sound(found, asked)
    assert (found.through_all, found.copies, len(found.tracings), found.too_small) == (16, 16, 4, ())


def test_slip_is_kept_on_every_ply() -> None:
    """1.2 mm of slip take 2.4 mm off 330 mm of which 1.7 are to spare: only three go in."""
    asked = wanted(Panel("panel", PANEL, 16), slip=1.2)
    found = fill_stack(stack_of(330, 330), asked, solve)
    assert found is not None
    must_be_sound(found, asked)
    assert (found.copies, len(found.tracings)) == (6, 3)
    assert LONG + 2 * (3.0 + 1.2) < 116


@pytest.mark.parametrize(("slip", "cut"), [(0.0, True), (1.9, True), (2.1, False)])
def test_an_odd_ply_is_cut_only_where_it_keeps_edge_and_slip(slip: float, cut: bool) -> None:
    """A tracing 3 mm from the ply's rim, where 1 mm and the slip are asked."""
    panels = (LEFT,)
    ply = Ply(Sheet("odd", rectangle(98, 46)), Lie(x=1.0, y=-2.0))
    traced = Placement("stack", "cuff, left", 6.0, 1.0)  # from its left 5 mm, from its near edge 3 mm
    assert (copy_on(traced, 0, ply, wanted(*panels, edge=1.0, slip=slip), {"cuff, left": LEFT}) is not None) == cut


def test_no_more_copies_are_cut_than_are_wanted() -> None:
    asked = wanted(Panel("panel", PANEL, 5))
    found = fill_stack(stack_of(330, 330, 330), asked, solve)
    assert found is not None
    assert sorted(len(tracing.copies) for tracing in found.tracings) == [2, 3]


def test_the_deepest_point_against_every_choice() -> None:
    """Regions are boxes: in most of them at once, counted by looking at every group of boxes."""
    boxes = [shapely.box(x, y, x + 4, y + 3) for x, y in [(0, 0), (3, 2), (2, 1), (9, 9), (3.5, 9.5), (4, 3)]]
    most, (x, y) = deepest(boxes, [(100.0, 100.0)])
    groups = (
        n
        for n in range(1 << len(boxes))
        if not shapely.intersection_all([b for i, b in enumerate(boxes) if n >> i & 1]).is_empty
    )
    assert most == max(n.bit_count() for n in groups)
    assert sum(b.distance(shapely.Point(x, y)) < 1e-6 for b in boxes) == most
