"""Copies where they lie on a sheet or a strip: which overlap, come too near or stick out, and the narrowest places.

All by shapely, from the outlines as they are. A copy is at fault when it still is after being drawn in by the tolerance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar, cast

import numpy as np
import shapely
from shapely import LineString, Polygon, STRtree, affinity
from shapely.geometry.base import BaseGeometry

from .forms import Case, Panel, Placement, Point, Ring, Sheet
from .outlines import united
from .tolerances import GAP_SLACK

Shape = TypeVar("Shape", bound=BaseGeometry)
Named = tuple[str, BaseGeometry]
"""Something on a sheet that copies keep clear of, and what it is called: `edge`, `hole 1`, `tear 2`, `flaw 1`."""


@dataclass(frozen=True, slots=True)
class LayFault:
    """Something that the case does not allow.

    `sheet`: where, None for a claim about the whole lay; `panels`: the numbers of the copies that it is about, counted from 1
    in the order of the placements on that sheet; `at`: the place on it, mm.
    """

    what: str
    sheet: str | None = None
    panels: tuple[int, ...] = ()
    at: Point | None = None

    def __str__(self) -> str:
        numbers = " and ".join(str(number) for number in self.panels)
        copies = f"panel{'s' if len(self.panels) > 1 else ''} {numbers}" if numbers else ""
        place = ", ".join(filter(None, (self.sheet, copies)))
        return f"{place}: {self.what}" if place else self.what


@dataclass(frozen=True, slots=True)
class Nearest:
    """How near two things come: the distance in mm, 0 where they touch or overlap, what they are, and the point of each."""

    distance: float
    panel: int
    other: str
    """What the panel comes near to: another panel's number, or `edge`, `hole 1`, `tear 2`, `flaw 1`."""
    at: tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class SheetExamined:
    """One sheet of a lay: how many copies were laid on it, and the narrowest places (None where there is nothing to compare).

    `gap`: between two cuts; `edge`: to the sheet's outline (a strip's two rims); `hole`: to a hole or tear; `flaw`: to a
    flaw, from the sound part of a panel that may not hold it.
    """

    sheet: str
    laid: int
    gap: Nearest | None = None
    edge: Nearest | None = None
    hole: Nearest | None = None
    flaw: Nearest | None = None


@dataclass(frozen=True, slots=True)
class Laid:
    """A copy where it lies. `thin`: drawn in by the tolerance, so that what is left of it may touch nothing."""

    number: int
    panel: Panel
    shape: Polygon
    thin: BaseGeometry
    sound: Polygon
    thin_sound: BaseGeometry


def lay_out(panel: Panel, placement: Placement, ring: Ring | None = None) -> Polygon:
    """The panel's outline (or another ring of it) where the placement puts it.

    >>> cuff = Panel("cuff", ((0, 0), (230, 0), (218, 80), (12, 80)), copies=1)
    >>> lay_out(cuff, Placement("s", "cuff", x=300, y=100, turn=180)).bounds
    (70.0, 20.0, 300.0, 100.0)
    """
    return moved(Polygon(panel.outline if ring is None else ring), placement)


def moved(shape: Shape, placement: Placement) -> Shape:
    if placement.flipped:
        shape = affinity.scale(shape, 1, -1, origin=(0, 0))
    return cast(Shape, affinity.translate(affinity.rotate(shape, placement.turn, origin=(0, 0)), placement.x, placement.y))


def sheet_cost(sheet: Sheet) -> float:
    """What touching the sheet costs: its `cost`, or its area without holes, times its plies."""
    return cloth_of(sheet).area * sheet.plies if sheet.cost is None else sheet.cost


def cloth_of(sheet: Sheet) -> BaseGeometry:
    """A sheet less its holes; tears, which have no area, are left out of account."""
    return Polygon(sheet.outline).difference(united([Polygon(hole) for hole in sheet.holes if len(hole) > 2]))


def _spot(ring: Ring) -> BaseGeometry:
    """A hole or flaw: a tear is a line."""
    return LineString(ring) if len(ring) == 2 else Polygon(ring)


def lay(number: int, panel: Panel, placement: Placement, tolerance: float) -> Laid:
    shape, sound = lay_out(panel, placement), lay_out(panel, placement, panel.sound)
    return Laid(number, panel, shape, _thin(shape, tolerance), sound, _thin(sound, tolerance))


def _thin(shape: Polygon, tolerance: float) -> BaseGeometry:
    drawn_in = shape.buffer(-tolerance, join_style="mitre")
    return shape if drawn_in.is_empty else drawn_in  # what is thinner than the tolerance is taken as it is


# --- what lies on a sheet ---------------------------------------------------------------------------------------------------


def examine_sheet(
    case: Case, name: str, sheet: Sheet | None, laid: list[Laid], tolerance: float
) -> tuple[list[LayFault], SheetExamined]:
    """Faults of the copies on one sheet, or on the strip, and its narrowest places."""
    faults: list[LayFault] = []
    faults += _crowded(laid, name, case.gap)
    if sheet is None:
        assert case.strip is not None
        faults += _off_strip(laid, name, case.strip.width, tolerance)
        rims = _rims(laid, case.strip.width)
        return faults, SheetExamined(name, len(laid), gap=_narrowest_gap(laid), edge=_narrowest(laid, rims))
    holes = [(f"{'tear' if len(hole) == 2 else 'hole'} {i}", _spot(hole)) for i, hole in enumerate(sheet.holes, 1)]
    edge = [("edge", Polygon(sheet.outline).exterior)]
    faults += _off_cloth(laid, sheet, case.edge, tolerance)
    for copy in laid:
        faults += _too_near(copy, (copy.shape, copy.thin), holes, name, case.edge, tolerance)
        faults += _too_near(copy, (copy.sound, copy.thin_sound), _harming(sheet, copy.panel), name, case.edge, 0.0)
    harms = [near for copy in laid if (near := _nearest(copy, copy.sound, _harming(sheet, copy.panel)))]
    seen = SheetExamined(
        name,
        len(laid),
        gap=_narrowest_gap(laid),
        edge=_narrowest(laid, edge),
        hole=_narrowest(laid, holes),
        flaw=min(harms, key=lambda near: near.distance, default=None),
    )
    return faults, seen


def _harming(sheet: Sheet, panel: Panel) -> list[Named]:
    """The flaws that the sound part of this panel must keep clear of."""
    if panel.hidden:
        return []
    return [(f"flaw {i}", _spot(flaw.ring)) for i, flaw in enumerate(sheet.flaws, 1) if panel.id not in flaw.spares]


def _crowded(laid: list[Laid], name: str, gap: float) -> Iterator[LayFault]:
    """Copies that overlap, or lie nearer to each other than the gap."""
    if len(laid) < 2:
        return
    thin = [copy.thin for copy in laid]
    first, second = STRtree(thin).query(thin, predicate="dwithin", distance=gap)
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i >= j:
            continue
        one, two = laid[i], laid[j]
        numbers = (one.number, two.number)
        if one.thin.intersects(two.thin):
            common = one.shape.intersection(two.shape)
            yield LayFault(f"overlap by {common.area:.3g} mm²", name, numbers, _inside(common))
        elif one.thin.distance(two.thin) < gap - GAP_SLACK:
            at = _points(one.shape, two.shape)[0]
            distance = one.shape.distance(two.shape)
            yield LayFault(f"lie {distance:.3f} mm apart: the gap is {gap:g}", name, numbers, at)


def _off_strip(laid: list[Laid], name: str, width: float, tolerance: float) -> Iterator[LayFault]:
    for copy in laid:
        if copy.thin.bounds[1] < -tolerance or copy.thin.bounds[3] > width + tolerance:
            out = max(-copy.shape.bounds[1], copy.shape.bounds[3] - width)
            yield LayFault(f"sticks out of the strip by {out:.3f} mm", name, (copy.number,))


def _off_cloth(laid: list[Laid], sheet: Sheet, edge: float, tolerance: float) -> Iterator[LayFault]:
    outline = Polygon(sheet.outline)
    reach = outline.buffer(tolerance, join_style="mitre")
    shapely.prepare(reach)
    for copy in laid:
        if not reach.contains(copy.thin):
            off = copy.shape.difference(outline)
            yield LayFault(f"sticks out of the cloth by {off.area:.3g} mm²", sheet.id, (copy.number,), _inside(off))
        elif copy.thin.distance(outline.exterior) < edge - tolerance:
            distance, at = copy.shape.distance(outline.exterior), _points(copy.shape, outline.exterior)[0]
            yield LayFault(f"lies {distance:.3f} mm from the edge: {edge:g} are kept", sheet.id, (copy.number,), at)


def _too_near(
    copy: Laid, shapes: tuple[Polygon, BaseGeometry], spots: list[Named], name: str, edge: float, tolerance: float
) -> Iterator[LayFault]:
    """A copy, or its sound part, that lies over a spot or nearer to it than the edge; `shapes`: as it is and drawn in."""
    shape, thin = shapes
    keep = edge - tolerance
    for spot_name, spot in spots:
        core = spot.buffer(keep) if keep < 0 and spot.area > 0 else spot
        if thin.intersects(core):
            yield LayFault(f"lies over {spot_name}", name, (copy.number,), _inside(thin.intersection(core)))
        elif thin.distance(spot) < keep - GAP_SLACK:
            words = f"lies {shape.distance(spot):.3f} mm from {spot_name}: {edge:g} are kept"
            yield LayFault(words, name, (copy.number,), _points(shape, spot)[0])


def _inside(shape: BaseGeometry) -> Point | None:
    """Some point of a shape that is within it."""
    if shape.is_empty:
        return None
    point = shape.representative_point()
    return point.x, point.y


# --- how near things come ---------------------------------------------------------------------------------------------------


def _points(one: BaseGeometry, two: BaseGeometry) -> tuple[Point, Point]:
    (x1, y1), (x2, y2) = shapely.get_coordinates(shapely.shortest_line(one, two)).tolist()
    return (x1, y1), (x2, y2)


def _nearest(copy: Laid, shape: BaseGeometry, others: list[Named]) -> Nearest | None:
    """The nearest of these things to a copy, or to its sound part."""
    if not others:
        return None
    distances = shapely.distance(shape, [other for _, other in others])
    name, other = others[int(np.argmin(distances))]
    return Nearest(float(distances.min()), copy.number, name, _points(shape, other))


def _narrowest(laid: list[Laid], others: list[Named]) -> Nearest | None:
    found = [near for copy in laid if (near := _nearest(copy, copy.shape, others))]
    return min(found, key=lambda near: near.distance, default=None)


def _narrowest_gap(laid: list[Laid]) -> Nearest | None:
    """The two copies that lie nearest to each other."""
    if len(laid) < 2:
        return None
    shapes = [copy.shape for copy in laid]
    # The first pass is quick but takes two copies in the very same place for one, so overlapping boxes are looked at besides.
    nearest = STRtree(shapes).query_nearest(shapes, exclusive=True, all_matches=False)
    boxes = STRtree(shapes).query(shapes)
    pairs = {(min(pair), max(pair)) for pair in np.hstack([nearest, boxes]).T.tolist() if pair[0] != pair[1]}
    distance, i, j = min((shapes[i].distance(shapes[j]), i, j) for i, j in pairs)
    return Nearest(distance, laid[i].number, str(laid[j].number), _points(shapes[i], shapes[j]))


def _rims(laid: list[Laid], width: float) -> list[Named]:
    if not laid:
        return []
    low, high = min(copy.shape.bounds[0] for copy in laid), max(copy.shape.bounds[2] for copy in laid)
    return [("edge", LineString([(low, y), (high, y)])) for y in (0.0, width)]
