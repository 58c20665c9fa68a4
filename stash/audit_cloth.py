"""The audit of the cloth: outlines and what is said of them, and who was cut from what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry
from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from .amounts import square_mm
from .audit import RESTORE, Damage, Found
from .cutting import ON_THE_RIM
from .settling import cloth_in
from .tables import ClothRow, RemnantBeforeRow, RemnantJoinedRow, RemnantRow
from .words import FaultKind, RemnantState

AREA_OUT = 1.0
"""mm²: parts of a remnant are shared out in whole hundredths of a mm², and what rounding leaves too much comes off the
largest: a unit for each part at most, of which a remnant has fewer than a hundred."""
MEASURE_OUT = 0.001
"""mm: a length is kept as it was worked out; a thousandth is far above what two ways of working it out differ by."""


def outlines(session: Session) -> Iterator[Found]:
    """Each remnant's area and measures are those of its outline."""
    for row in _remnants(session):
        shape = shape_of(row)
        place = f"remnant {row.tag}"
        again = f"Measure it again: fent bin measure-again {row.tag}" if row.state is RemnantState.IN_BIN else RESTORE
        if shape is None:
            yield Found(Damage.OUTLINE, place, "its outline is not one piece of cloth", again)
            continue
        if abs(shape.area - square_mm(row.area)) > AREA_OUT:
            what = f"the outline has {shape.area:.2f} mm², the book {square_mm(row.area):.2f} mm²"
            yield Found(Damage.AREA, place, what, again)
        left, low, right, high = row.outline.bounds
        sides = {"length": right - left, "width": high - low}
        wrong = [name for name, side in sides.items() if abs(side - getattr(row, name)) > MEASURE_OUT]
        if row.rect_length > sides["length"] + MEASURE_OUT or row.rect_width > sides["width"] + MEASURE_OUT:
            wrong.append("largest rectangle")
        if wrong:
            yield Found(Damage.MEASURES, place, f"its {' and '.join(wrong)} cannot be that of its outline", again)


def families(session: Session) -> Iterator[Found]:
    """Each child lay within its parent when it was cut from it, and clear of the others; no remnant comes from itself."""
    rows = {row.id: row for row in _remnants(session)}
    first = _first_shapes(session)
    shapes = {row.id: first.get(row.id) or shape_of(row) for row in rows.values()}
    by_parent: dict[int, list[RemnantRow]] = defaultdict(list)
    for row in rows.values():
        if row.parent_id is not None and row.state is not RemnantState.STRUCK_OUT:
            by_parent[row.parent_id].append(row)
    for parent_id, children in by_parent.items():
        parent = rows[parent_id]
        yield from _whose(parent, children, rows)
        whole = shape_of(parent)
        if whole is not None:
            for child in children:
                shape = shapes[child.id]
                if shape is not None and not whole.buffer(ON_THE_RIM).covers(shape):
                    outside = shape.difference(whole).area
                    what = f"{outside:.2f} mm² of it lie outside {parent.tag}"
                    yield Found(Damage.OUTSIDE, f"remnant {child.tag}", what, RESTORE)
        yield from _overlaps([(child, shape) for child in children if (shape := shapes[child.id]) is not None])


def _whose(parent: RemnantRow, children: list[RemnantRow], rows: dict[int, RemnantRow]) -> Iterator[Found]:
    for child in children:
        what = ""
        if child.cloth_id != parent.cloth_id:
            what = f"it is {child.cloth.name}, and {parent.tag} is {parent.cloth.name}"
        elif parent.state is not RemnantState.CUT:
            what = f"it was cut from {parent.tag}, which is {parent.state}"
        elif _own_forebear(child, rows):
            what = "it is its own forebear"
        if what:
            yield Found(Damage.FAMILY, f"remnant {child.tag}", what, RESTORE)


def _own_forebear(row: RemnantRow, rows: dict[int, RemnantRow]) -> bool:
    seen: set[int] = set()
    step: RemnantRow | None = row
    while step is not None and step.id not in seen:
        seen.add(step.id)
        step = rows.get(step.parent_id) if step.parent_id is not None else None
    return step is not None


def _overlaps(children: list[tuple[RemnantRow, BaseGeometry]]) -> Iterator[Found]:
    if len(children) < 2:
        return
    shapes = [shape for _, shape in children]
    pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    for one, other in sorted((int(a), int(b)) for a, b in zip(*pairs, strict=True) if a < b):
        common = shapes[one].intersection(shapes[other]).area
        if common > ON_THE_RIM * shapes[one].length:
            what = f"it has {common:.2f} mm² in common with {children[other][0].tag}"
            yield Found(Damage.OVERLAP, f"remnant {children[one][0].tag}", what, RESTORE)


def joined(session: Session) -> Iterator[Found]:
    """What was sewn together is joined, in one cloth."""
    rows = {row.id: row for row in session.scalars(select(RemnantRow))}
    parts = set()
    for link in session.scalars(select(RemnantJoinedRow)):
        whole, part = rows[link.remnant_id], rows[link.part_id]
        stands = whole.state is not RemnantState.STRUCK_OUT
        if stands:
            parts.add(part.id)
        if whole.cloth_id != part.cloth_id or (stands and part.state is not RemnantState.JOINED):
            what = f"it is joined into {whole.tag}, and is {part.state}"
            yield Found(Damage.FAMILY, f"remnant {part.tag}", what, RESTORE)
    for row in rows.values():
        if row.state is RemnantState.JOINED and row.id not in parts:
            yield Found(Damage.FAMILY, f"remnant {row.tag}", "it is joined, and into what is not said", RESTORE)


def make_up(session: Session) -> Iterator[Found]:
    """Each cloth's fibres make 100 %."""
    for cloth in session.scalars(select(ClothRow).order_by(ClothRow.id)):
        share = sum(part.share for part in cloth.fibres)
        if share != 10_000:
            yield Found(
                Damage.MAKE_UP,
                f"cloth {cloth.name}",
                f"they make {share / 100:g} %",
                f'Mend it: fent cloth mend "{cloth.name}" --fibre …',
            )


def _remnants(session: Session) -> list[RemnantRow]:
    asked = select(RemnantRow).options(undefer(RemnantRow.outline)).order_by(RemnantRow.id)
    return list(session.scalars(asked))


def shape_of(row: RemnantRow) -> BaseGeometry | None:
    """The cloth that is there, None where the outline is none."""
    if row.outline.geom_type != "Polygon" or not row.outline.is_valid:
        return None
    shape = cloth_in(row.outline, [fault.shape for fault in row.faults if fault.kind is FaultKind.HOLE])
    return shape if shape.geom_type == "Polygon" and not shape.is_empty else None


def _first_shapes(session: Session) -> dict[int, BaseGeometry]:
    """What remnants that were measured again were when they came: in the coordinates of what they were cut from."""
    found: dict[int, BaseGeometry] = {}
    for before in session.scalars(select(RemnantBeforeRow).order_by(RemnantBeforeRow.id)):
        found.setdefault(before.remnant_id, before.shape)
    return found


CHECKS = (outlines, families, joined, make_up)
