"""pyclipper's areas, overlays and offsets against shapely's: two general-purpose reference libraries that share no code
(A. Johnson's Clipper, after Vatti's algorithm; GEOS, after the JTS). The engine uses the first, its check the second."""

from __future__ import annotations

import math
from typing import Any

import pyclipper
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon

from nesting import Ring, mend_ring, ring_of

SCALE = 10_000
"""pyclipper works on whole numbers: ten thousandths of a mm."""


@st.composite
def rings(draw: st.DrawFn) -> Ring:
    """A ring seen whole from its middle, anywhere within 500 mm of the origin."""
    radii = draw(st.lists(st.integers(20, 300), min_size=3, max_size=12))
    x, y = draw(st.integers(-500, 500)), draw(st.integers(-500, 500))
    turn = draw(st.floats(0, math.tau))
    angles = [turn + math.tau * i / len(radii) for i in range(len(radii))]
    return ring_of(mend_ring([(x + r * math.cos(a), y + r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]))


def path(ring: Ring) -> list[tuple[int, int]]:
    return [(round(x * SCALE), round(y * SCALE)) for x, y in ring]


def area(paths: list[Any]) -> float:
    """The area of what Clipper gives: outer rings run one way, holes the other."""
    return float(sum(pyclipper.Area(each) for each in paths)) / SCALE**2


def overlay(kind: int, one: Ring, two: Ring) -> float:
    clipper = pyclipper.Pyclipper()
    clipper.AddPath(path(one), pyclipper.PT_SUBJECT, True)
    clipper.AddPath(path(two), pyclipper.PT_CLIP, True)
    return area(clipper.Execute(kind, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO))


def offset(ring: Ring, distance: float, join: int) -> float:
    offsetter = pyclipper.PyclipperOffset(miter_limit=5.0, arc_tolerance=0.001 * SCALE)
    offsetter.AddPath(path(ring), join, pyclipper.ET_CLOSEDPOLYGON)
    return area(offsetter.Execute(distance * SCALE))


def rounding(*shapes: Polygon) -> float:
    """What snapping to the grid can change of an area: half a step along all edges."""
    return float(sum(shape.length for shape in shapes)) / SCALE + 1e-6


@given(rings())
def test_area(ring: Ring) -> None:
    shape = Polygon(ring)
    assert area([path(ring)]) == pytest.approx(shape.area, abs=rounding(shape))


@given(rings(), rings())
def test_overlays(one: Ring, two: Ring) -> None:
    a, b = Polygon(one), Polygon(two)
    for kind, expected in (
        (pyclipper.CT_INTERSECTION, a & b),
        (pyclipper.CT_UNION, a | b),
        (pyclipper.CT_DIFFERENCE, a - b),
        (pyclipper.CT_XOR, a ^ b),
    ):
        assert overlay(kind, one, two) == pytest.approx(expected.area, abs=2 * rounding(a, b))


@given(rings(), st.floats(0.5, 40))
def test_growing_round(ring: Ring, distance: float) -> None:
    shape = Polygon(ring)
    grown = shape.buffer(distance, quad_segs=64)
    # Arcs are drawn as lines by both: to 0.001 mm by Clipper, to (1 − cos(π/256)) of the distance by shapely.
    slack = grown.length * (0.001 + distance * (1 - math.cos(math.pi / 256)))
    assert offset(ring, distance, pyclipper.JT_ROUND) == pytest.approx(grown.area, abs=slack + rounding(shape))


@given(rings(), st.floats(0.5, 40))
def test_drawing_in(ring: Ring, distance: float) -> None:
    shape = Polygon(ring)
    drawn_in = shape.buffer(-distance, quad_segs=64)
    slack = shape.length * (0.001 + distance * (1 - math.cos(math.pi / 256)))
    assert offset(ring, -distance, pyclipper.JT_ROUND) == pytest.approx(drawn_in.area, abs=slack + rounding(shape))


@given(st.integers(20, 400), st.integers(20, 400), st.floats(-30, 60), st.floats(0.5, 30))
def test_growing_with_mitres(length: int, width: int, slant: float, distance: float) -> None:
    """Of corners blunt enough that neither library cuts a mitre off, where their limits mean different things."""
    ring: Ring = ((0, 0), (length + 120.0, 0), (length + 60.0 + slant, width), (60.0 + slant / 2, width))
    shape = Polygon(ring)
    assume(max(_turns(ring)) < math.radians(150))
    grown = shapely.buffer(shape, distance, join_style="mitre", mitre_limit=5.0)
    assert offset(ring, distance, pyclipper.JT_MITER) == pytest.approx(grown.area, abs=2 * rounding(grown))


def _turns(ring: Ring) -> list[float]:
    """By how much the outline turns at each corner."""
    corners = zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True)
    return [
        abs(math.remainder(math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(a[1] - b[1], a[0] - b[0]), math.tau))
        for a, b, c in corners
    ]
