"""From the sewing line to the cut line and back: an allowance for each edge, corners mitred as a cutter would.

A strip of each edge's own allowance is laid along it, and at each corner where the strips part, the kite between them up to
where their outer lines meet (the mitre). The cut line is the rim of all that together. Made as a union it is right for every
outline, also where an allowance swallows a narrow inward corner, which moving points one by one gets wrong.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shapely import Polygon
from shapely.ops import unary_union

from nesting import Point, Ring, mend_ring

MITRE_LIMIT = 4.0
"""How far a corner may reach, in allowances from the sewn corner: beyond it the tip is cut off square. A mitre of 29° just
comes to a point; a sharper one would run far into the cloth for nothing (common practice, no source)."""

CRUMB = 1e-5
"""mm: slits and slivers as narrow as this are rounding, left where strips meet, and are closed. Cloth is cut 10 000 times
coarser."""

PARALLEL = 1e-9
"""Sine of the angle under which two edges count as one straight line: they have no mitre."""


def grown(ring: Ring, allowances: Sequence[float]) -> Polygon:
    """The outline with an allowance (mm, each ≥ 0) outside each edge, the first from the first point to the second.

    `ring` is simple and counter-clockwise. Raises ValueError if the outline closes round a hole that no cutter could cut.

    >>> grown(((0, 0), (100, 0), (100, 50), (0, 50)), (10, 10, 10, 0)).bounds
    (0.0, -10.0, 110.0, 60.0)
    """
    whole = unary_union([Polygon(ring), *_borders(ring, allowances, outside=True)])
    closed = whole.buffer(CRUMB, join_style="mitre").buffer(-CRUMB, join_style="mitre")
    if closed.geom_type != "Polygon" or closed.interiors:
        raise ValueError("the allowances run together round a gap")
    return _tidy(closed)


def shrunk(ring: Ring, allowances: Sequence[float]) -> Polygon:
    """The outline with an allowance (mm, each ≥ 0) taken off inside each edge: from a cut line to its sewing line.

    Raises ValueError if nothing is left, or more than one part.

    >>> shrunk(((0, 0), (100, 0), (100, 50), (0, 50)), (10, 10, 10, 10)).bounds
    (10.0, 10.0, 90.0, 40.0)
    """
    left = Polygon(ring).difference(unary_union(list(_borders(ring, allowances, outside=False))))
    opened = left.buffer(-CRUMB, join_style="mitre").buffer(CRUMB, join_style="mitre")
    if opened.is_empty or opened.geom_type != "Polygon":
        raise ValueError("the allowances leave nothing to sew" if opened.is_empty else "the allowances cut the piece in two")
    return _tidy(opened)


def _tidy(shape: Polygon) -> Polygon:
    """The outer ring with its corners alone: strips and kites leave points on straight edges, a crumb off the line at most."""
    return mend_ring(shape.exterior.coords, within=2 * CRUMB)


def _borders(ring: Ring, allowances: Sequence[float], *, outside: bool) -> Iterator[Polygon]:
    """The strips along the edges, and the kites at the corners where they part."""
    count = len(ring)
    normals = [_normal(point, ring[(i + 1) % count], outside=outside) for i, point in enumerate(ring)]
    for i, corner in enumerate(ring):
        end, width = ring[(i + 1) % count], allowances[i]
        if width > 0:
            yield Polygon([corner, end, _moved(end, normals[i], width), _moved(corner, normals[i], width)])
        before = i - 1
        if max(allowances[before], width) > 0:
            yield from _kite(corner, (normals[before], allowances[before]), (normals[i], width), outside=outside)


def _kite(corner: Point, before: tuple[Point, float], after: tuple[Point, float], *, outside: bool) -> Iterator[Polygon]:
    """The mitre at a corner: between the ends of two strips and the point where their outer lines meet; cut off square at the
    limit. Nothing where the strips overlap instead, or go straight on."""
    (n, a), (m, b) = before, after
    sine, cosine = n[0] * m[1] - n[1] * m[0], n[0] * m[0] + n[1] * m[1]
    if (sine if outside else -sine) <= PARALLEL:
        return
    tip = ((a * m[1] - b * n[1]) / sine, (b * n[0] - a * m[0]) / sine)
    end, start = _moved(corner, n, a), _moved(corner, m, b)
    reach, limit = math.hypot(*tip), MITRE_LIMIT * max(a, b)
    if b < a * cosine:  # the narrow strip's outer line meets the end of the wide one, not its outer line: a step is left there
        points = [corner, _moved(corner, n, b / cosine), start]
    elif a < b * cosine:
        points = [corner, end, _moved(corner, m, a / cosine)]
    elif reach <= limit:
        points = [corner, end, _moved(corner, tip, 1), start]
    else:
        # The tip is cut by the line square to it at the limit, between the two outer lines.
        towards = (tip[0] / reach, tip[1] / reach)
        cuts = (_between((normal[0] * by, normal[1] * by), tip, towards, limit) for normal, by in (before, after))
        points = [corner, end, *(_moved(corner, cut, 1) for cut in cuts), start]
    kite = Polygon(points)
    if kite.is_valid and kite.area > 0:
        yield kite


def _between(start: Point, tip: Point, towards: Point, limit: float) -> Point:
    """The point between a strip's end and the tip (both from the corner) that lies `limit` along the tip's direction."""
    low = start[0] * towards[0] + start[1] * towards[1]
    high = tip[0] * towards[0] + tip[1] * towards[1]
    share = (limit - low) / (high - low)
    return (start[0] + share * (tip[0] - start[0]), start[1] + share * (tip[1] - start[1]))


def _normal(start: Point, end: Point, *, outside: bool) -> Point:
    """The unit vector square to an edge of a counter-clockwise ring, outward or inward."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) if outside else -math.hypot(dx, dy)
    return (dy / length, -dx / length)


def _moved(point: Point, direction: Point, by: float) -> Point:
    return (point[0] + direction[0] * by, point[1] + direction[1] * by)
