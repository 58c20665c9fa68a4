"""From the sewing line to the cut line and back: an allowance for each edge, corners joined as a cutter would.

A strip of each edge's own allowance is laid along it, and at each corner where the strips part, the kite between them up to
where their outer lines meet (the mitre), or to where the tip is cut off (blunt). An allowance that is folded back onto the
piece, as a hem is, ends where its neighbour's cut line would, mirrored at the fold, so that the two lie edge to edge. The cut
line is the rim of all that together. Made as a union it is right for every outline, also where an allowance swallows a narrow
inward corner, which moving points one by one gets wrong.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shapely import Polygon
from shapely.ops import unary_union

from nesting import Point, Ring, mend_ring

MITRE_LIMIT = 4.0
"""How far a corner may reach, in allowances from the sewn corner: beyond it the tip is cut off square. A mitre of 29° just
comes to a point; a sharper one would run far into the cloth for nothing (common practice, no source)."""

BLUNT_LIMIT = 1.0
"""The same for a blunt corner: it is cut off as far out as its wider allowance is wide."""

CRUMB = 1e-5
"""mm: slits and slivers as narrow as this are rounding, left where strips meet, and are closed. Cloth is cut 10 000 times
coarser."""

PART_OF_AN_EDGE = 0.25
"""How far along an edge, in parts of it, an unequal allowance beside it may reach before a step is left instead."""

PARALLEL = 1e-9
"""Sine of the angle under which two edges count as one straight line: they have no mitre."""


class Joint(StrEnum):
    """How the allowances meet at a corner: in a mitre, bluntly, or with the edge before or after the corner folded back."""

    MITRE = "mitre"
    BLUNT = "blunt"
    BEFORE_FOLDED = "before folded back"
    AFTER_FOLDED = "after folded back"


def grown(ring: Ring, allowances: Sequence[float], joints: Sequence[Joint] = ()) -> Polygon:
    """The outline with an allowance (mm, each ≥ 0) outside each edge, the first from the first point to the second.

    `ring` is simple and counter-clockwise; `joints` are those at its points, mitres unless given. Raises ValueError if the
    outline closes round a hole that no cutter could cut, or where a folded allowance is too deep for its edge.

    >>> grown(((0, 0), (100, 0), (100, 50), (0, 50)), (10, 10, 10, 0)).bounds
    (0.0, -10.0, 110.0, 60.0)
    """
    whole = unary_union([Polygon(ring), *_borders(ring, allowances, joints or [Joint.MITRE] * len(ring), outside=True)])
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
    left = Polygon(ring).difference(unary_union(list(_borders(ring, allowances, [Joint.MITRE] * len(ring), outside=False))))
    opened = left.buffer(-CRUMB, join_style="mitre").buffer(CRUMB, join_style="mitre")
    if opened.is_empty or opened.geom_type != "Polygon":
        raise ValueError("the allowances leave nothing to sew" if opened.is_empty else "the allowances cut the piece in two")
    return _tidy(opened)


def _tidy(shape: Polygon) -> Polygon:
    """The outer ring with its corners alone: strips and kites leave points on straight edges, a crumb off the line at most."""
    return mend_ring(shape.exterior.coords, within=2 * CRUMB)


def _borders(ring: Ring, allowances: Sequence[float], joints: Sequence[Joint], *, outside: bool) -> Iterator[Polygon]:
    """The strips along the edges, and what lies between them at the corners where they part."""
    count = len(ring)
    normals = [_normal(point, ring[(i + 1) % count], outside=outside) for i, point in enumerate(ring)]
    folds = [_fold(ring, allowances, normals, joints[i], i) for i in range(count)]
    meets = [_meeting(ring, allowances, normals, i) for i in range(count)]
    for i, corner in enumerate(ring):
        end, width = ring[(i + 1) % count], allowances[i]
        if width > 0:
            here, there = folds[i], folds[(i + 1) % count]
            first = [corner, _moved(corner, normals[i], width)]
            last = [_moved(end, normals[i], width), end]
            after = (i + 1) % count
            before_it, after_it = meets[i], meets[after]
            if outside and before_it is not None and allowances[i - 1] < width * _cosine(normals, i):
                first = [corner, _moved(corner, before_it, 1)]
            if outside and after_it is not None and allowances[after] < width * _cosine(normals, after):
                last = [_moved(end, after_it, 1), end]
            if here is not None and joints[i] is Joint.AFTER_FOLDED:
                first = [corner, here.base, here.tip]
            if there is not None and joints[(i + 1) % count] is Joint.BEFORE_FOLDED:
                last = [there.tip, there.base, end]
            strip = Polygon([*first, *last])
            if (here or there) and not strip.is_valid:
                raise ValueError("an allowance that is folded back is too deep for its edge")
            yield strip
        before = i - 1
        fold, met = folds[i], meets[i]
        if fold is not None:
            if fold.beside.area > 0:
                yield fold.beside
        elif met is not None and not outside:
            # Inside an open corner the strips, square at their ends, leave a wedge between them.
            yield from _wedge(corner, (normals[before], allowances[before]), (normals[i], width), _moved(corner, met, 1))
        elif max(allowances[before], width) > 0:
            limit = BLUNT_LIMIT if joints[i] is Joint.BLUNT else MITRE_LIMIT
            yield from _kite(corner, (normals[before], allowances[before]), (normals[i], width), met, limit, outside=outside)


def _cosine(normals: Sequence[Point], at: int) -> float:
    (ax, ay), (bx, by) = normals[at - 1], normals[at]
    return ax * bx + ay * by


def _meeting(ring: Ring, allowances: Sequence[float], normals: Sequence[Point], at: int) -> Point | None:
    """Where the outer lines of two strips meet, from the corner, where that is open (over 90° inside it): there the wide
    strip's square end would stick out beyond the narrow one's line, or inside leave a wedge. None elsewhere, and where the two
    run so nearly straight on that it lies far along an edge: then a step is meant."""
    (n, a), (m, b) = (normals[at - 1], allowances[at - 1]), (normals[at], allowances[at])
    sine, cosine = n[0] * m[1] - n[1] * m[0], n[0] * m[0] + n[1] * m[1]
    if cosine <= 0 or sine <= PARALLEL or max(a, b) <= 0:
        return None
    tip = ((a * m[1] - b * n[1]) / sine, (b * n[0] - a * m[0]) / sine)
    for other, normal in ((ring[at - 1], n), (ring[(at + 1) % len(ring)], m)):
        along = abs(tip[1] * normal[0] - tip[0] * normal[1])
        if along > PART_OF_AN_EDGE * math.dist(ring[at], other):
            return None
    return tip


def _wedge(corner: Point, before: tuple[Point, float], after: tuple[Point, float], tip: Point) -> Iterator[Polygon]:
    """What lies inside an open corner between the ends of two strips, up to where their inner lines meet."""
    (n, a), (m, b) = before, after
    wedge = Polygon([corner, _moved(corner, n, a), tip, _moved(corner, m, b)]).convex_hull
    if isinstance(wedge, Polygon) and wedge.area > 0:
        yield wedge


@dataclass(frozen=True, slots=True)
class _Fold:
    """The end of an allowance that is folded back: where it leaves the fold, and its outer corner; and what fills the place
    between its end and its neighbour's."""

    base: Point
    tip: Point
    beside: Polygon


def _fold(ring: Ring, allowances: Sequence[float], normals: Sequence[Point], joint: Joint, at: int) -> _Fold | None:
    """How an allowance that is folded back ends at a corner; None where none is, or where the corner is inward or straight."""
    if joint not in (Joint.BEFORE_FOLDED, Joint.AFTER_FOLDED):
        return None
    corner, count = ring[at], len(ring)
    hem, other = (at - 1, at) if joint is Joint.BEFORE_FOLDED else (at, at - 1)
    ends = {at: ring[(at + 1) % count], at - 1: ring[at - 1]}
    along_hem, along_other = (_towards(corner, ends[side]) for side in (hem, other))
    n, m = normals[hem], normals[other]
    rises = along_other[0] * n[0] + along_other[1] * n[1]
    crossing = along_hem[0] * along_other[1] - along_hem[1] * along_other[0]
    if rises >= 0 or abs(crossing) <= PARALLEL:
        return None
    depth, width = allowances[hem], allowances[other]
    base = _moved(corner, along_hem, width * (m[0] * along_other[1] - m[1] * along_other[0]) / crossing)
    # The neighbour's cut line, mirrored at the fold, as far out as the allowance is deep; a flat one not for ever.
    mirrored = (along_other[0] - 2 * rises * n[0], along_other[1] - 2 * rises * n[1])
    tip = _moved(base, mirrored, min(depth / -rises, MITRE_LIMIT * depth))
    return _Fold(base, tip, Polygon([corner, _moved(corner, m, width), base]))


def _towards(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def _kite(
    corner: Point, before: tuple[Point, float], after: tuple[Point, float], met: Point | None, most: float, *, outside: bool
) -> Iterator[Polygon]:
    """The mitre at a corner: between the ends of two strips and the point where their outer lines meet; cut off square at
    `most` allowances from the corner. Nothing where the strips overlap instead, or go straight on."""
    (n, a), (m, b) = before, after
    sine, cosine = n[0] * m[1] - n[1] * m[0], n[0] * m[0] + n[1] * m[1]
    if (sine if outside else -sine) <= PARALLEL:
        return
    tip = ((a * m[1] - b * n[1]) / sine, (b * n[0] - a * m[0]) / sine)
    end, start = _moved(corner, n, a), _moved(corner, m, b)
    reach, limit = math.hypot(*tip), most * max(a, b)
    if met is not None and min(a, b) < max(a, b) * cosine:
        points = [corner, _moved(corner, tip, 1), start if b < a else end]
    elif (
        b < a * cosine
    ):  # the narrow strip's outer line meets the end of the wide one, not its outer line: a step is left there
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
