"""How the outline of a remnant is measured: by points on a grid, as a rectangle, as a rectangle with bites. (`walking` and
`tying` are the other ways.)

Everything here is in the measurer's own coordinates, in mm, whichever face was up and however the grain lay;
`onto_grain` turns it onto the grain and mirrors it onto the right side, once, when the remnant is logged.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeVar

import numpy as np
from shapely import LineString, Polygon, affinity
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from nesting import OutlineFault, Point, Ring, mend_ring, mend_tear, ring_of

from . import telling
from .given import a_figure
from .refusals import BadOutline, Refused
from .tape import Tape, Unsure, carried, unsure_by
from .words import EdgeKind, Face, Way

SPOT_CORNERS = 12
"""Corners of a round spot: 3.5 % wider than it at most, as a spot's rim is never sharp."""
Side = tuple[Point, Point]
G = TypeVar("G", bound=BaseGeometry)
NEAR = 1e-6
"""mm within which two computed points are one: far below what a tape reads, far above what floating point loses."""


class Corner(StrEnum):
    """A corner of a rectangle lying with its length left to right: near is the edge towards you (y = 0)."""

    NEAR_LEFT = "near left"
    NEAR_RIGHT = "near right"
    FAR_RIGHT = "far right"
    FAR_LEFT = "far left"


class Border(StrEnum):
    """A side of a rectangle lying with its length left to right."""

    NEAR = "near"
    RIGHT = "right"
    FAR = "far"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class CornerBite:
    """Missing at a corner: `length` along the rectangle's length, `width` across it, mm; square, or straight across if
    `slanted`."""

    corner: Corner
    length: float
    width: float
    slanted: bool = False


@dataclass(frozen=True, slots=True)
class EdgeBite:
    """Missing along a side: from `start` (mm from the side's left or near end) for `length`, `depth` deep; square, or coming
    to a point half way along if `pointed`."""

    border: Border
    start: float
    length: float
    depth: float
    pointed: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """An outline as measured: its ring, and those of its sides that are not plainly cut, each with its kind.

    `way`: how it was measured. `within`: mm by which its least sure corner may be out, `area_within`: mm² by which its area
    may (± either way, nineteen times in twenty, see `tape`).
    """

    ring: Ring
    sides: tuple[tuple[Side, EdgeKind], ...] = ()
    way: Way = Way.GRID
    within: float | None = None
    area_within: float | None = None

    @property
    def rough(self) -> bool:
        """Whether only the largest rectangle on the grain is known."""
        return self.way is Way.ROUGH

    def by(self, way: Way, unsure: Unsure) -> Measured:
        """The same, measured in that way and out by that much."""
        return replace(self, way=way, within=unsure.corner, area_within=unsure.area)


def by_points(
    points: Sequence[Point], edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT, tape: Tape | None = None
) -> Measured:
    """A polygon by its corners on a grid, in order, either way round.

    `edges`: one kind for all sides, or one for each, the first from the first corner to the second.
    Raises BadOutline for a ring that is none, Refused for a wrong number of edges.
    """
    ring = tuple(points)
    mended(ring, "outline")  # refuses what is none; the corners are kept as given, since the edges count from them
    ring = tuple((float(x), float(y)) for x, y in ring)
    if len(ring) > 3 and ring[0] == ring[-1]:
        ring = ring[:-1]
    read = np.eye(2 * len(ring)) * (tape or Tape()).length_sigma ** 2
    return Measured(ring, _sides(ring, edges)).by(Way.GRID, unsure_by(ring, read))


def rectangle(
    length: float,
    width: float,
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
    *,
    rough: bool = False,
    tape: Tape | None = None,
) -> Measured:
    """A rectangle, `length` along the grain. `edges`: one kind, or near, right, far, left."""
    length = a_figure(length, "length", unit="mm")
    width = a_figure(width, "width", unit="mm")
    ring = _rectangle(length, width)
    mended(ring, "outline")
    sigma = (tape or Tape()).length_sigma
    read = carried(lambda sizes: _rectangle(*sizes), (length, width), (sigma, sigma))
    return Measured(ring, _sides(ring, edges)).by(Way.ROUGH if rough else Way.RECTANGLE, unsure_by(ring, read))


def _rectangle(length: float, width: float) -> Ring:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


def bitten(
    length: float,
    width: float,
    bites: Sequence[CornerBite | EdgeBite],
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
    tape: Tape | None = None,
) -> Measured:
    """A rectangle with pieces missing at its corners and sides; the sides of the bites count as cut.

    Raises Refused for a bite that is as large as the rectangle, overlaps another or cuts it in two.
    """
    whole = rectangle(length, width, edges)
    readings = (length, width, *(size for bite in bites for size in _sizes(bite)))
    read = carried(
        lambda moved: _left_of(moved[0], moved[1], _resized(bites, moved[2:])),
        readings,
        [(tape or Tape()).length_sigma] * len(readings),
    )
    ring = _left_of(length, width, bites)
    sides = tuple((part, kind) for side, kind in whole.sides for part in _what_is_left(side, ring))
    return Measured(ring, sides).by(Way.BITES, unsure_by(ring, read))


def _left_of(length: float, width: float, bites: Sequence[CornerBite | EdgeBite]) -> Ring:
    """What the bites leave of a rectangle. Raises Refused."""
    left = Polygon(_rectangle(length, width))
    for number, bite in enumerate(bites, 1):
        where = f"bite {number} ({bite.corner if isinstance(bite, CornerBite) else bite.border})"
        missing = Polygon(_bite(bite, length, width, where))
        if not left.buffer(NEAR).covers(missing):
            raise Refused(
                "it reaches into another bite", where=where, expected="bites that do not overlap", next="Give both as one bite"
            )
        rest = left.difference(missing)
        if rest.geom_type != "Polygon" or rest.interiors:
            raise Refused("it cuts the remnant in two", where=where, expected="one piece", next="Log the parts one by one")
        left = rest
    return from_near_left(ring_of(mended(left.exterior.coords, "outline")))


def from_near_left(ring: Ring) -> Ring:
    """The same ring, begun at the corner that is nearest near left: A, where a person looks for it.

    >>> from_near_left(((9, 0), (9, 5), (0, 5), (1, 0)))
    ((1, 0), (9, 0), (9, 5), (0, 5))
    """
    first = min(range(len(ring)), key=lambda i: (ring[i][0] + ring[i][1], ring[i]))
    return ring[first:] + ring[:first]


def _sizes(bite: CornerBite | EdgeBite) -> tuple[float, ...]:
    """The readings of a bite; where it begins is none where it begins at the side's end."""
    if isinstance(bite, CornerBite):
        return (bite.length, bite.width)
    return (bite.start, bite.length, bite.depth) if bite.start else (bite.length, bite.depth)


def _resized(bites: Sequence[CornerBite | EdgeBite], sizes: Sequence[float]) -> list[CornerBite | EdgeBite]:
    """The same bites with other readings."""
    left = list(sizes)
    found: list[CornerBite | EdgeBite] = []
    for bite in bites:
        mine, left = left[: len(_sizes(bite))], left[len(_sizes(bite)) :]
        if isinstance(bite, CornerBite):
            found.append(replace(bite, length=mine[0], width=mine[1]))
        else:
            found.append(replace(bite, start=mine[0] if bite.start else 0.0, length=mine[-2], depth=mine[-1]))
    return found


def area_of(ring: Ring) -> float:
    """The area within a ring, mm²."""
    return float(Polygon(ring).area)


def mended(points: Iterable[Sequence[float]], where: str) -> Polygon:
    """The polygon of a ring, as `nesting.mend_ring` makes it. Raises BadOutline in its words."""
    try:
        return mend_ring(points)
    except OutlineFault as fault:
        raise BadOutline(str(fault), where=where) from fault


def spot(ring: Ring, where: str) -> Polygon | LineString:
    """The shape of a fault: a polygon, or a line where two points give a tear. Raises BadOutline."""
    try:
        return mend_tear(ring) if len(ring) == 2 else mend_ring(ring)
    except OutlineFault as fault:
        raise BadOutline(str(fault), where=where) from fault


def round_spot(x: float, y: float, across: float) -> Ring:
    """The ring of a round hole or flaw told by its middle and how wide it is (mm): it holds the whole circle."""
    across = a_figure(across, "width of the spot", unit="mm")
    radius = across / 2 / math.cos(math.pi / SPOT_CORNERS)
    angles = (2 * math.pi * (i + 0.5) / SPOT_CORNERS for i in range(SPOT_CORNERS))
    return tuple((x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles)


def onto_grain(shape: G, grain_angle: float, *, face_up: Face, against: bool) -> G:
    """A shape as measured, turned so that the grain arrow is +x, mirrored across the grain if the wrong side was up, and
    turned head to foot if its nap ran against the arrow. Polygons come out counter-clockwise."""
    turned = affinity.rotate(shape, -grain_angle, origin=(0, 0))
    if face_up is Face.WRONG:
        turned = affinity.scale(turned, 1, -1, origin=(0, 0))
    if against:
        turned = affinity.rotate(turned, 180, origin=(0, 0))
    settled: G = orient(turned) if isinstance(turned, Polygon) else turned
    return settled


def _sides(ring: Ring, edges: EdgeKind | Sequence[EdgeKind]) -> tuple[tuple[Side, EdgeKind], ...]:
    """The sides of a ring that are not plainly cut, each with its kind."""
    kinds = [EdgeKind(edges)] * len(ring) if isinstance(edges, str) else [EdgeKind(edge) for edge in edges]
    if len(kinds) != len(ring):
        raise Refused(
            f"{len(kinds)} edges are given for {len(ring)} sides",
            where="edges",
            expected=f"one kind for all ({', '.join(EdgeKind)}), or one for each side in order",
        )
    sides = ((point, ring[(i + 1) % len(ring)]) for i, point in enumerate(ring))
    return tuple((side, kind) for side, kind in zip(sides, kinds, strict=True) if kind is not EdgeKind.CUT)


def _bite(bite: CornerBite | EdgeBite, length: float, width: float, where: str) -> Ring:
    """The ring of what a bite takes from a rectangle."""
    if isinstance(bite, CornerBite):
        # A slant may take off a whole side, as where an end was cut askew; it leaves the corner opposite in any case.
        dx = _within(bite.length, length, "length", where, whole=bite.slanted)
        dy = _within(bite.width, width, "width", where, whole=bite.slanted)
        right = bite.corner in (Corner.NEAR_RIGHT, Corner.FAR_RIGHT)
        far = bite.corner in (Corner.FAR_LEFT, Corner.FAR_RIGHT)
        x, y = length if right else 0.0, width if far else 0.0
        inx, iny = (x - dx if right else dx), (y - dy if far else dy)
        return ((x, y), (inx, y), (x, iny)) if bite.slanted else ((x, y), (inx, y), (inx, iny), (x, iny))
    along, across = (length, width) if bite.border in (Border.NEAR, Border.FAR) else (width, length)
    start = a_figure(bite.start, f"{where}: start", unit="mm", above=False)
    end = start + a_figure(bite.length, f"{where}: length", unit="mm")
    if end > along:
        raise Refused(
            f"it ends at {telling.fine(end)} of a side of {telling.fine(along)}",
            where=where,
            expected="a bite within the side",
        )
    depth = _within(bite.depth, across, "depth", where)
    deep = [(start + end) / 2] if bite.pointed else [end, start]
    on_side = [(start, 0.0), (end, 0.0), *((at, depth) for at in deep)]
    return {
        Border.NEAR: tuple(on_side),
        Border.FAR: tuple((x, width - y) for x, y in on_side),
        Border.LEFT: tuple((y, x) for x, y in on_side),
        Border.RIGHT: tuple((length - y, x) for x, y in on_side),
    }[bite.border]


def _within(given: float, most: float, what: str, where: str, *, whole: bool = False) -> float:
    """A measure of a bite, which must leave something of the rectangle unless it may be the `whole` of a side."""
    value = a_figure(given, f"{where}: {what}", unit="mm")
    if value > most or (value == most and not whole):
        raise Refused(
            f"its {what} is {telling.fine(value)} of {telling.fine(most)}",
            where=where,
            expected=f"less than {telling.fine(most)}",
        )
    return value


def _what_is_left(side: Side, ring: Ring) -> Iterable[Side]:
    """The parts of a rectangle's side that are still on the rim after the bites."""
    kept = Polygon(ring).exterior.intersection(LineString(side))
    parts = getattr(kept, "geoms", [kept])
    for part in parts:
        if part.length > NEAR:
            first, *_, last = part.coords
            yield ((first[0], first[1]), (last[0], last[1]))
