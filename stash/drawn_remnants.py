"""Remnants out of a drawing: the outline, holes and flaws, edges that are not plainly cut, and the grain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString

from nesting import Point, ring_of

from . import graining
from .drawings import Layer
from .drawn_shapes import ON_RIM, Body, bodies, grain_of
from .found_lines import FoundDrawing, FoundLine
from .outlines import Measured, Side
from .refusals import Refused
from .remnants import NewFault
from .words import EdgeKind, FaultKind, GrainBy, Way

EDGES = {Layer.SELVEDGE: EdgeKind.SELVEDGE, Layer.RAW: EdgeKind.RAW}
HOLES = (Layer.HOLE, Layer.CUT_OUT)


@dataclass(frozen=True, slots=True)
class DrawnRemnant:
    """A remnant as it was drawn, to be logged with its cloth and tag. `name`: what the drawing calls it. `grain_by`: what
    showed the grain. `left_out`: what of the drawing has no place in a remnant."""

    name: str
    outline: Measured
    faults: tuple[NewFault, ...]
    grain_angle: float
    grain_by: GrainBy
    left_out: tuple[str, ...] = ()


def remnants(found: FoundDrawing, lines: Sequence[FoundLine], *, grain_angle: float | None = None) -> tuple[DrawnRemnant, ...]:
    """The remnants in a drawing whose lines are known (`line_roles.sort_out`), from left to right. `grain_angle`: degrees,
    where neither a grain line nor a selvedge shows it. Raises Refused, BadOutline."""
    kind = Layer.CUT if any(line.said is Layer.CUT for line in lines) else Layer.REMNANT
    kind = Layer.REMNANT if any(line.said is Layer.REMNANT for line in lines) else kind
    return tuple(_remnant(body, grain_angle) for body in bodies(found, lines, [kind]))


def _remnant(body: Body, grain_angle: float | None) -> DrawnRemnant:
    sides = tuple(side for line in body.of(*EDGES) for side in _sides(line, body))
    outline = Measured(ring_of(body.shape), sides, way=Way.DRAWING)
    faults = [NewFault(FaultKind.HOLE, ring_of(hole)) for hole in body.within]
    faults += [_fault(line, body) for line in body.of(*HOLES, Layer.FLAW)]
    angle, by = grain_of(body, arrow=body.line.group != ""), GrainBy.ANGLE
    if angle is None and any(kind is EdgeKind.SELVEDGE for _, kind in sides):
        angle, by = graining.by_selvedge(outline), GrainBy.SELVEDGE
    if angle is None:
        angle = grain_angle
    if angle is None:
        raise Refused(
            "neither a grain line nor a selvedge is drawn",
            where=body.name,
            expected="a grain line, a selvedge, or the angle of the grain",
            next="Say which lines it is, or the angle with --grain-angle (0 is the drawing's left to right, 90 upwards)",
        )
    kept = (*HOLES, *EDGES, Layer.FLAW, Layer.GRAIN)
    left_out = tuple(dict.fromkeys(str(line.said) for line in body.on_it if line.said not in kept))
    return DrawnRemnant(body.name, outline, tuple(faults), angle, by, left_out)


def _fault(line: FoundLine, body: Body) -> NewFault:
    """A hole, a tear (an open line of two points) or a flaw. Raises Refused where it is not said of which kind a flaw is."""
    if not line.closed and len(line.points) != 2:
        raise Refused(f"a {line.said} is open", where=body.name, expected="a closed line, or a straight one for a tear")
    if line.said in HOLES:
        return NewFault(FaultKind.HOLE, line.points)
    names = {" ".join(name.casefold().replace("-", " ").split()) for name in (line.name, line.layer)}
    kind = next((kind for kind in FaultKind if str(kind) in names), None)
    if kind is None:
        raise Refused(
            "it is not said what is wrong at a flaw",
            where=body.name,
            expected=f"its line, or its layer, called one of: {', '.join(FaultKind)}",
        )
    return NewFault(kind, line.points)


def _sides(line: FoundLine, body: Body) -> Iterator[tuple[Side, EdgeKind]]:
    """The parts of a selvedge or raw edge. Raises Refused where it does not lie on the rim."""
    rim = body.shape.exterior
    points: tuple[Point, ...] = (*line.points, line.points[0]) if line.closed else line.points
    for first, last in pairwise(points):
        side = LineString([first, last])
        near = rim.intersection(side.buffer(ON_RIM))
        if near.is_empty or side.hausdorff_distance(near) > 3 * ON_RIM:
            raise Refused(f"a {line.said} does not lie on the rim", where=body.name, expected="a line along the outline")
        yield (first, last), EDGES[line.said]  # type: ignore[index]
