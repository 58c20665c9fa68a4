"""What lies on a piece's lines: its edges on the sewing line, its joins from rim to rim, its narrowest place."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import linemerge

from nesting import Point

from .outlines import NEAR
from .refusals import Refused
from .words import Line

if TYPE_CHECKING:
    from .patterns import JoinZone, Piece

BENDS = 0.1
"""How far the line across a narrow place may lie outside the piece, in parts of its length."""
STRAIGHT = 20.0
"""mm a metre, about a degree: edges that turn by less where they meet run straight on."""
MARKS_APART = 4.0
"""mm between the marks of a double notch."""
WITHOUT_ALLOWANCE = 5.0
"""mm that a notch goes into the piece where its edge has no allowance."""
BESIDE = 0.02
"""mm by which a side of the sewing line may lie off its place inside the cut line that it was worked out from."""


def edge_lines(piece: Piece) -> dict[str, LineString]:
    """Each edge by its name, as it runs along the sewing line, counter-clockwise. An edge that its neighbours' allowances have
    swallowed is an empty line."""
    ring = [(float(x), float(y)) for x, y in piece.sewing_line.exterior.coords[:-1]]
    if piece.drawn is Line.SEWING:
        count = len(ring)
        return {
            edge.name: LineString([ring[(edge.start + step) % count] for step in range(edge.sides + 1)])
            for edge in piece.edges
        }
    if not piece.sewing_line.exterior.is_ccw:
        ring.reverse()
    sides = [LineString([point, ring[(i + 1) % len(ring)]]) for i, point in enumerate(ring)]
    whose = [_whose(side, piece) for side in sides]
    return {edge.name: _run([side for side, of in zip(sides, whose, strict=True) if of == edge.name]) for edge in piece.edges}


def _whose(side: LineString, piece: Piece) -> str:
    """The edge of the cut line inside which a side of the sewing line runs, an allowance away."""
    cut = [(float(x), float(y)) for x, y in piece.cut_line.exterior.coords[:-1]]
    middle = side.interpolate(0.5, normalized=True)
    off: list[tuple[float, str]] = []
    for edge in piece.edges:
        for step in range(edge.sides):
            start = (edge.start + step) % len(cut)
            line = LineString([cut[start], cut[(start + 1) % len(cut)]])
            off.append((abs(line.distance(middle) - edge.allowance) + _askew(side, line), edge.name))
    return min(off)[1]


def _askew(one: LineString, other: LineString) -> float:
    """How far from parallel two lines are, as mm a metre, so that a parallel one is preferred."""
    (ax, ay), (bx, by) = (np.subtract(line.coords[-1], line.coords[0]) for line in (one, other))
    return float(1000 * abs(ax * by - ay * bx) / (np.hypot(ax, ay) * np.hypot(bx, by)))


def _run(sides: list[LineString]) -> LineString:
    """Sides that follow each other, as one line."""
    if not sides:
        return LineString()
    merged = linemerge(sides, directed=True)
    return merged if isinstance(merged, LineString) else max(merged.geoms, key=lambda line: float(line.length))


def a_join(line: LineString, sewing: Polygon, where: str) -> tuple[Point, Point]:
    """The part of a line that crosses a piece, from rim to rim. Raises Refused unless it cuts the piece in two."""
    (ax, ay), (bx, by) = line.coords
    reach = 2 * sewing.length / max(float(line.length), NEAR)
    endless = LineString([(ax - reach * (bx - ax), ay - reach * (by - ay)), (bx + reach * (bx - ax), by + reach * (by - ay))])
    inside = endless.intersection(sewing)
    parts = [part for part in getattr(inside, "geoms", [inside]) if part.length > NEAR and part.distance(line) <= NEAR]
    if len(parts) != 1:
        raise Refused(
            "the join does not cross the piece once",
            where=where,
            expected="a line from rim to rim, told by two points on it",
        )
    first, last = parts[0].coords[0], parts[0].coords[-1]
    return ((first[0], first[1]), (last[0], last[1]))


STEPS = 4
"""How many places are looked at in a band for joins, at least, its two ends among them."""
APART = 10.0
"""mm between them, at most."""


def cut_lines(sewing: Polygon, zone: JoinZone) -> Iterator[tuple[Point, Point]]:
    """The lines at which a piece may be made of two within a band, each from rim to rim: a few places, its two ends among
    them."""
    low_x, low_y, high_x, high_y = sewing.bounds
    count = max(STEPS, math.ceil((zone.high - zone.low) / APART)) if zone.high > zone.low else 1
    for k in range(count + (count > 1)):
        off = zone.low + (zone.high - zone.low) * k / count
        if zone.along:
            line = LineString([(low_x - 1, low_y + off), (high_x + 1, low_y + off)])
        else:
            line = LineString([(low_x + off, low_y - 1), (low_x + off, high_y + 1)])
        inside = line.intersection(sewing)
        parts = [part for part in getattr(inside, "geoms", [inside]) if part.length > NEAR]
        if len(parts) == 1 and not sewing.exterior.covers(parts[0]):
            first, last = parts[0].coords[0], parts[0].coords[-1]
            yield (first[0], first[1]), (last[0], last[1])


def narrowest(piece: Piece) -> tuple[float, str, str]:
    """The narrowest place of a piece on its sewing line (mm), and the two edges that it lies between.

    Edges that meet at a corner are not across from each other, and ones that run straight on are one; of a piece of three
    edges it is the least height over one.
    """
    runs = _straight_runs({name: line for name, line in edge_lines(piece).items() if not line.is_empty})
    names = list(runs)
    found: list[tuple[float, str, str]] = []
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            if runs[one].distance(runs[other]) > NEAR:
                across = shapely.shortest_line(runs[one], runs[other])
                # A little way out of the piece is no way round it: a curved end bends inside the line between its corners.
                if piece.sewing_line.buffer(BENDS * across.length + BESIDE).covers(across):
                    found.append((float(across.length), one, other))
    if found:
        return min(found)
    return min((_height(runs[name], piece.sewing_line), name, "the corner across") for name in names)


def _straight_runs(lines: dict[str, LineString]) -> dict[str, LineString]:
    """Edges in order, those that run straight on from the one before joined to it."""
    names = list(lines)
    runs: list[tuple[str, list[tuple[float, ...]]]] = []
    for name in names:
        points = list(lines[name].coords)
        if runs and _goes_on(runs[-1][1], points):
            runs[-1][1].extend(points[1:])
        else:
            runs.append((name, points))
    if len(runs) > 1 and _goes_on(runs[-1][1], runs[0][1]):
        _, last = runs.pop()
        runs[0] = (runs[0][0], [*last, *runs[0][1][1:]])
    return {name: LineString(points) for name, points in runs}


def _goes_on(before: list[tuple[float, ...]], after: list[tuple[float, ...]]) -> bool:
    """Whether two edges make no corner where they meet."""
    return _askew(LineString(before[-2:]), LineString(after[:2])) < STRAIGHT


def notch_ticks(piece: Piece) -> list[tuple[Point, Point]]:
    """Each mark of each notch as a short line, from the sewing line square out across the allowance (inwards without one)."""
    lines = edge_lines(piece)
    widths = {edge.name: edge.allowance for edge in piece.edges}
    ticks = []
    for notch in piece.notches:
        line = lines[notch.edge]
        for mark in range(notch.marks):
            at = min(max(notch.at + MARKS_APART * (mark - (notch.marks - 1) / 2), 0.0), float(line.length))
            foot = line.interpolate(at)
            before, after = line.interpolate(max(at - 0.5, 0.0)), line.interpolate(at + 0.5)
            long = max(before.distance(after), NEAR)
            out = ((after.y - before.y) / long, (before.x - after.x) / long)
            reach = widths[notch.edge] or -WITHOUT_ALLOWANCE
            ticks.append(((foot.x, foot.y), (foot.x + reach * out[0], foot.y + reach * out[1])))
    return ticks


def _height(edge: BaseGeometry, shape: Polygon) -> float:
    """How far the farthest corner of a shape lies from an edge."""
    return max(float(edge.distance(shapely.Point(point))) for point in shape.exterior.coords)
