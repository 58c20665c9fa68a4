"""Outlines as a person or a file gives them, made into polygons that can be trusted, or refused with a reason."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from enum import StrEnum

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from .forms import Point, Ring
from .tolerances import FARTHEST, MOST_POINTS, ON_LINE, SAME_POINT, SMALLEST_AREA, UNION_GRID


class Reason(StrEnum):
    """Why an outline is refused."""

    TOO_FEW = "too few points"
    TOO_MANY = "too many points"
    NOT_A_POINT = "not a point"
    NOT_A_NUMBER = "not a number"
    TOO_FAR = "too far out"
    NO_AREA = "no area"
    SPIKE = "spike"
    CROSSES = "crosses itself"
    PINCHED = "touches itself"


class OutlineFault(ValueError):  # noqa: N818 (a fault is what the trade calls it)
    """An outline that encloses no piece of cloth, or not one.

    `reason` names the kind; `index` is the point of the outline, counted from 0 as it was given, where that can be said;
    `at` the place, in mm, where that can be said.
    """

    def __init__(self, reason: Reason, words: str, index: int | None = None, at: Point | None = None) -> None:
        super().__init__(words)
        self.reason = reason
        self.index = index
        self.at = at


def mend_ring(points: Iterable[Sequence[float]], *, within: float = ON_LINE) -> Polygon:
    """The polygon of an outline: counter-clockwise, without doubled points, closing point or points on a straight line.

    `points`: (x, y) in mm, in either winding, the first repeated at the end or not. A point nearer than `within` mm to the
    line between its neighbours is dropped; every dropped point stays within that distance of the new outline. What is
    left is neither moved nor put in another order (it starts with the first point that is kept).

    Raises `OutlineFault`: fewer than three points, a coordinate that is not a finite number or lies absurdly far out, no
    area, a spike (out and back along one line), an edge that crosses or touches another.

    >>> mend_ring([(0, 0), (0, 40), (25, 40), (50, 40), (50, 0), (0, 0)]).wkt
    'POLYGON ((0 0, 50 0, 50 40, 0 40, 0 0))'
    >>> mend_ring([(0, 0), (50, 40), (50, 0), (0, 40)])
    Traceback (most recent call last):
    nesting.outlines.OutlineFault: the outline crosses itself at (25, 20): give its points in order, once round
    """
    given = _numbers(points)
    polygon = Polygon(given if _is_tidy(given, within) else _tidied(given, within))
    _refuse_crossing(polygon)
    if polygon.area < SMALLEST_AREA:
        raise OutlineFault(
            Reason.NO_AREA, f"the outline encloses {polygon.area:.3g} mm²: less than {SMALLEST_AREA:g} mm² cannot be booked"
        )
    return polygon if polygon.exterior.is_ccw else polygon.reverse()


def mend_tear(points: Iterable[Sequence[float]]) -> LineString:
    """The line of a tear, which is given by two points; raises `OutlineFault` as `mend_ring` does."""
    given = _numbers(points)
    if len(given) != 2:
        raise OutlineFault(Reason.TOO_FEW, f"a tear is a line between two points, not {_points(len(given))}")
    if math.dist(*given) < SAME_POINT:
        raise OutlineFault(Reason.NO_AREA, "the tear's two points are one: give both its ends, or a ring round it")
    return LineString(given)


def ring_of(polygon: Polygon) -> Ring:
    """The outer ring of a polygon, counter-clockwise, its first point not repeated.

    >>> ring_of(Polygon([(0, 0), (0, 2), (3, 0)]))
    ((0.0, 0.0), (3.0, 0.0), (0.0, 2.0))
    """
    return _as_ring(polygon.exterior, ccw=True)


def holes_of(polygon: Polygon) -> tuple[Ring, ...]:
    """The holes of a polygon, each as a counter-clockwise ring."""
    return tuple(_as_ring(hole, ccw=True) for hole in polygon.interiors)


def united(shapes: Iterable[BaseGeometry], grid: float = UNION_GRID) -> BaseGeometry:
    """The union of the shapes, by snap rounding (see `UNION_GRID`)."""
    return shapely.union_all(list(shapes), grid_size=grid)


def _as_ring(line: shapely.LinearRing, *, ccw: bool) -> Ring:
    points = shapely.get_coordinates(line)[:-1]
    if bool(line.is_ccw) != ccw:
        points = points[::-1]
        points = [*points[-1:], *points[:-1]]  # the first point stays the first
    return tuple((float(x), float(y)) for x, y in points)


def _points(count: int) -> str:
    return "1 point" if count == 1 else f"{count} points"


def _numbers(points: Iterable[Sequence[float]]) -> list[Point]:
    """The points as pairs of finite floats, in reach."""
    numbers: list[Point] = []
    for i, point in enumerate(points):
        if i >= MOST_POINTS:
            raise OutlineFault(Reason.TOO_MANY, f"the outline has more than {MOST_POINTS:,} points: thin them out", i)
        try:
            x, y = point
            x, y = float(x), float(y)
        except (TypeError, ValueError, OverflowError):
            words = f"point {i} of the outline is {point!r:.60}: expected two numbers, x and y"
            raise OutlineFault(Reason.NOT_A_POINT, words, i) from None
        if not (math.isfinite(x) and math.isfinite(y)):
            words = f"point {i} of the outline is ({x:g}, {y:g}): expected finite numbers of mm"
            raise OutlineFault(Reason.NOT_A_NUMBER, words, i)
        if abs(x) > FARTHEST or abs(y) > FARTHEST:
            words = f"point {i} of the outline is ({x:g}, {y:g}): over {FARTHEST:,.0f} mm from the origin; is the unit right?"
            raise OutlineFault(Reason.TOO_FAR, words, i)
        numbers.append((x, y))
    return numbers


def _is_tidy(ring: list[Point], within: float) -> bool:
    """Whether each point is plainly a corner, so that nothing is to be dropped: most outlines are, and this is quick."""
    if len(ring) < 3:
        return False
    points = np.array(ring)
    sides = points - points[np.arange(-1, len(ring) - 1)]
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    after = np.arange(1, len(ring) + 1) % len(ring)
    # Against both sides, not the chord between their far ends: of a spike that is as short as you like.
    cross = np.abs(sides[:, 0] * sides[after, 1] - sides[:, 1] * sides[after, 0])
    return bool((lengths >= SAME_POINT).all() and (cross > max(within, ON_LINE) * (lengths + lengths[after])).all())


def _tidied(given: list[Point], within: float) -> list[Point]:
    """The corners alone; refuses what has too few, encloses nothing or goes out and back."""
    kept = _without_doubles(given)
    if len(kept) < 3:
        words = f"the outline has {_points(len(kept))}, not counting repeats: it needs three or more"
        raise OutlineFault(Reason.TOO_FEW, words)
    if _all_on_a_line(kept):
        raise OutlineFault(Reason.NO_AREA, "all points of the outline lie on one line: it encloses nothing")
    _refuse_spike(kept, given)
    corners = _without_straight_points(kept, within)
    if len(corners) < 3:
        raise OutlineFault(Reason.NO_AREA, f"the outline is nowhere wider than {within:g} mm: it encloses nothing")
    return corners


def _without_doubles(ring: list[Point]) -> list[Point]:
    """The ring without points that repeat the one before, the last as compared with the first included."""
    kept: list[Point] = []
    for point in ring:
        if not kept or math.dist(kept[-1], point) >= SAME_POINT:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[-1], kept[0]) < SAME_POINT:
        kept.pop()
    return kept


def _off_line(p: Point, a: Point, b: Point) -> float:
    """The distance of p from the endless line through a and b, or from a where they are one."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(ux, uy)
    if length < SAME_POINT:
        return math.dist(p, a)
    return abs(ux * (p[1] - a[1]) - uy * (p[0] - a[0])) / length


def _off_stretch(p: Point, a: Point, b: Point) -> float:
    """The distance of p from the stretch between a and b: a needle's tip is on the line of its two feet, not between them."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    square = ux * ux + uy * uy
    if square < SAME_POINT * SAME_POINT:
        return math.dist(p, a)
    along = min(1.0, max(0.0, (ux * (p[0] - a[0]) + uy * (p[1] - a[1])) / square))
    return math.hypot(p[0] - a[0] - along * ux, p[1] - a[1] - along * uy)


def _all_on_a_line(ring: list[Point]) -> bool:
    start = ring[0]
    far = max(ring, key=lambda p: math.dist(p, start))
    return all(_off_line(p, start, far) < ON_LINE for p in ring)


def _is_spike(a: Point, b: Point, c: Point) -> bool:
    """Whether the outline goes from a to b and back along the same line to c."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    if ux * vx + uy * vy >= 0:
        return False
    # The end of the shorter side against the line of the longer: a sharp but open corner is no spike.
    return _off_line(c, a, b) < ON_LINE if math.hypot(vx, vy) <= math.hypot(ux, uy) else _off_line(a, b, c) < ON_LINE


def _refuse_spike(ring: list[Point], given: list[Point]) -> None:
    for i, point in enumerate(ring):
        if _is_spike(ring[i - 1], point, ring[(i + 1) % len(ring)]):
            raise OutlineFault(
                Reason.SPIKE,
                f"the outline has a spike at {_place(point)}: it goes there and back along one line; leave that point out",
                given.index(point),
                point,
            )


def _without_straight_points(ring: list[Point], within: float) -> list[Point]:
    """The ring without the points on straight lines; starts at a true corner so that none is judged by a dropped one."""
    count = len(ring)
    first = next((i for i in range(count) if _off_stretch(ring[i], ring[i - 1], ring[(i + 1) % count]) >= within), 0)
    walk = ring[first:] + ring[: first + 1]
    kept = [walk[0]]
    dropped: list[Point] = []
    for i in range(1, count):
        dropped.append(walk[i])
        if any(_off_stretch(p, kept[-1], walk[i + 1]) >= within for p in dropped):
            kept.append(walk[i])
            dropped.clear()
    start = next((i for i, p in enumerate(kept) if p == ring[0]), None)
    return kept if start is None else kept[start:] + kept[:start]


def _refuse_crossing(polygon: Polygon) -> None:
    if polygon.is_valid:
        return
    # GEOS names a place: "Self-intersection[25 20]", "Ring Self-intersection[0 0]", "Too few points in geometry component[…]".
    words = str(shapely.is_valid_reason(polygon))
    kind, _, place = words.partition("[")
    try:
        x, y = (float(v) for v in place.rstrip("]").split()[:2])
    except ValueError:
        raise OutlineFault(Reason.CROSSES, f"the outline does not enclose one piece of cloth ({words})") from None
    if kind.startswith("Ring"):
        raise OutlineFault(
            Reason.PINCHED, f"the outline touches itself at {_place((x, y))}: give it as two outlines, or as a hole", at=(x, y)
        )
    raise OutlineFault(
        Reason.CROSSES, f"the outline crosses itself at {_place((x, y))}: give its points in order, once round", at=(x, y)
    )


def _place(point: Point) -> str:
    return f"({point[0]:.6g}, {point[1]:.6g})"
