"""The edges of a pattern piece: runs of the sides of its drawn line, each with its name, its allowance and the way it ends.

A curved end is many short sides and one edge. Edges are named by whoever draws the piece, or "side 1", "side 2" … in order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from nesting import Point, Ring

from .given import a_figure, a_name, key_of
from .refusals import Refused

if TYPE_CHECKING:
    from .allowances import Joint

WIDEST_ALLOWANCE = 300.0
"""mm: a deep hem of a curtain. Above it, a unit was mistaken."""


class Finish(StrEnum):
    """How an edge's allowance ends at the corners: in a mitre; cut off bluntly; or folded back onto the piece, as a hem is."""

    MITRE = "mitre"
    BLUNT = "blunt"
    FOLDED_BACK = "folded back"


@dataclass(frozen=True, slots=True)
class NewEdge:
    """An edge as it is drawn: from point `start` of the ring to the next edge's. `allowance`: mm, None for the piece's."""

    name: str
    start: int
    allowance: float | None = None
    finish: Finish = Finish.MITRE


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge of a piece in the stash: `sides` of its drawn line from point `start` on, with one allowance (mm)."""

    name: str
    start: int
    sides: int
    allowance: float
    finish: Finish


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawn line, counter-clockwise on its grain, and for each of its sides the number of its edge in `edges`."""

    ring: Ring
    of: tuple[int, ...]
    edges: tuple[NewEdge, ...]
    allowances: tuple[float, ...]

    def in_order(self) -> tuple[Edge, ...]:
        """The edges as they lie round the ring, the first with the ring's first side."""
        found: list[Edge] = []
        count = len(self.of)
        first = next((i for i in range(count) if self.of[i] != self.of[i - 1]), 0)
        for step in range(count):
            side = (first + step) % count
            edge = self.edges[self.of[side]]
            if found and step and self.of[side] == self.of[side - 1]:
                found[-1] = replace(found[-1], sides=found[-1].sides + 1)
            else:
                found.append(Edge(edge.name, side, 1, self.allowances[side], edge.finish))
        return tuple(sorted(found, key=lambda edge: edge.start))

    def joints(self) -> tuple[Joint, ...]:
        """How the allowances meet at each point: only where two edges do can it be other than a mitre."""
        from .allowances import Joint

        return tuple(
            _joint(self.edges[self.of[i - 1]].finish, self.edges[self.of[i]].finish)
            if self.of[i] != self.of[i - 1]
            else Joint.MITRE
            for i in range(len(self.of))
        )


def _joint(before: Finish, after: Finish) -> Joint:
    """How two edges meet: folded back, if one is; bluntly, if one is; two folded ones in a mitre."""
    from .allowances import Joint

    folded = [finish is Finish.FOLDED_BACK for finish in (before, after)]
    if folded == [True, False]:
        return Joint.BEFORE_FOLDED
    if folded == [False, True]:
        return Joint.AFTER_FOLDED
    return Joint.BLUNT if Finish.BLUNT in (before, after) else Joint.MITRE


def drawn(ring: Ring, allowance: float | Sequence[float], edges: Sequence[NewEdge], grain_angle: float, where: str) -> Drawn:
    """The drawn ring, counter-clockwise and turned onto its grain line, with an edge and an allowance for each side.

    `allowance`: one for all, one for each side, or one for each edge. Points on a straight side are kept where a person put
    them, since an allowance may change there. Raises BadOutline, Refused.
    """
    from shapely import LinearRing, Polygon, affinity

    from .outlines import NEAR, mended

    mended(ring, where)
    points = [(float(x), float(y)) for x, y in ring]
    if points[0] == points[-1]:
        points.pop()
    kinds, of = _edge_of_each_side(edges, len(points), where)
    allowances = _allowance_of_each_side(allowance, kinds, of, where)
    kept = [i for i, point in enumerate(points) if math.dist(point, points[(i + 1) % len(points)]) > NEAR]
    points, of, allowances = [points[i] for i in kept], [of[i] for i in kept], [allowances[i] for i in kept]
    if not LinearRing(points).is_ccw:
        # The side from p to q is, the other way round, the one from q to p: it goes with the point before.
        points, of, allowances = points[::-1], [*of[-2::-1], of[-1]], [*allowances[-2::-1], allowances[-1]]
    turned = affinity.rotate(Polygon(points), -grain_angle, origin=(0, 0))
    on_grain = tuple((float(x), float(y)) for x, y in turned.exterior.coords[:-1])
    return Drawn(on_grain, tuple(of), kinds, tuple(allowances))


def unfolded(half: Drawn, fold: str, where: str) -> tuple[Drawn, tuple[Point, Point]]:
    """The whole of a piece that is drawn as a half whose edge `fold` lies on the fold of the cloth, and the fold's line.

    The edges of the other half are named after those that they mirror. Raises Refused.
    """
    from .outlines import mended

    number = next((i for i, edge in enumerate(half.edges) if key_of(edge.name) == key_of(fold)), None)
    sides = [i for i, edge in enumerate(half.of) if edge == number]
    if number is None or len(sides) != 1:
        names = ", ".join(edge.name for edge in half.edges)
        what = f"there is no edge {fold!r}" if number is None else f"{fold} is not one straight side"
        raise Refused(what, where=where, expected=f"one straight edge that lies on the fold: {names}")
    count, side = len(half.ring), sides[0]
    if half.allowances[side]:
        half = replace(half, allowances=tuple(0.0 if i == side else width for i, width in enumerate(half.allowances)))
    p, q = half.ring[side], half.ring[(side + 1) % count]
    order = [(side + 1 + step) % count for step in range(count)]
    ring = [half.ring[i] for i in order]  # from q round to p
    ring += [_mirrored(half.ring[i], p, q) for i in reversed(order[1:-1])]
    own = order[:-1]
    of = [half.of[i] for i in own] + [half.of[i] + len(half.edges) for i in reversed(own)]
    widths = [half.allowances[i] for i in own]
    other = tuple(replace(edge, name=f"{edge.name}, other half") for edge in half.edges)
    whole = Drawn(tuple(ring), tuple(of), (*half.edges, *other), (*widths, *reversed(widths)))
    mended(whole.ring, where)
    return whole, (p, q)


def _mirrored(point: Point, p: Point, q: Point) -> Point:
    """A point mirrored at the line through p and q."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    share = ((point[0] - p[0]) * dx + (point[1] - p[1]) * dy) / (dx * dx + dy * dy)
    foot = (p[0] + share * dx, p[1] + share * dy)
    return (2 * foot[0] - point[0], 2 * foot[1] - point[1])


def _edge_of_each_side(edges: Sequence[NewEdge], count: int, where: str) -> tuple[tuple[NewEdge, ...], list[int]]:
    """The edges in order, and for each side the number of its edge. Raises Refused."""
    if not edges:
        edges = [NewEdge(f"side {i + 1}", i) for i in range(count)]
    named = tuple(replace(edge, name=a_name(edge.name, "edge")) for edge in sorted(edges, key=lambda edge: edge.start))
    starts = [edge.start for edge in named]
    if len(set(starts)) < len(starts) or not 0 <= starts[0] <= starts[-1] < count:
        raise Refused("two edges begin at one point, or one at no point", where=where, expected="edges that begin at points")
    if len({key_of(edge.name) for edge in named}) < len(named):
        raise Refused("two edges have one name", where=where, expected="a name of its own for each edge")
    return named, [max((n for n, start in enumerate(starts) if start <= i), default=len(named) - 1) for i in range(count)]


def _allowance_of_each_side(
    given: float | Sequence[float], edges: Sequence[NewEdge], of: Sequence[int], where: str
) -> list[float]:
    """The allowance of each side. Raises Refused for a wrong number of them."""
    if isinstance(given, tuple | list):
        widths = [_a_width(width, where) for width in given]
        if len(widths) == len(edges):
            return [widths[edge] for edge in of]
        if len(widths) == len(of):
            return widths
        raise Refused(
            f"{len(widths)} allowances are given for {len(edges)} sides",
            where=where,
            expected="one allowance for all, or one for each side in order",
        )
    own = [given if edge.allowance is None else edge.allowance for edge in edges]
    widths = [_a_width(width, where) for width in own]
    return [widths[edge] for edge in of]


def _a_width(given: Any, where: str) -> float:
    return a_figure(given, f"{where}: allowance", unit="mm", above=False, most=WIDEST_ALLOWANCE)
