"""A remnant as measured, settled into how the stash holds it: mended, on its grain, right side up, with its area.

It is turned onto its grain, mirrored onto its right side and turned so that its nap runs along the grain arrow (+x) once,
here; nothing after that asks how it was measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from shapely import LineString, Point, Polygon, affinity
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting import largest_rectangle

from .amounts import booked_area, booked_mass, mass_of
from .given import a_description, a_figure
from .outlines import G, mended, onto_grain, spot
from .refusals import BadOutline, Refused
from .squareness import a_skew
from .tables import ClothRow, EdgeRow, FaultRow, RemnantRow
from .words import Face, FaultKind, GrainBy, Nap, RemnantState, Source

if TYPE_CHECKING:
    from .remnants import NewFault, NewRemnant


def settled(remnant: NewRemnant, cloth: ClothRow) -> RemnantRow:
    """A row for a remnant as told: everything measured is turned and mirrored here, and nowhere else."""
    if not math.isfinite(remnant.grain_angle):
        raise Refused(f"the grain angle is {remnant.grain_angle}", where="grain", expected="degrees, such as 12.5")
    face = Face(remnant.face_up)
    if face is Face.BOTH:
        raise Refused("one face is up, not both", where="face", expected="right or wrong")
    nap = None if remnant.nap is None else Nap(remnant.nap)
    if cloth.one_way and nap is None:
        raise Refused(
            f"{cloth.name} is one way, and which way the nap runs is not said",
            where="nap",
            expected=f"{Nap.ALONG} the grain arrow, or {Nap.AGAINST} it",
        )

    def turned(shape: G) -> G:
        return onto_grain(shape, remnant.grain_angle, face_up=face, against=nap is Nap.AGAINST)

    outline = turned(mended(remnant.outline.ring, "outline"))
    low_x, low_y, _, _ = outline.bounds

    def settle(shape: G) -> G:
        """On the grain, right side up, the outline's least corner at (0, 0): a remnant's children keep these coordinates."""
        moved: G = affinity.translate(turned(shape), -low_x, -low_y)
        return moved

    outline = settle(mended(remnant.outline.ring, "outline"))
    faults = [
        FaultRow(
            kind=FaultKind(fault.kind),
            face=Face(fault.face),
            shape=settle(_on_cloth(fault, remnant, number)),
            may_lie=fault.may_lie,
        )
        for number, fault in enumerate(remnant.faults, 1)
    ]
    lines = ((LineString(side), kind) for side, kind in remnant.outline.sides if side[0] != side[1])
    edges = [EdgeRow(kind=kind, line=settle(line)) for line, kind in lines]
    row = put_together(outline, faults, edges, where=f"remnant {remnant.tag}")
    row.cloth = cloth
    row.bar_x, row.bar_y = _bars(remnant, row, settle)
    row.rough = remnant.outline.rough
    skew = a_skew(remnant.skew)
    row.skew = -skew if skew is not None and face is Face.WRONG else skew
    row.one_way = cloth.one_way or nap is not None
    row.grain_angle, row.face_up, row.nap = remnant.grain_angle, face, nap
    row.grain_by = GrainBy(remnant.grain_by)
    row.way, row.told = remnant.outline.way, remnant.told.strip()
    row.within, row.area_within = remnant.outline.within, remnant.outline.area_within
    row.weighed = remnant.mass is not None
    weighed = None if remnant.mass is None else a_figure(remnant.mass, "mass", unit="g", above=True)
    row.mass = mass_of(row.area, cloth.weight) if weighed is None else booked_mass(weighed)
    row.washed = a_description(remnant.washed, "washing")
    row.source = Source(remnant.source)
    row.note = remnant.note.strip()
    return row


def _bars(remnant: NewRemnant, row: RemnantRow, settle: Callable[[Point], Point]) -> tuple[float | None, float | None]:
    """Where the bars of a stripe or check lie, told as the remnant lay before the measurer, its grain from left to right."""
    if remnant.bar_left is None and remnant.bar_near is None:
        return None, None
    from .matching import bars_told

    left, near = bars_told(row, remnant.bar_left, remnant.bar_near)
    as_it_lay = affinity.rotate(Polygon(remnant.outline.ring), -remnant.grain_angle, origin=(0, 0))
    low_x, low_y, _, _ = as_it_lay.bounds
    at = settle(affinity.rotate(Point(low_x + (left or 0.0), low_y + (near or 0.0)), remnant.grain_angle, origin=(0, 0)))
    return None if left is None else at.x, None if near is None else at.y


def _on_cloth(fault: NewFault, remnant: NewRemnant, number: int) -> Polygon | LineString:
    """The shape of a fault as measured. Raises BadOutline where it lies off the cloth."""
    where = f"fault {number} ({fault.kind})"
    shape = spot(fault.ring, where)
    if not shape.intersects(Polygon(remnant.outline.ring)):
        raise BadOutline(
            "it lies off the remnant", where=where, expected="a place on the remnant, in the outline's own measures"
        )
    return shape


def put_together(outline: Polygon, faults: Sequence[FaultRow], edges: Sequence[EdgeRow], *, where: str) -> RemnantRow:
    """A row for an outline on the grain, right side up, with its booked area and the columns to search by.

    Raises BadOutline where the holes leave no cloth, or cut it in two.
    """
    shape = cloth_in(outline, [fault.shape for fault in faults if fault.kind is FaultKind.HOLE])
    if shape.geom_type != "Polygon" or booked_area(shape.area) == 0:
        what = "the holes leave no cloth" if shape.area == 0 else "the holes cut it in two"
        raise BadOutline(what, where=where, expected="one piece of cloth", next="Log the parts one by one")
    low_x, low_y, high_x, high_y = outline.bounds
    rectangle = largest_rectangle(shape)
    return RemnantRow(
        outline=outline,
        faults=list(faults),
        edges=list(edges),
        area=booked_area(shape.area),
        length=high_x - low_x,
        width=high_y - low_y,
        rect_length=rectangle.length,
        rect_width=rectangle.width,
        state=RemnantState.IN_BIN,
        revision=1,
        confirmed_by="",
        quarantined_by="",
        quarantine_reason="",
        released_by="",
    )


def cloth_in(outline: Polygon, holes: Sequence[BaseGeometry]) -> BaseGeometry:
    """The cloth that is there: the outline less the holes (a tear takes nothing)."""
    taken = [hole for hole in holes if isinstance(hole, Polygon)]
    return outline.difference(unary_union(taken)) if taken else outline
