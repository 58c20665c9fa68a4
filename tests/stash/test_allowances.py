"""Cut lines from sewing lines: against shapely's and pyclipper's own offsets where all allowances are alike, and by measure
where they are not."""

from __future__ import annotations

import math

import pyclipper
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, affinity, box

from nesting import ring_of
from stash.allowances import CRUMB, MITRE_LIMIT, Joint, grown, shrunk

from .shapes import stars

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


@given(shape=stars(), allowance=st.floats(1, 12))
def test_one_allowance_against_shapelys_mitred_buffer(shape: Polygon, allowance: float) -> None:
    """GEOS cuts a mitre at the limit too, but bevels a sharp tip a little otherwise: by one tip's area at most."""
    ours = grown(ring_of(shape), [allowance] * len(ring_of(shape)))
    theirs = Polygon(shape.buffer(allowance, join_style="mitre", mitre_limit=MITRE_LIMIT).exterior)
    tips = len(sharp_corners(shape)) * (MITRE_LIMIT * allowance) ** 2
    assert ours.symmetric_difference(theirs).area <= 1e-6 * shape.area + tips


def sharp_corners(shape: Polygon) -> list[int]:
    """Outward corners whose mitre is longer than the limit: under 2 × asin(1/limit), about 29°."""
    ring = ring_of(shape)
    found = []
    for i, (x, y) in enumerate(ring):
        (px, py), (nx, ny) = ring[i - 1], ring[(i + 1) % len(ring)]
        a, b = math.atan2(py - y, px - x), math.atan2(ny - y, nx - x)
        if (a - b) % (2 * math.pi) < 2 * math.asin(1 / MITRE_LIMIT) + 1e-6:
            found.append(i)
    return found


@given(width=st.floats(60, 200), length=st.floats(60, 200), slant=st.floats(-15, 15), allowance=st.floats(1, 12))
def test_one_allowance_against_pyclipper(width: float, length: float, slant: float, allowance: float) -> None:
    ring = ((0.0, 0.0), (length, slant), (length - slant, width), (slant, width))
    scale = 2**20
    offset = pyclipper.PyclipperOffset(miter_limit=MITRE_LIMIT)
    offset.AddPath([[round(x * scale), round(y * scale)] for x, y in ring], pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    (path,) = offset.Execute(allowance * scale)
    theirs = Polygon([(x / scale, y / scale) for x, y in path])
    assert grown(ring, [allowance] * 4).symmetric_difference(theirs).area < 1e-3


def test_each_edge_has_its_own_allowance() -> None:
    assert grown(SQUARE, [10, 20, 0, 40]).symmetric_difference(box(-40, -10, 120, 100)).area < 1e-3


def test_an_allowance_that_changes_on_a_straight_edge_makes_a_step() -> None:
    ring = ((0.0, 0.0), (50.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    assert grown(ring, [5, 15, 0, 0, 0]).area == pytest.approx(100 * 100 + 50 * 5 + 50 * 15)


PANEL = ((0.0, -40.0), (100.0, -25.0), (100.0, 25.0), (0.0, 40.0))


def test_an_end_without_allowance_is_cut_straight_through_those_of_its_sides() -> None:
    """Nothing sticks out beyond the line of the end, at its open corners no more than at its sharp ones."""
    cut_line = grown(PANEL, [10, 0, 10, 0])
    assert cut_line.bounds[0] == pytest.approx(0)
    assert cut_line.bounds[2] == pytest.approx(100)
    slant = math.hypot(100, 15) / 100
    assert cut_line.area == pytest.approx(100 * (65 + 20 * slant))
    back = shrunk(ring_of(cut_line), [10 if abs(x - nx) > 1 else 0 for (x, _), (nx, _) in around(cut_line)])
    assert back.symmetric_difference(Polygon(PANEL)).area < 1e-3


def around(shape: Polygon) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    ring = ring_of(shape)
    return [(point, ring[(i + 1) % len(ring)]) for i, point in enumerate(ring)]


def test_a_blunt_corner_is_cut_off_an_allowance_from_the_sewn_one() -> None:
    cut_line = grown(SQUARE, [10] * 4, [Joint.BLUNT, Joint.MITRE, Joint.MITRE, Joint.MITRE])
    assert Polygon(cut_line).exterior.distance(Point(0, 0)) == pytest.approx(10)
    assert cut_line.area == pytest.approx(120 * 120 - (10 * math.sqrt(2) - 10) ** 2)


@pytest.mark.parametrize("turn", [0.0, 35.0, 200.0])
@pytest.mark.parametrize("lean", [-20.0, 0.0, 20.0])
def test_a_hem_folded_back_lies_edge_to_edge_with_its_sides(lean: float, turn: float) -> None:
    """Folded at its sewing line, the hem covers exactly what of the piece and its side allowances lies as deep as it is."""
    ring = ((0.0, 0.0), (200.0, 0.0), (200.0 - lean, 100.0), (lean, 100.0))
    turned = ring_of(affinity.rotate(Polygon(ring), turn, origin=(0, 0)))
    drawn = grown(turned, [30, 10, 10, 10], [Joint.AFTER_FOLDED, Joint.BEFORE_FOLDED, Joint.MITRE, Joint.MITRE])
    cut_line = affinity.rotate(drawn, -turn, origin=(0, 0))
    hem = cut_line.intersection(box(-100, -100, 300, 0))
    above = cut_line.intersection(box(-100, 0, 300, 30))
    assert affinity.scale(hem, 1, -1, origin=(0, 0)).symmetric_difference(above).area < 1e-2
    assert hem.bounds[1] == pytest.approx(-30)


def test_a_hem_too_deep_for_its_edge_is_refused() -> None:
    with pytest.raises(ValueError, match="too deep"):
        grown(((-40, 0), (60, 0), (20, 40), (0, 40)), [200, 0, 0, 0], [Joint.AFTER_FOLDED, Joint.BEFORE_FOLDED] * 2)


def test_a_quarter_inch_is_6_35_mm() -> None:
    """25.4 mm to the inch, exactly (international inch, 1959); references.md: small curved seams ¼ in, 6.35 mm, not 6."""
    low_x, low_y, high_x, high_y = grown(SQUARE, [25.4 / 4] * 4).bounds
    assert (low_x, low_y, high_x, high_y) == pytest.approx((-6.35, -6.35, 106.35, 106.35))


def test_a_sharp_corner_is_cut_off_square_at_the_limit() -> None:
    """A corner of 10° would run 11.5 allowances out; it is cut at the limit, square to where it points."""
    tip = 1000 * math.tan(math.radians(5))
    ring = ((0.0, 0.0), (1000.0, -tip), (1000.0, tip))
    cut_line = grown(ring, [10, 10, 10])
    assert cut_line.bounds[0] == pytest.approx(-MITRE_LIMIT * 10)
    nose = [point for point in ring_of(cut_line) if point[0] < 0]
    assert [x for x, _ in nose] == pytest.approx([-40, -40])


def test_an_inward_corner_narrower_than_its_allowances_is_filled() -> None:
    """A slit 8 mm wide with 5 mm allowances on either side cannot be cut: the cut line passes over it."""
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (54.0, 60.0), (50.0, 20.0), (46.0, 60.0), (0.0, 60.0))
    assert grown(ring, [5] * 7).area == pytest.approx(110 * 70)


@settings(max_examples=50)
@given(shape=stars(), data=st.data())
def test_the_cut_line_keeps_each_edges_allowance(shape: Polygon, data: st.DataObject) -> None:
    """Just inside an allowance, square out from the middle of any edge, there is cloth; the piece itself is all in it."""
    ring = ring_of(shape)
    allowances = data.draw(st.lists(st.floats(0, 15), min_size=len(ring), max_size=len(ring)))
    cut_line = grown(ring, allowances)
    assert cut_line.buffer(3 * CRUMB).covers(shape)
    for i, (x, y) in enumerate(ring):
        nx, ny = ring[(i + 1) % len(ring)]
        length = math.dist((x, y), (nx, ny))
        out = 0.999 * allowances[i]
        middle = Point((x + nx) / 2 + out * (ny - y) / length, (y + ny) / 2 - out * (nx - x) / length)
        assert cut_line.buffer(3 * CRUMB).covers(middle)
    reach = MITRE_LIMIT * max(allowances) * 1.01 + 1e-6  # shapely's round buffer is a many-sided one, a little within
    assert shape.buffer(reach).covers(cut_line)


@given(shape=stars(least=120), allowance=st.floats(1, 8))
def test_what_is_left_inside_keeps_the_allowance_all_round(shape: Polygon, allowance: float) -> None:
    ring = ring_of(shape)
    sewing = shrunk(ring, [allowance] * len(ring))
    assert shape.buffer(-allowance * (1 - 1e-9)).covers(sewing.buffer(-1e-6))
    assert sewing.exterior.distance(LineString([*ring, ring[0]])) == pytest.approx(allowance, abs=1e-6)


def test_from_the_cut_line_and_back() -> None:
    ring = ((0.0, 0.0), (200.0, 10.0), (190.0, 90.0), (10.0, 80.0))
    there = shrunk(ring, [6, 10, 6, 15])
    # The new corners come in another order; the edges are found again by where they lie.
    again = grown(ring_of(there), [edge_of(ring, [6, 10, 6, 15], side) for side in sides(there)])
    assert again.symmetric_difference(Polygon(ring)).area < 1e-6


def sides(shape: Polygon) -> list[LineString]:
    ring = ring_of(shape)
    return [LineString([point, ring[(i + 1) % len(ring)]]) for i, point in enumerate(ring)]


def edge_of(ring: tuple[tuple[float, float], ...], allowances: list[float], side: LineString) -> float:
    middle = side.interpolate(0.5, normalized=True)
    away = [middle.distance(line) - width for line, width in zip(sides(Polygon(ring)), allowances, strict=True)]
    return allowances[min(range(len(away)), key=lambda i: abs(away[i]))]


def test_allowances_that_leave_nothing_or_two_parts() -> None:
    with pytest.raises(ValueError, match="nothing to sew"):
        shrunk(SQUARE, [50] * 4)
    waist = ((0.0, 0.0), (50.0, 40.0), (100.0, 0.0), (100.0, 100.0), (50.0, 60.0), (0.0, 100.0))
    with pytest.raises(ValueError, match="in two"):
        shrunk(waist, [12] * 6)


def test_allowances_that_close_round_a_gap() -> None:
    """A horseshoe whose ends meet round an opening: the middle could not be cut out."""
    horseshoe = (
        *((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (54.0, 100.0), (54.0, 80.0), (80.0, 80.0)),
        *((80.0, 20.0), (20.0, 20.0), (20.0, 80.0), (46.0, 80.0), (46.0, 100.0), (0.0, 100.0)),
    )
    with pytest.raises(ValueError, match="round a gap"):
        grown(horseshoe, [5] * 12)
