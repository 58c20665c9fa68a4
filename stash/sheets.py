"""A remnant as a sheet of the case: its edges trimmed by their kind, its holes taken out, its flaws put to the panels.

What harms which panel is in `flaw_rules`: a flaw that may lie nowhere is left out of the sheet as a hole is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from sqlalchemy.orm import object_session

from nesting import Flaw, Panel, Ring, Sheet, holes_of, ring_of

from .flaw_rules import Rules, may_lie, rules_of
from .lying import ONE_WAY
from .matching import lattice_of
from .settings import Settings
from .settling import cloth_in
from .tables import FaultRow, RemnantRow
from .words import EdgeKind, FaultKind, MayLie


@dataclass(frozen=True, slots=True)
class Offered:
    """A panel as far as flaws go: its id, whether it is hidden when worn, whether it may be turned over, whether it is looked
    at first."""

    id: str
    hidden: bool
    flips: bool
    front: bool = False

    @classmethod
    def of(cls, panel: Panel, *, hidden: bool, front: bool = False) -> Offered:
        return cls(panel.id, hidden, panel.flip, front and not hidden)


def sheet_of(row: RemnantRow, margins: Settings, panels: Sequence[Offered]) -> Sheet | None:
    """The sheet that a remnant offers, None where its margins leave nothing.

    The engine keeps `margins.edge` from every edge; a selvedge or raw edge that asks for more has the difference trimmed off
    here. The nap of a stored remnant runs along +x, so that a one-way one allows no turn.
    """
    rules = rules_of(object_session(row))
    holes = _holes(row, rules)
    shape = _largest(cloth_in(trimmed(row, margins), holes))
    if shape.is_empty:
        return None
    tears = [spot_ring(hole) for hole in holes if isinstance(hole, LineString) and hole.intersects(shape)]
    flaws = (fault for fault in row.faults if not _left_out(fault, rules) and fault.shape.intersects(shape))
    return Sheet(
        id=row.tag,
        outline=ring_of(shape),
        holes=(*holes_of(shape), *tears),
        flaws=tuple(Flaw(spot_ring(fault.shape), spared_by(fault, panels, rules)) for fault in flaws),
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


def spared_by(fault: FaultRow, panels: Iterable[Offered], rules: Rules | None = None) -> frozenset[str]:
    """The ids of the panels that a flaw does not harm."""
    rules = rules_of(object_session(fault)) if rules is None else rules
    return frozenset(panel.id for panel in panels if not _harms(fault, panel, rules))


def _harms(fault: FaultRow, panel: Offered, rules: Rules) -> bool:
    where = may_lie(fault, rules, turned_over=panel.flips)
    if where is MayLie.NOT_THE_FRONT:
        return panel.front
    return where in (MayLie.ALLOWANCE, MayLie.NOWHERE) or (where is MayLie.HIDDEN and not panel.hidden)


def _holes(row: RemnantRow, rules: Rules) -> list[BaseGeometry]:
    return [fault.shape for fault in row.faults if _left_out(fault, rules)]


def _left_out(fault: FaultRow, rules: Rules) -> bool:
    """Whether a fault is a hole, or a flaw that may lie nowhere."""
    return fault.kind is FaultKind.HOLE or may_lie(fault, rules) is MayLie.NOWHERE


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
