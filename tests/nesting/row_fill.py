"""A plain row-by-row fill: the reference that the engine must never do worse than.

Copies are set in rows from the left, bounding box beside bounding box, the largest panel that fits first; where none fits it
moves on by a step. Each position is checked with shapely. Sheets are taken in the order given until the demand is met. It
knows nothing of the engine, and no repeats.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely import LineString, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from nesting import Case, Panel, Placement, Ring, Sheet, lay_out

STEPS = 60
"""How many steps a row goes in across the sheet where nothing fits."""
PAD = 1e-9
"""Added to gap and edge, mm, so that rounding does not make them less."""
HAIR = 1e-6
"""What a copy may stick out by, mm: more than the pads of a long row add up to, far less than counts as sticking out."""


@dataclass(frozen=True)
class Turned:
    """A panel in one of its turns, its bounding box beginning at (0, 0) when it is placed at (x, y)."""

    panel: Panel
    turn: float
    x: float
    y: float
    length: float
    width: float
    thin: BaseGeometry
    sound: Polygon


def row_fill(case: Case) -> tuple[Placement, ...]:
    """Placements on the sheets of a case, legal and plain."""
    left = {panel.id: panel.copies for panel in case.panels}
    turned = sorted((each for panel in case.panels for each in _turned(panel)), key=lambda each: -each.sound.area)
    placements: list[Placement] = []
    for sheet in case.sheets:
        placements += _fill(case, sheet, turned, left)
        if not any(left.values()):
            break
    return tuple(placements)


def _turned(panel: Panel) -> Iterator[Turned]:
    for turn in panel.turns:
        shape, sound = (
            lay_out(panel, Placement("", panel.id, 0, 0, turn), ring) for ring in (panel.outline, panel.sound or panel.outline)
        )
        x0, y0, x1, y1 = shape.bounds
        shape, sound = (affinity.translate(each, -x0, -y0) for each in (shape, sound))
        yield Turned(panel, turn, -x0, -y0, x1 - x0, y1 - y0, shape.buffer(-HAIR, join_style="mitre"), sound)


def _fill(case: Case, sheet: Sheet, turned: list[Turned], left: dict[str, int]) -> Iterator[Placement]:
    room = Polygon(sheet.outline).buffer(-case.edge, join_style="mitre", mitre_limit=50)
    room = room.difference(shapely.union_all([_spot(hole).buffer(case.edge + PAD, quad_segs=64) for hole in sheet.holes]))
    if room.is_empty:
        return
    flaws = [(_spot(flaw.ring), flaw.spares) for flaw in sheet.flaws]
    allowed = [
        each
        for each in turned
        if (sheet.turns is None or each.turn in sheet.turns) and (each.panel.on is None or sheet.id in each.panel.on)
    ]
    shapely.prepare(room)
    x0, y0, x1, y1 = room.bounds
    step = max(x1 - x0, y1 - y0) / STEPS
    y = y0
    while y < y1:
        x, tallest = x0, 0.0
        while x < x1:
            inside = (each for each in allowed if x + each.length <= x1 + HAIR and y + each.width <= y1 + HAIR)
            ready = (each for each in inside if left[each.panel.id] >= sheet.plies)
            one = next((each for each in ready if _fits(case, each, x, y, room, flaws)), None)
            if one is None:
                x += step
                continue
            yield Placement(sheet.id, one.panel.id, x + one.x, y + one.y, one.turn)
            left[one.panel.id] -= sheet.plies
            x += one.length + case.gap + PAD
            tallest = max(tallest, one.width + case.gap + PAD)
        y += tallest or step


def _fits(
    case: Case, one: Turned, x: float, y: float, room: BaseGeometry, flaws: list[tuple[BaseGeometry, frozenset[str]]]
) -> bool:
    if not room.covers(affinity.translate(one.thin, x, y)):
        return False
    if one.panel.hidden:
        return True
    sound = affinity.translate(one.sound, x, y)
    return all(one.panel.id in spares or sound.distance(flaw) > case.edge for flaw, spares in flaws)


def _spot(ring: Ring) -> BaseGeometry:
    return LineString(ring) if len(ring) == 2 else Polygon(ring)
