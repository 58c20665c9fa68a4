"""What must be so of a lay in stacks, looked at ply by ply with shapely alone: where the case says nothing of it.

That each panel lies on its own remnant, the right hand up, is `proving`'s already, since it is a placement there. Here it is
asked whether what one tracing makes lies in one place of the stack, whether each ply keeps slip and fold, and how near each
ply comes to its own edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import LineString, Polygon

from nesting import Case, Sheet, in_stack

from . import telling
from .plies import ON_FOLD, LaidPly, LaidStack
from .words import Half

if TYPE_CHECKING:
    from .plans import LaidPanel, Lay

APART = 0.1
"""mm: what two copies of one tracing may lie apart: the width of a thread. Outlines that count as each other's mirror differ
by half as much."""
SLACK = 0.02
"""mm: a margin short by no more than this is the rounding of outlines; a tape shows fifty times as much."""


@dataclass(frozen=True, slots=True)
class PlyEdge:
    """How near the cuts through a ply come to its own edge, holes counted in: the least distance (mm), between which panel and
    which place of the edge, from the remnant's left and from its near edge (mm), and of which tracing the panel is."""

    stack: int
    ply: int
    tag: str
    distance: float
    panel: int
    tracing: int
    left: float
    near: float


def edges_of(lay: Lay) -> tuple[PlyEdge, ...]:
    """For every ply of the lay's stacks the place nearest to its edge: where a ply is short, it is short there first."""
    return tuple(edge for stack in lay.stacks for ply in stack.plies if (edge := _edge_of(lay, stack, ply)) is not None)


def _edge_of(lay: Lay, stack: LaidStack, ply: LaidPly) -> PlyEdge | None:
    remnant = next(sheet.remnant for sheet in lay.sheets if sheet.remnant.tag == ply.tag)
    rim = remnant.shape.boundary
    left, near, _, _ = remnant.outline.bounds
    best: PlyEdge | None = None
    for tracing, panel in through(lay, stack, ply):
        distance = float(panel.cut_line.distance(rim))
        if best is None or distance < best.distance:
            at = shortest(panel.cut_line, rim)
            best = PlyEdge(stack.number, ply.number, ply.tag, distance, panel.number, tracing, at[0] - left, at[1] - near)
    return best


def shortest(cut: Polygon, rim: object) -> tuple[float, float]:
    """The place on the rim that is nearest to a cut."""
    import shapely

    line = LineString(shapely.shortest_line(cut, rim))
    x, y = line.coords[-1]
    return float(x), float(y)


def through(lay: Lay, stack: LaidStack, ply: LaidPly) -> Iterator[tuple[int, LaidPanel]]:
    """The panels that are cut in a ply, each with the number of its tracing."""
    by_number = {panel.number: panel for panel in lay.panels}
    for tracing in stack.tracings:
        for where, number in tracing.panels.items():
            if where in (ply.number, ON_FOLD):
                yield tracing.number, by_number[number]


def faults(lay: Lay, case: Case) -> Iterator[str]:
    """What is wrong with a lay's stacks, naming ply and place; nothing if they are sound. `case`: as the lay was tried."""
    sheets = {sheet.id: sheet for sheet in case.sheets}
    for stack in lay.stacks:
        yield from _apart(lay, stack)
        for ply in stack.plies:
            if ply.tag in sheets:
                yield from _too_near(lay, stack, ply, sheets[ply.tag])


def _apart(lay: Lay, stack: LaidStack) -> Iterator[str]:
    """Copies of one tracing that do not lie on one another."""
    by_number = {panel.number: panel for panel in lay.panels}
    plies = {ply.number: ply for ply in stack.plies}
    for tracing in stack.tracings:
        seen = [(n, in_stack(by_number[p].cut_line, plies[n].lie)) for n, p in tracing.panels.items() if n in plies]
        for n, shape in seen[1:]:
            apart = float(shape.hausdorff_distance(seen[0][1]))
            if apart > APART:
                other = seen[0][0]
                yield (
                    f"stack {stack.number}, tracing {tracing.number}: in ply {n} ({plies[n].tag}) it lies "
                    f"{telling.fine(apart)} beside where it lies in ply {other} ({plies[other].tag})"
                )


def _too_near(lay: Lay, stack: LaidStack, ply: LaidPly, sheet: Sheet) -> Iterator[str]:
    """Cuts that come nearer to a ply's own edge than edge and slip, or to its fold than that allows."""
    slip = lay.slip or 0.0
    cloth = Polygon(sheet.outline, [hole for hole in sheet.holes if len(hole) > 2])
    place = f"stack {stack.number}, ply {ply.number} ({ply.tag})"
    for tracing, panel in through(lay, stack, ply):
        distance = float(panel.cut_line.distance(cloth.boundary)) if cloth.covers(panel.cut_line.buffer(-SLACK)) else 0.0
        if distance < lay.edge + slip - SLACK:
            x, y = shortest(panel.cut_line, cloth.boundary)
            left, near, _, _ = cloth.bounds
            yield (
                f"{place}: tracing {tracing} comes within {telling.fine(distance)} of its edge, {telling.fine(x - left)} from "
                f"its left and {telling.fine(y - near)} from its near edge; {telling.fine(lay.edge)} and {telling.fine(slip)} "
                "of slip are asked"
            )
        if ply.fold is not None and ON_FOLD not in _where(stack, tracing):
            low, high = panel.cut_line.bounds[1], panel.cut_line.bounds[3]
            clear = ply.fold - high if ply.half is Half.NEAR else low - ply.fold
            if clear < lay.edge + slip - SLACK:
                yield f"{place}: tracing {tracing} comes within {telling.fine(max(0.0, clear))} of the fold"


def _where(stack: LaidStack, tracing: int) -> tuple[int, ...]:
    return tuple(next(one for one in stack.tracings if one.number == tracing).panels)
