"""The largest rectangle on the grain within an outline: what a scrap is sure to give, and what a bin is searched by.

The exact largest, found so. Vertical lines through all corners cut the outline into columns, each of them into trapezoids
between a lower and an upper edge (the trapezoidal decomposition of de Berg et al., Computational Geometry, ch. 6). A
rectangle begins in one trapezoid and ends in another, or in the same; between them runs a corridor of a fixed least and
greatest y. Its height is then the least of three lines over its ends, x1 and x2, less the greatest of three, a concave
function, and its area that times x2 − x1: with a single least and greatest line such a product has no peak of its own
within the cell, so the best lies on a side of the cell or where two of the lines meet. On each of these ten segments the
area rises to one peak and falls, and golden-section search finds that. Cells are taken by the most that they could hold,
until none could beat what was found.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Floats: TypeAlias = NDArray[np.float64]

_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
_NARROWINGS = 75  # 0.618^75 = 2e-16: as near as doubles can tell
_AT_ONCE = 48  # cells searched together: enough to be quick in NumPy, few enough to stop soon


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle on the grain: its least corner, its length along the warp and its width across, all in mm."""

    x: float
    y: float
    length: float
    width: float

    @property
    def area(self) -> float:
        return self.length * self.width

    @property
    def polygon(self) -> Polygon:
        return shapely.box(self.x, self.y, self.x + self.length, self.y + self.width)


class Line(NamedTuple):
    """An edge as y = at + slope × x."""

    at: float
    slope: float

    def y(self, x: float) -> float:
        return self.at + self.slope * x


class Trapezoid(NamedTuple):
    """What lies between two edges in the column left ≤ x ≤ right."""

    left: float
    right: float
    lower: Line
    upper: Line


class Cell(NamedTuple):
    """Rectangles that begin in one trapezoid and end in another, and between them keep within low ≤ y ≤ high."""

    most: float
    """No rectangle of the cell has a larger area."""
    first: Trapezoid
    last: Trapezoid
    low: float
    high: float


def largest_rectangle(polygon: Polygon) -> Rectangle:
    """The largest rectangle with sides along x and y that lies within a valid polygon, its holes left out.

    Exact to the rounding of doubles, and within the polygon by shapely's own `covers`, for which it may be drawn in by about
    a millionth of a millionth of the coordinates. Raises ValueError for a polygon that is empty or not valid.

    >>> largest_rectangle(shapely.box(0, 0, 300, 200) - shapely.box(100, 150, 300, 200))
    Rectangle(x=0.0, y=0.0, length=300.0, width=150.0)
    """
    if polygon.is_empty or not polygon.is_valid:
        raise ValueError("the largest rectangle is asked of a polygon that is empty or not valid: mend its outline first")
    x, y = polygon.bounds[:2]  # numbers stay small, and so their rounding
    near = shapely.transform(polygon, lambda points: points - (x, y))
    found = _best(sorted(_cells(_columns(near)), reverse=True, key=lambda cell: cell.most))
    return _within(polygon, Rectangle(found.x + x, found.y + y, found.length, found.width))


def _columns(polygon: Polygon) -> list[list[Trapezoid]]:
    """The trapezoids of each column between neighbouring corners, from the left."""
    edges = np.vstack([_edges(ring) for ring in (polygon.exterior, *polygon.interiors)])
    xs = np.unique(edges[:, [0, 2]])
    ax, ay, bx, by = edges[edges[:, 0] < edges[:, 2]].T
    slope = (by - ay) / (bx - ax)
    columns = []
    for left, right in pairwise(xs.tolist()):
        spans = np.flatnonzero((ax <= left) & (bx >= right))
        spans = spans[np.argsort(ay[spans] + slope[spans] * ((left + right) / 2 - ax[spans]))]
        lines = [Line(float(ay[k] - slope[k] * ax[k]), float(slope[k])) for k in spans]
        columns.append([Trapezoid(left, right, *two) for two in zip(lines[::2], lines[1::2], strict=True)])
    return columns


def _edges(ring: shapely.LinearRing) -> Floats:
    """(n, 4) array of ax, ay, bx, by, each edge from left to right."""
    points = shapely.get_coordinates(ring)
    edges = np.hstack([points[:-1], points[1:]])
    return np.where((edges[:, 0] > edges[:, 2])[:, None], edges[:, [2, 3, 0, 1]], edges)


def _cells(columns: list[list[Trapezoid]]) -> Iterator[Cell]:
    """The cells that may hold the largest rectangle, by what corridors surely hold and what they could at most."""
    sure = 0.0
    end = columns[-1][0].right
    for i, column in enumerate(columns):
        for first in column:
            sides = [(first.lower.y(x), first.upper.y(x)) for x in (first.left, first.right)]
            (low1, high1), (low2, high2) = sides
            most = (first.right - first.left) * max(high1 - low1, high2 - low2)
            yield Cell(most, first, first, min(low1, low2), max(high1, high2))
            corridors = [sides[1]]
            for later in columns[i + 1 :]:
                onward = []
                for low, high in corridors:
                    for last in later:
                        bottom, top = max(low, last.lower.y(last.left)), min(high, last.upper.y(last.left))
                        if (end - first.left) * (top - bottom) <= sure or top <= bottom:
                            continue
                        sure = max(sure, (last.left - first.right) * (top - bottom))
                        if (last.right - first.left) * (top - bottom) > sure:
                            yield Cell((last.right - first.left) * (top - bottom), first, last, bottom, top)
                        bottom, top = max(bottom, last.lower.y(last.right)), min(top, last.upper.y(last.right))
                        if top > bottom:
                            onward.append((bottom, top))
                corridors = onward
                if not corridors:
                    break


def _best(cells: list[Cell]) -> Rectangle:
    """The largest rectangle of all cells, which come by the most that they could hold."""
    best = Rectangle(0.0, 0.0, 0.0, 0.0)
    for start in range(0, len(cells), _AT_ONCE):
        if cells[start].most <= best.area:
            break
        x1, x2 = _peaks(lines := _Cells.of(cells[start : start + _AT_ONCE]))
        bottom, height = lines.bottom_and_height(x1, x2)
        area = np.where((height > 0) & (x2 > x1), height * (x2 - x1), 0.0)
        cell, segment = divmod(int(area.argmax()), area.shape[1])
        if area[cell, segment] > best.area:
            x = float(x1[cell, segment])
            length, width = float(x2[cell, segment]) - x, float(height[cell, segment])
            best = Rectangle(x, float(bottom[cell, segment]), length, width)
    return best


@dataclass(frozen=True, slots=True)
class _Cells:
    """Several cells as columns of k × 1: where x1 (a to b) and x2 (c to d) may be, and the lines of height."""

    a: Floats
    b: Floats
    c: Floats
    d: Floats
    low: Floats
    high: Floats
    lower1: tuple[Floats, Floats]
    upper1: tuple[Floats, Floats]
    lower2: tuple[Floats, Floats]
    upper2: tuple[Floats, Floats]

    @classmethod
    def of(cls, cells: list[Cell]) -> _Cells:
        rows = [
            (f.left, f.right, e.left, e.right, low, high, *f.lower, *f.upper, *e.lower, *e.upper)
            for _, f, e, low, high in cells
        ]
        a, b, c, d, low, high, *lines = (column[:, None] for column in np.array(rows).T)
        pairs = list(zip(lines[::2], lines[1::2], strict=True))
        return cls(a, b, c, d, low, high, *pairs)

    def bottom_and_height(self, x1: Floats, x2: Floats) -> tuple[Floats, Floats]:
        bottom = np.maximum(np.maximum(_at(self.lower1, x1), _at(self.lower2, x2)), self.low)
        top = np.minimum(np.minimum(_at(self.upper1, x1), _at(self.upper2, x2)), self.high)
        return bottom, top - bottom

    def value(self, x1: Floats, x2: Floats) -> Floats:
        """The area, or below zero by how far there is none: so that it still rises towards where there is some."""
        height, length = self.bottom_and_height(x1, x2)[1], x2 - x1
        least = np.minimum(height, length)
        return np.where(least > 0, height * length, least)


def _at(line: tuple[Floats, Floats], x: Floats) -> Floats:
    return line[0] + line[1] * x


def _peaks(cells: _Cells) -> tuple[Floats, Floats]:
    """The best (x1, x2) on each of the ten segments of each cell, k × 10."""
    u1, u2, v1, v2 = _segments(cells)
    low, high = np.zeros_like(u1), np.ones_like(u1)
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)

    def value(t: Floats) -> Floats:
        return cells.value(u1 + t * (v1 - u1), u2 + t * (v2 - u2))

    at_left, at_right = value(left), value(right)
    for _ in range(_NARROWINGS):
        up = at_left < at_right
        low, high = np.where(up, left, low), np.where(up, high, right)
        new = np.where(up, low + _GOLDEN * (high - low), high - _GOLDEN * (high - low))
        at_new = value(new)
        left, right = np.where(up, right, new), np.where(up, new, left)
        at_left, at_right = np.where(up, at_right, at_new), np.where(up, at_new, at_left)
    t = (low + high) / 2
    for end in (0.0, 1.0):  # the ends themselves are never reached by narrowing
        t = np.where(value(np.full_like(t, end)) >= value(t), end, t)
    return u1 + t * (v1 - u1), u2 + t * (v2 - u2)


def _segments(cells: _Cells) -> tuple[Floats, Floats, Floats, Floats]:
    """x1, x2 of the start and of the end of each segment, k × 10: the four sides, and where two lines of height meet."""
    a, b, c, d = cells.a, cells.b, cells.c, cells.d
    across = [np.clip(_crossing(*pair), a, b) for pair in ((cells.upper1, cells.high), (cells.lower1, cells.low))]
    along = [np.clip(_crossing(*pair), c, d) for pair in ((cells.upper2, cells.high), (cells.lower2, cells.low))]
    slanting = [_meeting(cells, *pair) for pair in ((cells.upper1, cells.upper2), (cells.lower1, cells.lower2))]
    # What lies outside the cell was put onto its side, which is searched anyway.
    straight = [(x, c, x, d) for x in (a, b, *across)] + [(a, x, b, x) for x in (c, d, *along)]
    parts = [np.hstack(part) for part in zip(*straight, *slanting, strict=True)]
    return parts[0], parts[1], parts[2], parts[3]


def _crossing(line: tuple[Floats, Floats], level: Floats, never: float = np.inf) -> Floats:
    """Where a line comes to a level; `never` for one without slope."""
    at, slope = line
    return np.divide(level - at, slope, out=np.full_like(at, never), where=slope != 0)


def _meeting(cells: _Cells, one: tuple[Floats, Floats], two: tuple[Floats, Floats]) -> tuple[Floats, Floats, Floats, Floats]:
    """The segment of the cell on which line one at x1 is as high as line two at x2; some other where there is none.

    A line without slope has the one level along all of its side, from −∞ to ∞ as far as the cell goes.
    """
    levels = []
    for (at, slope), low, high in ((one, cells.a, cells.b), (two, cells.c, cells.d)):
        ends = at + slope * low, at + slope * high
        levels.append((np.minimum(*ends), np.maximum(*ends)))
    bottom, top = np.maximum(levels[0][0], levels[1][0]), np.minimum(levels[0][1], levels[1][1])
    points = []
    for level, never in ((bottom, -np.inf), (np.maximum(top, bottom), np.inf)):
        points.append(np.clip(_crossing(one, level, never), cells.a, cells.b))
        points.append(np.clip(_crossing(two, level, never), cells.c, cells.d))
    return points[0], points[1], points[2], points[3]


def _within(polygon: Polygon, found: Rectangle) -> Rectangle:
    """The rectangle drawn in by as little as it takes to lie within the polygon: its corners on slanting edges are rounded."""
    reach = float(np.abs(polygon.bounds).max())
    inset = 0.0
    while True:
        x, y = found.x + inset, found.y + inset
        drawn_in = Rectangle(x, y, found.length - 2 * inset, found.width - 2 * inset)
        if drawn_in.length <= 0 or drawn_in.width <= 0:
            return Rectangle(found.x, found.y, 0.0, 0.0)
        if polygon.covers(drawn_in.polygon):
            return drawn_in
        inset = max(2 * inset, reach * 1e-15)
