"""Stacks as they are drawn: the top ply, the rims of those under it, the tracings; and a remnant seen from its wrong side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from shapely.affinity import scale
from shapely.geometry import Polygon

from . import pictures
from .plying import how_it_lies
from .saying import many

if TYPE_CHECKING:
    from stash.lays import Lay
    from stash.plies import LaidPly, LaidStack

    from .pictures import RemnantDrawn


def stacks_drawn(lay: Lay) -> list[RemnantDrawn]:
    """The stacks of a lay, each as whoever chalks on its top ply sees it; panels have the numbers of their tracings."""
    return [_stack(lay, one) for one in lay.stacks]


def _stack(lay: Lay, one: LaidStack) -> RemnantDrawn:
    outlines = [_rim(lay, ply) for ply in one.plies]
    notes = [f"ply {ply.number}: {ply.tag}, {how_it_lies(ply)}" for ply in one.plies]
    return pictures.RemnantDrawn(
        f"Stack {one.number}: {len(one.plies)} plies, {many(len(one.tracings), 'tracing')}",
        (*notes, "rims of the plies under the top one are broken lines"),
        outlines[0],
        panels=tuple(_tracings(lay, one)),
        under=tuple(outlines[1:]),
    )


def _tracings(lay: Lay, one: LaidStack) -> Iterator[pictures.PanelDrawn]:
    from nesting import in_stack

    by_number = {panel.number: panel for panel in lay.panels}
    lies = {ply.number: ply.lie for ply in one.plies}
    for tracing in one.tracings:
        ply, number = next(iter(tracing.panels.items()))
        panel, lie = by_number[number], lies.get(ply, one.plies[0].lie)
        turn = lie.turn - panel.placement.turn if lie.flipped else lie.turn + panel.placement.turn
        cut, sewing = (in_stack(line, lie) for line in (panel.cut_line, panel.sewing_line))
        yield pictures.PanelDrawn(str(tracing.number), cut, sewing, turn)  # type: ignore[arg-type]


def _rim(lay: Lay, ply: LaidPly) -> Polygon:
    """A ply's outline where it lies in the stack; of one that is folded, its half."""
    from shapely.geometry import box

    from nesting import in_stack

    outline = next(sheet.remnant for sheet in lay.sheets if sheet.remnant.tag == ply.tag).outline
    if ply.fold is not None:
        left, low, right, high = outline.bounds
        far = str(ply.half) == "far"
        half = outline.intersection(box(left - 1, ply.fold if far else low - 1, right + 1, high + 1 if far else ply.fold))
        outline = max(getattr(half, "geoms", [half]), key=lambda part: part.area)
    return Polygon(in_stack(outline, ply.lie).exterior)  # type: ignore[attr-defined]


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
