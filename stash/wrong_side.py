"""A docket for whoever chalks on the wrong side of the cloth, so that no mark shows: the remnant is turned over across the
grain, what was near is far, and every template lies turned over. Distances are what they were."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from shapely import affinity

from nesting import Mark, Point

if TYPE_CHECKING:
    from .dockets import DocketPanel, SheetDocket


def from_the_wrong_side(docket: SheetDocket) -> SheetDocket:
    """The docket as it is seen there. That of a stack stays: its top ply lies as the stack says."""
    if docket.stack is not None:
        return docket
    remnant = docket.sheet.remnant
    over = replace(
        remnant,
        outline=_over(remnant.outline),
        faults=tuple(replace(fault, shape=_over(fault.shape)) for fault in remnant.faults),
        edges=tuple(replace(edge, line=_over(edge.line)) for edge in remnant.edges),
        bar_y=None if remnant.bar_y is None else -remnant.bar_y,
    )
    panels = tuple(_panel(each) for each in docket.panels)
    return replace(
        docket,
        sheet=replace(docket.sheet, remnant=over, panels=tuple(each.panel for each in panels)),
        marks=tuple(map(_mark, docket.marks)),
        panels=panels,
        keepers=tuple(replace(keeper, shape=_over(keeper.shape)) for keeper in docket.keepers),
        rag=_over(docket.rag),
        proofs=tuple(replace(proof, start=_mark(proof.start), end=_mark(proof.end)) for proof in docket.proofs),
        wrong_side=True,
    )


def _panel(each: DocketPanel) -> DocketPanel:
    panel, measure = each.panel, each.measure
    placement = replace(panel.placement, turn=-panel.placement.turn % 360, flipped=not panel.placement.flipped)
    return replace(
        each,
        panel=replace(
            panel,
            placement=placement,
            cut_line=_over(panel.cut_line),
            sewing_line=_over(panel.sewing_line),
            seam=None if panel.seam is None else _over(panel.seam),
        ),
        marks=tuple(map(_mark, each.marks)),
        notches=tuple((_point(a), _point(b)) for a, b in each.notches),
        measure=replace(
            measure,
            start=_mark(measure.start),
            end=_mark(measure.end),
            left=not measure.left,
            laid=(_point(measure.laid[0]), _point(measure.laid[1])),
            rim=tuple(map(_point, measure.rim)),
        ),
    )


def _over(shape: Any) -> Any:
    return affinity.scale(shape, 1, -1, origin=(0, 0))


def _point(at: Point) -> Point:
    return at[0], -at[1]


def _mark(mark: Mark) -> Mark:
    return replace(mark, at=_point(mark.at))
