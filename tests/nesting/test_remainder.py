"""Leftovers (`nesting.remainder`): nothing of the sheet appears or vanishes, and what is kept is worth keeping."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity
from shapely.geometry import Point

from nesting import Ring, Sheet, holes_of, leftovers, mend_ring, ring_of

CLOTH: Ring = ((0, 0), (500, 0), (500, 300), (0, 300))


def box(x: float, y: float, x2: float, y2: float) -> Ring:
    return ((x, y), (x2, y), (x2, y2), (x, y2))


@st.composite
def cut_sheets(draw: st.DrawFn) -> tuple[Sheet, list[Ring], float, float]:
    """A ragged sheet with holes; cuts in a row that touch, overlap by rounding, leave a slit or stick out; what is kept."""
    radii = draw(st.lists(st.integers(150, 400), min_size=4, max_size=9))
    outline = tuple(
        (r * math.cos(2 * math.pi * i / len(radii)), r * math.sin(2 * math.pi * i / len(radii))) for i, r in enumerate(radii)
    )
    holes = []
    for _ in range(draw(st.integers(0, 2))):
        spot = Point(draw(st.integers(-200, 200)), draw(st.integers(-200, 200))).buffer(draw(st.integers(5, 60)), quad_segs=2)
        holes.append(ring_of(spot))
    slit = draw(st.sampled_from([0.0, 1e-12, 1e-9, 1e-5, -1e-6, 0.02, 2.0, 45.0]))
    taper = draw(st.integers(0, 25))
    turn = draw(st.sampled_from([0, 0, 90, 37]))
    cuts = []
    x = -250.0
    for _ in range(draw(st.integers(0, 5))):
        gore = Polygon([(x, -100), (x + 60, -100 + taper), (x + 60, 60 - taper), (x, 60)])
        cuts.append(ring_of(affinity.rotate(gore, turn, origin=(0, 0))))
        x += 60 + slit
    narrowest = draw(st.sampled_from([0.0, 1.0, 20.0, 40.0, 90.0]))
    return Sheet("s", outline, tuple(holes)), cuts, narrowest, draw(st.sampled_from([0.0, 500.0, 10_000.0]))


@given(cut_sheets())
def test_cloth_is_conserved(taken_apart: tuple[Sheet, list[Ring], float, float]) -> None:
    sheet, cuts, narrowest, smallest = taken_apart
    left = leftovers(sheet, cuts, narrowest=narrowest, smallest_area=smallest)
    holes = shapely.union_all([Polygon(hole) for hole in sheet.holes])
    assert left.cloth.area == pytest.approx(Polygon(sheet.outline).difference(holes).area, abs=0.05)
    cut = shapely.union_all([Polygon(cut) for cut in cuts], grid_size=1e-6).intersection(left.cloth)
    assert left.cut.area == pytest.approx(cut.area, abs=0.05)
    assert left.cut.area + sum(keeper.area for keeper in left.keepers) + left.rag.area == pytest.approx(
        left.cloth.area, abs=0.05
    )


@given(cut_sheets())
def test_keepers_are_sound_outlines_of_the_remainder(taken_apart: tuple[Sheet, list[Ring], float, float]) -> None:
    sheet, cuts, narrowest, smallest = taken_apart
    left = leftovers(sheet, cuts, narrowest=narrowest, smallest_area=smallest)
    remainder = left.cloth.difference(left.cut)
    for i, keeper in enumerate(left.keepers):
        assert keeper.is_valid
        assert keeper.area >= smallest
        assert remainder.buffer(1e-4).covers(keeper)
        for ring in (keeper.exterior, *keeper.interiors):
            mend_ring(ring.coords)  # can be stored and read again: no needle of rounding, no pinch
        assert all(keeper.intersection(other).area < 1e-3 for other in left.keepers[:i])
        # A strip of the narrowest width lies in it somewhere, whichever way.
        assert not keeper.buffer(-(narrowest / 2) * 0.99).is_empty
    assert [keeper.area for keeper in left.keepers] == sorted((keeper.area for keeper in left.keepers), reverse=True)
    assert left.rag.is_valid
    assert all(part.area > 0 for part in left.rag.geoms)


@given(cut_sheets())
def test_nothing_wide_goes_to_the_rag_bag(taken_apart: tuple[Sheet, list[Ring], float, float]) -> None:
    """What a strip of the narrowest width can lie in, in a part large enough, is kept."""
    sheet, cuts, narrowest, _ = taken_apart
    left = leftovers(sheet, cuts, narrowest=narrowest, smallest_area=0)
    assert left.rag.buffer(-(narrowest / 2) * 1.01 - 0.06).is_empty


def test_nothing_cut() -> None:
    left = leftovers(Sheet("s", CLOTH), [], narrowest=40, smallest_area=10_000)
    assert [keeper.equals(Polygon(CLOTH)) for keeper in left.keepers] == [True]
    assert left.rag.is_empty
    assert left.cut.is_empty


def test_all_cut() -> None:
    left = leftovers(Sheet("s", CLOTH), [CLOTH], narrowest=40, smallest_area=10_000)
    assert (left.keepers, left.rag.is_empty) == ((), True)


def test_a_strip_of_just_the_narrowest_width_is_kept_and_a_narrower_one_is_not() -> None:
    keep = leftovers(Sheet("s", CLOTH), [box(0, 0, 500, 260)], narrowest=40, smallest_area=0)
    assert [round(keeper.area) for keeper in keep.keepers] == [20_000]
    lose = leftovers(Sheet("s", CLOTH), [box(0, 0, 500, 260.1)], narrowest=40, smallest_area=0)
    assert (lose.keepers, round(lose.rag.area)) == ((), 19_950)


def test_corners_come_back_sharp() -> None:
    """An L left by a cut in the corner is kept whole, its inner and its outer corners too."""
    left = leftovers(Sheet("s", CLOTH), [box(0, 0, 300, 200)], narrowest=60, smallest_area=0)
    (keeper,) = left.keepers
    assert keeper.equals(Polygon(CLOTH) - Polygon(box(0, 0, 300, 200)))
    assert left.rag.is_empty


def test_a_needle_is_blunted() -> None:
    needle: Ring = ((0, 0), (1000, 0), (0, 100))
    left = leftovers(Sheet("s", needle), [], narrowest=40, smallest_area=0)
    (keeper,) = left.keepers
    # Where the needle is 40 wide its length is 600; the mitre keeps a little more of it.
    assert 600 < keeper.bounds[2] < 720
    assert left.rag.area == pytest.approx(Polygon(needle).area - keeper.area)


def test_a_strip_between_two_keepers_is_a_rag() -> None:
    dumb_bell: Ring = (
        *((0, 0), (100, 0), (100, 45), (300, 45), (300, 0), (400, 0)),
        *((400, 100), (300, 100), (300, 55), (100, 55), (100, 100), (0, 100)),
    )
    left = leftovers(Sheet("s", dumb_bell), [], narrowest=40, smallest_area=0)
    assert [keeper.area for keeper in left.keepers] == pytest.approx([10_000, 10_000], rel=1e-3)
    assert left.rag.area == pytest.approx(2_000, abs=20)


def test_gaps_between_panels_are_rags_and_leave_no_hairs() -> None:
    cuts = [box(10 + 102 * i, 0, 110 + 102 * i, 200) for i in range(4)]
    left = leftovers(Sheet("s", CLOTH), cuts, narrowest=30, smallest_area=1_000)
    (keeper,) = left.keepers
    for i in range(3):  # nothing of the gaps but a trace of their mouths
        assert keeper.intersection(shapely.box(110 + 102 * i, 0, 112 + 102 * i, 190)).area == 0
    assert left.rag.area >= 3 * 2 * 190


def test_a_slit_too_narrow_to_pick_anything_up_from_leaves_no_hair_at_all() -> None:
    cuts = [box(0, 0, 200, 200), box(200.05, 0, 500, 200)]
    (keeper,) = leftovers(Sheet("s", CLOTH), cuts, narrowest=40, smallest_area=0).keepers
    assert keeper.bounds[1] == pytest.approx(200, abs=1e-4)


def test_a_mitre_takes_nothing_beyond_a_wall() -> None:
    """A wedge that ends, still narrow, at a hole across it; behind that a tip, joined to the rest by a thin way round."""
    wedge = Polygon([(0, -100), (0, 100), (240, 4), (240, -4)])
    way = shapely.LineString([(215, 0), (215, -120), (-20, -120), (-20, 0), (10, 0)])
    cloth = wedge | way.buffer(2, cap_style="flat", join_style="mitre")
    wall = box(205, -30, 207, 30)
    sheet = Sheet("s", ring_of(cloth), (wall, *holes_of(cloth)))
    (keeper,) = leftovers(sheet, [], narrowest=60, smallest_area=0).keepers
    assert keeper.bounds[2] <= 205 + 1e-4


def test_a_keeper_round_a_cut_has_a_hole() -> None:
    left = leftovers(Sheet("s", CLOTH), [box(200, 100, 300, 200)], narrowest=40, smallest_area=0)
    (keeper,) = left.keepers
    assert keeper.equals(Polygon(CLOTH) - Polygon(box(200, 100, 300, 200)))


def test_small_parts_go_to_the_rag_bag() -> None:
    cuts = [box(100, 0, 400, 300)]
    left = leftovers(Sheet("s", CLOTH), cuts, narrowest=40, smallest_area=30_001)
    assert (left.keepers, left.rag.area) == ((), 60_000)


def test_a_hole_is_neither_kept_nor_thrown_away() -> None:
    left = leftovers(Sheet("s", CLOTH, holes=(box(0, 0, 100, 300), ((200, 10), (210, 30)))), [], narrowest=40, smallest_area=0)
    assert left.cloth.area == 120_000
    assert [keeper.area for keeper in left.keepers] == [120_000]


@pytest.mark.parametrize(
    "bad", [{"narrowest": -1.0}, {"narrowest": math.nan}, {"smallest_area": math.inf}, {"smallest_area": -5.0}]
)
def test_refuses_what_is_no_measure(bad: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        leftovers(Sheet("s", CLOTH), [], **({"narrowest": 40.0, "smallest_area": 0.0} | bad))
