"""Where a piece may be joined from two: the permitted seams along or across the grain, and the two parts that each makes.

A part is the piece's own outline up to the seam and the join's allowance beyond it, so that its edges run on as the piece's
do; its sewing line ends at the seam. (For straight edges beside the seam this is what a mitred allowance is: `allowances`.)

A seam keeps away from every place where two others meet: from a corner of the piece by so much that the allowances do not lie
on each other, and, where pieces are sewn to each other (`seams`), from the joins of the other. (Common practice, no source.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import LineString, Polygon, box
from shapely import Point as Spot

from nesting import Point

from .patterns import Join, Piece, Seam
from .piece_lines import cut_lines, edge_lines

ON_THE_GRAIN = 0.2
"""mm by which the ends of a seam along or across the grain may differ: a line that was typed to a tenth of a millimetre."""
STRAIGHT = math.radians(5.0)
"""Edges that turn by less than this where they meet make no corner: one seam runs on there."""


@dataclass(frozen=True, slots=True)
class PermittedJoin:
    """A seam from rim to rim of the sewing line, `along` the grain or across it, and the allowance of either part there."""

    line: tuple[Point, Point]
    along: bool
    allowance: float

    @property
    def seam(self) -> float:
        """How long it is sewn, mm."""
        (ax, ay), (bx, by) = self.line
        return math.hypot(bx - ax, by - ay)

    @property
    def off(self) -> float:
        """Its y if it runs along the grain, else its x."""
        (ax, ay), (bx, by) = self.line
        return (ay + by) / 2 if self.along else (ax + bx) / 2


@dataclass(frozen=True, slots=True)
class Parts:
    """A piece in two at a join: the part nearer to the piece's left end (or near edge) first. `more`: the cloth that the two
    take beyond the whole, mm²."""

    join: PermittedJoin
    cut: tuple[Polygon, Polygon]
    sewing: tuple[Polygon, Polygon]
    more: float


def permitted(piece: Piece) -> Iterator[Parts]:
    """The parts that a piece may be joined from: at its marked lines and within its marked bands, where no other seams
    meet."""
    for join in _marked(piece):
        if not meets_a_corner(piece, join):
            parts = in_parts(piece, join)
            if parts is not None:
                yield parts


def hindrances(piece: Piece) -> Iterator[str]:
    """Why no lay joins a piece at a line or within a band that is marked on it, for each of which that is so."""
    for number, join in enumerate(piece.joins, 1):
        found = _on_the_grain(join)
        if found is None:
            yield f"join {number} runs neither along nor across the grain (`fent pattern in-two` takes it)"
        elif meets_a_corner(piece, found):
            yield f"join {number} ends where two other seams meet"
        elif in_parts(piece, found) is None:
            yield f"join {number} leaves a part that is little more than its allowance"
    for number, zone in enumerate(piece.join_zones, 1):
        joins = (PermittedJoin(line, zone.along, zone.allowance) for line in cut_lines(piece.sewing_line, zone))
        if not any(not meets_a_corner(piece, join) and in_parts(piece, join) for join in joins):
            yield f"nowhere in band {number} is there room for a join clear of other seams"


def _marked(piece: Piece) -> Iterator[PermittedJoin]:
    yield from (found for join in piece.joins if (found := _on_the_grain(join)) is not None)
    for zone in piece.join_zones:
        for line in cut_lines(piece.sewing_line, zone):
            yield PermittedJoin(line, zone.along, zone.allowance)


def _on_the_grain(join: Join) -> PermittedJoin | None:
    """A marked line as a seam along or across the grain, None where it runs askew."""
    (ax, ay), (bx, by) = join.line
    along = abs(ay - by) <= ON_THE_GRAIN
    return PermittedJoin(join.line, along, join.allowance) if along or abs(ax - bx) <= ON_THE_GRAIN else None


def in_parts(piece: Piece, join: PermittedJoin) -> Parts | None:
    """The two parts at a join; None where one of them would not hang together, or be nothing but allowance."""
    low_x, low_y, high_x, high_y = piece.cut_line.bounds
    if join.along:
        below = [box(low_x - 1, low_y - 1, high_x + 1, join.off + beyond) for beyond in (join.allowance, 0.0)]
        above = [box(low_x - 1, join.off - beyond, high_x + 1, high_y + 1) for beyond in (join.allowance, 0.0)]
    else:
        below = [box(low_x - 1, low_y - 1, join.off + beyond, high_y + 1) for beyond in (join.allowance, 0.0)]
        above = [box(join.off - beyond, low_y - 1, high_x + 1, high_y + 1) for beyond in (join.allowance, 0.0)]
    cut = [piece.cut_line.intersection(side[0]) for side in (below, above)]
    sewing = [piece.sewing_line.intersection(side[1]) for side in (below, above)]
    if not all(isinstance(shape, Polygon) and not shape.is_empty for shape in (*cut, *sewing)):
        return None
    reach = [
        (high_y - low_y) if join.along else (high_x - low_x)
        for low_x, low_y, high_x, high_y in (shape.bounds for shape in sewing)
    ]
    if min(reach) <= 2 * join.allowance:
        return None
    more = cut[0].area + cut[1].area - piece.cut_line.area
    return Parts(join, (cut[0], cut[1]), (sewing[0], sewing[1]), more)


def meets_a_corner(piece: Piece, join: PermittedJoin) -> bool:
    """Whether a join would end where two other seams meet: nearer to a corner than the allowances of both reach."""
    for at, widest in _corners(piece):
        if any(Spot(end).distance(Spot(at)) < join.allowance + widest for end in join.line):
            return True
    return False


def _corners(piece: Piece) -> Iterator[tuple[Point, float]]:
    """The corners of the sewing line where two edges meet at an angle, each with the wider of their allowances."""
    lines = [(edge, line) for edge in piece.edges if not (line := edge_lines(piece)[edge.name]).is_empty]
    for (edge, line), (after, other) in zip(lines, [*lines[1:], *lines[:1]], strict=True):
        (ax, ay), (bx, by) = line.coords[-2], line.coords[-1]
        (cx, cy), (dx, dy) = other.coords[0], other.coords[1]
        turn = math.atan2(dy - cy, dx - cx) - math.atan2(by - ay, bx - ax)
        if abs(math.remainder(turn, math.tau)) > STRAIGHT:
            yield (bx, by), max(edge.allowance, after.allowance)


def ends_meet(one: Piece, join: PermittedJoin, other: Piece, its: PermittedJoin, seams: Sequence[Seam]) -> bool:
    """Whether a join of one piece would end at that of another, across a seam that sews the two together (or, of one piece to
    itself, that of its neighbour)."""
    for seam in seams:
        for first, second in ((seam.first, seam.second), (seam.second, seam.first)):
            mine, theirs = _edge_of(one, first), _edge_of(other, second)
            if mine is None or theirs is None:
                continue
            # Edges that are sewn to each other run against each other: both go round their piece the same way.
            here = [mine.project(Spot(end)) for end in join.line if mine.distance(Spot(end)) <= ON_THE_GRAIN]
            there = [
                theirs.length - theirs.project(Spot(end)) for end in its.line if theirs.distance(Spot(end)) <= ON_THE_GRAIN
            ]
            if any(abs(a - b) < join.allowance + its.allowance for a in here for b in there):
                return True
    return False


def _edge_of(piece: Piece, told: str) -> LineString | None:
    """The edge of the piece that a seam names as "piece/edge"; None where it is another piece's."""
    name, _, edge = told.partition("/")
    lines = {called.casefold(): line for called, line in edge_lines(piece).items()}
    return lines.get(edge.strip().casefold()) if name.strip().casefold() == piece.name.casefold() else None
