"""A remnant as a sheet of the case: its edges trimmed by their kind, its holes taken out, its flaws put to the panels.

What harms which panel (common practice, no source): a *mark* (stain, fade, shine, crease) harms what is seen, and only on the
face that shows; a *weak place* (thin, needle holes) harms every panel, seen or hidden.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting import Flaw, Panel, Ring, Sheet, holes_of, ring_of

from .lying import ONE_WAY
from .matching import lattice_of
from .settings import Settings
from .settling import cloth_in
from .tables import FaultRow, RemnantRow
from .words import EdgeKind, Face, FaultKind

WEAK = frozenset({FaultKind.THIN, FaultKind.NEEDLE_HOLES})
"""Flaws that weaken the cloth; every other flaw is a mark."""


@dataclass(frozen=True, slots=True)
class Offered:
    """A panel as far as flaws go: its id, whether it is hidden when worn, whether it may be turned over."""

    id: str
    hidden: bool
    flips: bool

    @classmethod
    def of(cls, panel: Panel, *, hidden: bool) -> Offered:
        return cls(panel.id, hidden, panel.flip)


def sheet_of(row: RemnantRow, margins: Settings, panels: Sequence[Offered]) -> Sheet | None:
    """The sheet that a remnant offers, None where its margins leave nothing.

    The engine keeps `margins.edge` from every edge; a selvedge or raw edge that asks for more has the difference trimmed off
    here. The nap of a stored remnant runs along +x, so that a one-way one allows no turn.
    """
    shape = _largest(cloth_in(trimmed(row, margins), _holes(row)))
    if shape.is_empty:
        return None
    tears = [spot_ring(hole) for hole in _holes(row) if isinstance(hole, LineString) and hole.intersects(shape)]
    flaws = (fault for fault in row.faults if fault.kind is not FaultKind.HOLE and fault.shape.intersects(shape))
    return Sheet(
        id=row.tag,
        outline=ring_of(shape),
        holes=(*holes_of(shape), *tears),
        flaws=tuple(Flaw(spot_ring(fault.shape), spared_by(fault, panels)) for fault in flaws),
        turns=ONE_WAY if row.one_way else None,
        **lattice_of(row),
    )


def trimmed(row: RemnantRow, margins: Settings) -> BaseGeometry:
    """The outline less what its selvedges and raw edges ask for beyond the margin of every edge."""
    selvedge = margins.selvedge if row.cloth.selvedge is None else row.cloth.selvedge
    kept = {EdgeKind.SELVEDGE: selvedge, EdgeKind.RAW: margins.raw, EdgeKind.CUT: margins.edge}
    strips = [
        # Square at the ends, and a little beyond them: a selvedge's weave does not stop where the next side begins.
        edge.line.buffer(kept[edge.kind] - margins.edge, cap_style="square", join_style="mitre")
        for edge in row.edges
        if kept[edge.kind] > margins.edge
    ]
    return row.outline.difference(unary_union(strips)) if strips else row.outline


def spared_by(fault: FaultRow, panels: Iterable[Offered]) -> frozenset[str]:
    """The ids of the panels that a flaw does not harm."""
    return frozenset(panel.id for panel in panels if not _harms(fault, panel))


def _harms(fault: FaultRow, panel: Offered) -> bool:
    if fault.kind in WEAK:
        return True
    return not panel.hidden and (fault.face is not Face.WRONG or panel.flips)


def _holes(row: RemnantRow) -> list[BaseGeometry]:
    return [fault.shape for fault in row.faults if fault.kind is FaultKind.HOLE]


def _largest(shape: BaseGeometry) -> Polygon:
    """The largest part: trimming or a hole may leave more than one, and panels lie on one."""
    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())


def spot_ring(shape: BaseGeometry) -> Ring:
    """A fault's ring: of a polygon, or the two ends of a tear."""
    if isinstance(shape, Polygon):
        return ring_of(shape)
    first, *_, last = cast(LineString, shape).coords
    return ((first[0], first[1]), (last[0], last[1]))
