"""Stacks as they are drawn: the top ply, the rims of those under it, the tracings; and a remnant seen from its wrong side."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from shapely.affinity import scale
from shapely.geometry import Polygon

from . import pictures
from .plying import how_it_lies
from .saying import many, runs

if TYPE_CHECKING:
    from stash.lays import Lay
    from stash.plies import LaidStack

    from .pictures import RemnantDrawn


def stacks_drawn(lay: Lay, one_way: Container[str] = ()) -> list[RemnantDrawn]:
    """The stacks of a lay, each as whoever chalks on its top ply sees it; panels have the numbers of their tracings.
    `one_way`: the pieces that lie one way."""
    return [_stack(lay, one, one_way) for one in lay.stacks]


def _stack(lay: Lay, one: LaidStack, one_way: Container[str]) -> RemnantDrawn:
    from stash.dockets import faults_in_stack, rim_in_stack

    from .drawn import faults_below_drawn, faults_drawn

    outlines = [rim_in_stack(lay, ply) for ply in one.plies]
    notes = [f"ply {ply.number}: {ply.tag}, {how_it_lies(ply)}" for ply in one.plies]
    for tracing in one.tracings:
        plies = [ply for ply in tracing.panels if ply]
        if plies and len(plies) < len(one.plies):
            notes.append(f"tracing {tracing.number}: through {'ply' if len(plies) == 1 else 'plies'} {runs(plies)} only")
    return pictures.RemnantDrawn(
        f"Stack {one.number}: {len(one.plies)} plies, {many(len(one.tracings), 'tracing')}",
        (*notes, "rims of the plies under the top one are broken lines"),
        outlines[0],
        (
            *faults_drawn(faults_in_stack(lay, one.plies[0])),
            *(drawn for ply in one.plies[1:] for drawn in faults_below_drawn(ply.number, faults_in_stack(lay, ply))),
        ),
        panels=tuple(_tracings(lay, one, one_way, outlines[0])),
        under=tuple(outlines[1:]),
        nap=any(sheet.remnant.one_way for sheet in lay.sheets if sheet.remnant.tag == one.plies[0].tag),
    )


def _tracings(lay: Lay, one: LaidStack, one_way: Container[str], top: Polygon) -> Iterator[pictures.PanelDrawn]:
    from nesting import in_stack
    from stash.dockets import half_within

    by_number = {panel.number: panel for panel in lay.panels}
    lies = {ply.number: ply.lie for ply in one.plies}
    for tracing in one.tracings:
        ply, number = next(iter(tracing.panels.items()))
        panel, lie = by_number[number], lies.get(ply, one.plies[0].lie)
        turn = lie.turn - panel.placement.turn if lie.flipped else lie.turn + panel.placement.turn
        cut, sewing = (in_stack(line, lie) for line in (panel.cut_line, panel.sewing_line))
        if tracing.on_fold:
            cut, sewing = half_within(cut, top), half_within(sewing, top)
        yield pictures.PanelDrawn(str(tracing.number), cut, sewing, turn, tracing.piece not in one_way)


def from_the_wrong_side(drawn: RemnantDrawn) -> RemnantDrawn:
    """A remnant as it lies wrong side up, turned over across the grain: what was near is far."""
    return replace(
        drawn,
        title=f"{drawn.title}, wrong side up",
        outline=_over(drawn.outline),
        faults=tuple(replace(fault, ring=tuple((x, -y) for x, y in fault.ring)) for fault in drawn.faults),
        panels=tuple(
            replace(
                panel,
                cut=_over(panel.cut),
                sewing=None if panel.sewing is None else _over(panel.sewing),
                grain=-panel.grain,
                notches=tuple(((a, -b), (c, -d)) for (a, b), (c, d) in panel.notches),
                lines=tuple(((a, -b), (c, -d)) for (a, b), (c, d) in panel.lines),
            )
            for panel in drawn.panels
        ),
        keepers=tuple(replace(keeper, shape=_over(keeper.shape)) for keeper in drawn.keepers),
        rag=None if drawn.rag is None else scale(drawn.rag, 1, -1, origin=(0, 0)),
        under=tuple(map(_over, drawn.under)),
    )


def _over(shape: Polygon) -> Polygon:
    return scale(shape, 1, -1, origin=(0, 0))
