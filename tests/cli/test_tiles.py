"""Tiles: between them they hold the drawing, each laps over the next as far as was promised, and none is empty."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, union_all

from cli.papers import paper_named
from cli.tiles import FOOT, FREE, Tiles, tiles

PAPERS = ["A5", "A4", "Letter", "A3", "A0"]


@st.composite
def drawings(draw: st.DrawFn) -> Polygon:
    """A bent shape, so that some pages of its box have nothing on them."""
    long, wide = draw(st.floats(30, 1600)), draw(st.floats(30, 1200))
    x, y = draw(st.floats(-500, 500)), draw(st.floats(-500, 500))
    shape = box(0, 0, long, wide).difference(box(long * 0.3, wide * 0.3, long + 1, wide + 1))
    return Polygon([(px + x, py + y) for px, py in shape.exterior.coords])


def parts(found: Tiles) -> list[Polygon]:
    return [box(p.x, p.y, p.x + p.width, p.y + p.height) for p in map(found.part, found.tiles)]


@settings(max_examples=12, deadline=None)
@given(drawings(), st.sampled_from(PAPERS), st.floats(0, 30))
def test_they_hold_the_drawing_and_lap_as_promised(ink: Polygon, paper: str, overlap: float) -> None:
    found = tiles(ink, paper_named(paper), overlap)
    held = parts(found)
    assert ink.difference(union_all(held)).area < 1e-6 * ink.area
    assert all(part.intersection(ink).area > 0 or part.touches(ink) for part in held)
    for tile in found.tiles:
        for other, along in ((found.beside(tile, 1, 0), True), (found.beside(tile, 0, 1), False)):
            if other is not None:
                one, next_one = held[tile.number - 1].bounds, held[other.number - 1].bounds
                lap = one[2] - next_one[0] if along else one[3] - next_one[1]
                assert lap == pytest.approx(overlap, abs=1e-6)
    assert [tile.number for tile in found.tiles] == list(range(1, len(held) + 1))
    assert [tile.number for tile in sorted(found.tiles, key=lambda t: (-t.row, t.column))] == list(range(1, len(held) + 1))


def test_no_page_is_spent_on_nothing() -> None:
    """An L of 1000 × 1000 mm, 60 mm wide: by counting, a full square would take 30 pages of A4."""
    ink = box(0, 0, 1000, 60).union(box(0, 0, 60, 1000))
    assert len(tiles(ink, paper_named("A4"), 10).tiles) < 12


def test_the_way_that_takes_fewer_pages_is_taken() -> None:
    assert tiles(box(0, 0, 250, 150), paper_named("A4"), 10).paper.width == 297
    assert tiles(box(0, 0, 150, 250), paper_named("A4"), 10).paper.width == 210


def test_the_window_leaves_what_printers_leave() -> None:
    found = tiles(box(0, 0, 900, 900), paper_named("Letter"), 10)
    x, y, width, height = found.window
    assert (x, y) == (FREE, FREE + FOOT)
    assert (x + width, y + height) == pytest.approx((found.paper.width - FREE, found.paper.height - FREE))


@pytest.mark.parametrize("overlap", [-1.0, 160.0])
def test_laps_that_leave_nothing_are_refused(overlap: float) -> None:
    with pytest.raises(ValueError, match="leave too little of A4"):
        tiles(box(0, 0, 900, 900), paper_named("A4"), overlap)
