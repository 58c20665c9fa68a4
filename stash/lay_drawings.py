"""A lay as a drawing at true scale: each remnant with its panels, their grain, notches and numbers, and its keepers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from nesting import Point, holes_of, ring_of

from .dockets import DocketPanel, FaultBelow, SheetDocket, as_placed
from .drawings import APART, Drawing, Layer, Outline, Part, Stroke, Words, grain_in, of_remnant

if TYPE_CHECKING:
    from shapely import Polygon

HIGHEST = 8.0
"""mm: the greatest height of a number."""
OF_ROOM = 0.9
"""How much of the largest circle in a panel its number may fill."""
LETTER = 0.65
"""How wide a letter is for its height."""


def of_sheet(docket: SheetDocket) -> tuple[Part, ...]:
    """A remnant of a lay and all that lies on it, each a part of its own, in the remnant's own coordinates."""
    keepers = (_of_keeper(keeper.tag, keeper.shape) for keeper in docket.keepers)
    remnant = of_remnant(docket.sheet.remnant)
    if docket.stack is not None:
        return _of_stack(docket, remnant)
    # Each panel has a grain line of its own; one across all of them would be one line too many to chalk.
    remnant = replace(remnant, strokes=tuple(stroke for stroke in remnant.strokes if stroke.layer is not Layer.GRAIN))
    return (remnant, *keepers, *(of_panel(panel) for panel in docket.panels))


def _of_stack(docket: SheetDocket, top: Part) -> tuple[Part, ...]:
    """A stack by its own name, since its plies are drawn by theirs: its top ply, the faults of those below, its tracings."""
    strokes = tuple(stroke for stroke in top.strokes if stroke.layer is not Layer.GRAIN)
    words = tuple(replace(word, text=docket.called) for word in top.words)
    below = [_of_fault(each) for each in docket.below]
    tracings = (of_panel(panel) for panel in docket.panels)
    return (
        replace(top, name=docket.called, strokes=strokes, words=words),
        *below,
        *(replace(part, name=f"{docket.called}, tracing {part.name}") for part in tracings),
    )


def _of_fault(each: FaultBelow) -> Part:
    """A fault of a ply below: a flaw even if it is a hole, since the cloth on top is whole."""
    name, shape = f"{each.fault.kind}, ply {each.ply}", each.fault.shape
    if shape.geom_type == "Polygon":
        return Part(name, (Outline(Layer.FLAW, ring_of(shape), name),))
    (ax, ay), (bx, by) = shape.coords[0], shape.coords[-1]
    return Part(name, strokes=(Stroke(Layer.FLAW, ((ax, ay), (bx, by)), name),))


def _of_keeper(tag: str, shape: Polygon) -> Part:
    rings = (ring_of(shape), *holes_of(shape))
    return Part(tag, tuple(Outline(Layer.KEEPER, ring) for ring in rings), words=_numbered(tag, shape))


def of_panel(each: DocketPanel) -> Part:
    """A panel as it lies: its lines, its grain, its notches, its number."""
    panel, number = each.panel, str(each.panel.number)
    said = {"number": number, "piece": panel.piece} | ({"hand": str(panel.hand)} if panel.hand else {})
    said |= {"one-way": "yes"} if each.piece is not None and each.piece.one_way else {}
    name = f"{number} {panel.piece}{f', {panel.hand}' if panel.hand else ''}"
    strokes = [Stroke(Layer.GRAIN, _grain(panel.cut_line, panel.placement.turn))]
    strokes += [Stroke(Layer.NOTCH, tick) for tick in each.notches]
    outlines = (Outline(Layer.CUT, ring_of(panel.cut_line)), Outline(Layer.SEWING, ring_of(panel.sewing_line)))
    return Part(name, outlines, tuple(strokes), words=_numbered(number, panel.cut_line), said=said)


def of_lay(title: str, dockets: Sequence[SheetDocket]) -> Drawing:
    """All remnants of a lay beside each other, the first where it is."""
    parts: list[Part] = []
    edge: float | None = None
    for docket in dockets:
        group = of_sheet(docket)
        boxes = [part.bounds() for part in group]
        left, right = min(box[0] for box in boxes), max(box[2] for box in boxes)
        off = 0.0 if edge is None else edge + APART - left
        parts += [part.moved(off) for part in group]
        edge = right + off
    return Drawing(title, tuple(parts))


def _grain(shape: Polygon, turn: float) -> tuple[Point, Point]:
    """The grain line of a panel that lies turned, inside it."""
    from shapely import affinity

    from nesting import Placement

    tail, head = grain_in(affinity.rotate(shape, -turn, origin=(0, 0)))
    back = Placement("", "", 0.0, 0.0, turn)
    return as_placed(tail, back), as_placed(head, back)


def _numbered(text: str, shape: Polygon) -> tuple[Words, ...]:
    """A name in the largest circle that a shape holds, as high as it fits."""
    from shapely import maximum_inscribed_circle

    circle = maximum_inscribed_circle(shape, tolerance=max(shape.length / 500, 1e-6))
    (x, y), _ = circle.coords
    wide = LETTER * len(text)
    height = min(HIGHEST, 2 * OF_ROOM * circle.length / (wide**2 + 1) ** 0.5)
    return (Words((x, y - height / 2), text, height, middle=True),)


__all__ = ["of_lay", "of_panel", "of_sheet"]
