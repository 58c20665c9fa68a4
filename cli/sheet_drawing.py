"""A remnant with its panels drawn on paper for the cutting table, to be read in black and white at the size it is printed.

Every word is put down only where it fits: a panel's number and name inside the panel, along it if it is narrow; a corner's
letter outside the cloth beside it; a keeper's tag inside the keeper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.affinity import affine_transform, rotate
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union
from shapely.prepared import prep

from .drawn import faults_below_drawn, faults_drawn
from .papers import GREY, LEAST_TYPE, LINE_OF_TYPE, PALE, POINT, Box, Dashes, PaperPage, text_size
from .pictures import BROKEN, FLAW, HOLE, KEEPER, RAG, draw_fault, grain_line, middle_of, name_fault, spot_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nesting import Mark
    from stash.dockets import DocketPanel, SheetDocket
    from stash.remnants import Remnant

    from .pictures import FaultDrawn

NUMBER, NAME, LETTER, SMALL = 12.0, 7.0, 8.0, 7.0  # points, at most
EASY = 7.0  # points: a number so large is read at once; level is then better than larger
ROUND_IT = 7.0  # mm left free round a remnant for the letters of its corners
Where = tuple[float, float]
Lines = tuple[tuple[str, float, bool], ...]
ToPage = tuple[float, float, float, float, float, float]
SEWING: Dashes = (0, (3, 2))
KEPT: Dashes = (0, (6, 2))
SEAM: Dashes = (0, (5, 1.5, 1, 1.5))


@dataclass(frozen=True)
class Label:
    """What is written in a panel, and where: lines with their sizes, the middle, and the turn."""

    lines: Lines
    middle: Where
    turn: float


def bounds_of(docket: SheetDocket) -> tuple[float, float, float, float]:
    """The box round a remnant, and round what sticks out from under it, mm of cloth."""
    left, low, right, high = unary_union([docket.sheet.remnant.outline, *docket.under]).bounds
    return float(left), float(low), float(right), float(high)


def draw_sheet(page: PaperPage, docket: SheetDocket, place: Box, scale: float, *, view: Box | None = None) -> None:
    """Draw a remnant into `place` at `scale` (mm of page for 1 mm of cloth), the grain from left to right; of an enlarged part
    only the `view` (mm of cloth), in whose lower left corner `place` begins."""
    left, low, right, high = bounds_of(docket)
    if view is None:
        at = (place.x + (place.width - (right - left) * scale) / 2, place.y + (place.height - (high - low) * scale) / 2)
        _draw(page, docket, (scale, 0, 0, scale, at[0] - left * scale, at[1] - low * scale))
        return
    to_page = (scale, 0.0, 0.0, scale, place.x - view.x * scale, place.y - view.y * scale)
    with page.window(place, at=(0.0, 0.0)):
        _draw(page, docket, to_page, within=box(place.x, place.y, place.x + place.width, place.y + place.height))


def _draw(page: PaperPage, docket: SheetDocket, to_page: ToPage, within: Polygon | None = None) -> None:
    """`within`: the part of the page that is drawn on; nothing is written that would be cut off there."""
    remnant = docket.sheet.remnant
    within = box(3, 3, page.width - 3, page.height - 3) if within is None else within
    outline = affine_transform(Polygon(remnant.outline.exterior), to_page)
    faults = _faults_of(docket)
    page.shape(outline, line=1.8, fill="white")
    for edge in remnant.edges:
        _draw_edge(page, affine_transform(edge.line, to_page), str(edge.kind), outline, within)
    for rim in docket.under:
        page.shape(affine_transform(rim, to_page), line=1.0, dashes=BROKEN, layer=2.6)
    _draw_bars(page, remnant, outline, to_page)
    for keeper in docket.keepers:
        page.shape(affine_transform(keeper.shape, to_page), line=0.8, dashes=KEPT, hatch=KEEPER, layer=1.2)
    if not docket.rag.is_empty:
        page.shape(affine_transform(docket.rag, to_page), line=0, hatch=RAG, layer=1.1)
    for each in docket.panels:
        _draw_panel(page, each, to_page, within)
    for fault in faults:
        draw_fault(page, fault, to_page)
    taken = [affine_transform(each.panel.cut_line, to_page) for each in docket.panels]
    for keeper in docket.keepers:
        _name_keeper(page, keeper.tag, affine_transform(keeper.shape, to_page), faults, to_page, within)
    for fault in faults:
        name_fault(page, fault, to_page, outline.intersection(within), taken)
    used = {mark.letter for each in docket.panels for mark in (each.measure.start, each.measure.end)}
    used |= {mark.letter for proof in docket.proofs for mark in (proof.start, proof.end)}
    letter_corners(page, [mark for mark in docket.marks if mark.letter in used], to_page, outline, within)


def _faults_of(docket: SheetDocket) -> tuple[FaultDrawn, ...]:
    below = (fault for each in docket.below for fault in faults_below_drawn(each.ply, [each.fault]))
    return (*faults_drawn(docket.sheet.remnant.faults), *below)


# --- panels --------------------------------------------------------------------------------------------------------------


def _draw_panel(page: PaperPage, each: DocketPanel, to_page: ToPage, within: Polygon) -> None:
    panel = each.panel
    cut = affine_transform(panel.cut_line, to_page)
    page.shape(cut, line=1.1, fill=PALE, layer=2.0)
    page.shape(affine_transform(panel.sewing_line, to_page), line=0.5, dashes=SEWING, edge=GREY, layer=2.1)
    for tick in each.notches:
        page.line(affine_transform(LineString(tick), to_page).coords, width=1.3, layer=2.3)
    if panel.seam is not None:
        page.line(affine_transform(panel.seam, to_page).coords, width=0.9, dashes=SEAM, layer=2.4)
    one_way = each.piece is not None and each.piece.one_way
    tail, head = grain_line(cut, middle_of(cut), panel.placement.turn)
    page.arrow(tail, head, both=not one_way, layer=2.5)
    if not within.contains(cut):
        return  # it is whole, and numbered, on another part
    owner = str(panel.number)
    label = label_of(each, cut)
    if label is not None:
        write_label(page, label, owner)
    _letter_points(page, each, cut, to_page, owner)


def label_of(each: DocketPanel, cut: Polygon) -> Label | None:
    """The number of a panel, as large as it fits, with its name and hand under it where there is room; None if not even the
    number can be read."""
    return label_in(str(each.panel.number), each.panel.called, cut)


def label_in(number: str, name: str, room: Polygon) -> Label | None:
    """The same of any number and name. The label stands level, upright or along the room, whichever lets it be largest."""
    inner = room.buffer(-0.4)  # clear of the line
    parts = [part for part in getattr(inner, "geoms", [inner]) if not part.is_empty]
    if not parts:
        return None
    room = max(parts, key=lambda part: part.area)
    ways = _ways_to_write(number, name)
    spots = np.array(_spots(room))
    best: tuple[float, Label] | None = None
    for turn in dict.fromkeys((0.0, 90.0, _along(room))):
        # The room is turned the other way, so that the labels lie level in it and are boxes.
        turned = rotate(room, -turn, origin=(0, 0))
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        middles = spots @ np.array([[c, -s], [s, c]])
        half = np.array([_size(lines) for lines, _ in ways])[:, None, :] / 2
        low, high = middles[None] - half, middles[None] + half
        shapely.prepare(turned)
        fits = shapely.contains(turned, shapely.box(low[..., 0], low[..., 1], high[..., 0], high[..., 1]))
        for way, spot in zip(*np.nonzero(fits), strict=True):
            lines, worth = ways[way]
            worth += 4.0 if turn == 0 and lines[0][1] >= EASY else 0.0
            if best is None or worth > best[0]:
                best = (worth, Label(lines, (float(spots[spot, 0]), float(spots[spot, 1])), turn))
    return best[1] if best else None


@cache
def _ways_to_write(number: str, name: str) -> list[tuple[Lines, float]]:
    """A number large or small, with the name under it or without, and what each is worth."""
    ways: list[tuple[Lines, float]] = []
    for size in (NUMBER, 10.0, 8.0, 7.0, 6.0, LEAST_TYPE):
        ways.append((((number, size, True),), size))
        ways += [
            (((number, size, True), (name, small, False)), size + 3.0 + 0.2 * small)
            for small in (NAME, 6.0, LEAST_TYPE)
            if small < size
        ]
    return ways


def _spots(room: Polygon) -> list[Where]:
    """Where a label might stand: where it has most room, and from there to the middle of the shape."""
    heart, centre = middle_of(room), room.centroid
    return [
        (heart[0] + share * (centre.x - heart[0]), heart[1] + share * (centre.y - heart[1]))
        for share in (0.0, 0.25, 0.5, 0.75, 1.0)
    ]


def _along(room: Polygon) -> float:
    """The direction of the longer side of the box that fits round it closest, from above −90° to 90°."""
    corners = list(room.minimum_rotated_rectangle.exterior.coords)
    sides = [(math.dist(a, b), math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))) for a, b in pairwise(corners[:3])]
    turn = (max(sides)[1] + 90.0) % 180.0 - 90.0
    return 90.0 if turn == -90.0 else round(turn, 3)


def _size(lines: Lines) -> Where:
    sizes = [text_size(text, size, bold) for text, size, bold in lines]
    return max(width for width, _ in sizes), sum(height for _, height in sizes)


def write_label(page: PaperPage, label: Label, owner: str) -> None:
    """Write a label, one line under the other, about its middle."""
    _, height = _size(label.lines)
    c, s = math.cos(math.radians(label.turn)), math.sin(math.radians(label.turn))
    top = height / 2
    for text, size, bold in label.lines:
        tall = size * POINT * LINE_OF_TYPE
        off = top - tall / 2
        x, y = label.middle[0] - s * off, label.middle[1] + c * off
        page.write(text, x, y, size, bold=bold, centred=True, backed=True, owner=owner, turn=label.turn)
        top -= tall


def _letter_points(page: PaperPage, each: DocketPanel, cut: Polygon, to_page: ToPage, owner: str) -> None:
    """A dot on each of the two marks that its chalk measures name, and the letter inside the panel where there is room."""
    told = {point.letter for point in each.measure.points}
    words = [word.room for word in page.words if word.owner == owner]  # no other stands in a panel
    for mark in each.marks:
        if mark.letter not in told:
            continue
        at = affine_transform(Point(mark.at), to_page)
        page.shape(at.buffer(0.55, quad_segs=4), line=0, fill="#111111", layer=3.5)
        width, height = text_size(mark.letter, NAME)
        inward = cut.intersection(at.buffer(5.0)).centroid  # half way between the two sides of the corner
        long = at.distance(inward) or 1.0
        for away in (2.2, 3.2, 4.4, 6.0):
            x, y = at.x + away * (inward.x - at.x) / long, at.y + away * (inward.y - at.y) / long
            room = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            if cut.contains(room) and not any(room.intersects(word) for word in words):
                words.append(page.write(mark.letter, x, y, NAME, centred=True, backed=True, owner=owner).room)
                break


# --- what else is on it --------------------------------------------------------------------------------------------------


LEAST_REPEAT = 1.5  # mm of page: bars nearer to each other are not drawn


def _draw_bars(page: PaperPage, remnant: Remnant, outline: Polygon, to_page: ToPage) -> None:
    """The bars of a stripe or check, thin, over the panels too, so that the template can be laid by them."""
    left, low, right, high = outline.bounds
    for repeat, bar, along in ((remnant.repeat_along, remnant.bar_x, True), (remnant.repeat_across, remnant.bar_y, False)):
        if not repeat or bar is None or repeat * to_page[0] < LEAST_REPEAT:
            continue
        step, origin = repeat * to_page[0], bar * to_page[0] + (to_page[4] if along else to_page[5])
        start, end = (left, right) if along else (low, high)
        for n in range(math.ceil((start - origin) / step), math.floor((end - origin) / step) + 1):
            at = origin + n * step
            line = LineString([(at, low), (at, high)] if along else [(left, at), (right, at)]).intersection(outline)
            for part in _lines(line):
                page.line(part.coords, width=0.3, edge=GREY, layer=2.15)


def _has_bars(remnant: Remnant) -> bool:
    """Whether any bars are known of it."""
    return bool((remnant.repeat_along and remnant.bar_x is not None) or (remnant.repeat_across and remnant.bar_y is not None))


def _draw_edge(page: PaperPage, line: LineString, kind: str, outline: Polygon, within: Polygon) -> None:
    """A selvedge is a second line within the rim, a raw edge has a fringe; the word stands outside where there is room."""
    if kind == "selvedge":
        for part in _lines(line.buffer(1.05).boundary.intersection(outline.buffer(-0.5))):
            page.line(part.coords, width=0.9, layer=1.5)
    else:
        for at in _steps(line, 2.0):
            page.line(at, width=0.5, layer=1.5)
    longest = max(pairwise(line.coords), key=lambda side: math.dist(*side))
    (ax, ay), (bx, by) = longest
    middle = Point((ax + bx) / 2, (ay + by) / 2)
    turn = (math.degrees(math.atan2(by - ay, bx - ax)) + 90.0) % 180.0 - 90.0
    word = kind if kind == "selvedge" else f"{kind} edge"
    width, height = text_size(word, SMALL)
    if width > math.dist(*longest):
        return
    long = math.dist(*longest)
    for side in (1, -1):
        x, y = middle.x - side * (by - ay) / long * 2.3, middle.y + side * (bx - ax) / long * 2.3
        room = rotate(box(x - width / 2, y - height / 2, x + width / 2, y + height / 2), turn, origin=(x, y))
        clear = within.contains(room) and not room.intersects(outline)
        if clear and not any(room.intersects(other.room) for other in page.words):
            page.write(word, x, y, SMALL, centred=True, turn=turn, owner="edge")
            return


def _steps(line: LineString, apart: float) -> Iterator[list[Where]]:
    """Short strokes across a line, a fringe."""
    for n in range(1, int(line.length / apart)):
        a, b = line.interpolate(n * apart - 0.1), line.interpolate(n * apart + 0.1)
        long = math.dist((a.x, a.y), (b.x, b.y)) or 1.0
        across = (-(b.y - a.y) / long * 0.9, (b.x - a.x) / long * 0.9)
        yield [(a.x - across[0], a.y - across[1]), (a.x + across[0], a.y + across[1])]


def _lines(shape: object) -> Iterator[LineString]:
    for part in getattr(shape, "geoms", [shape]):
        if isinstance(part, LineString) and not part.is_empty:
            yield part


def _name_keeper(
    page: PaperPage,
    tag: str,
    shape: Polygon,
    faults: Iterable[FaultDrawn],
    to_page: ToPage,
    within: Polygon,
) -> None:
    """The tag that it will have, where it has most room, clear of its rim and of faults."""
    room = shape.difference(unary_union([affine_transform(spot_of(fault), to_page) for fault in faults]))
    room = room.intersection(within)
    parts = [part for part in getattr(room, "geoms", [room]) if isinstance(part, Polygon) and not part.is_empty]
    if not parts:
        return
    label = label_in(tag, "keeper", max(parts, key=lambda part: part.area))
    if label is not None:
        write_label(page, label, "keeper")


def letter_corners(page: PaperPage, marks: Sequence[Mark], to_page: ToPage, outline: Polygon, within: Polygon) -> None:
    """A dot on each corner, and its letter outside the cloth, clear of all other words; joined by a line if far."""
    middle = outline.centroid
    near = prep(outline.buffer(0.5))
    for mark in marks:
        at = affine_transform(Point(mark.at), to_page)
        if not within.contains(at):
            continue
        page.shape(at.buffer(0.75, quad_segs=4), line=0, fill="#111111", layer=3.6)
        width, height = text_size(mark.letter, LETTER, True)
        out = math.atan2(at.y - middle.y, at.x - middle.x)
        for away in (2.9, 3.8, 5.0, 6.5, 9.0, 13.0):
            spots = (
                (at.x + away * math.cos(out + off), at.y + away * math.sin(out + off))
                for off in (0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6, 2.2, -2.2, 3.1)
            )
            rooms = ((spot, _about(spot, width, height)) for spot in spots)
            free = (spot for spot, room in rooms if within.contains(room) and _free(page, near, room))
            spot = next(free, None)
            if spot is not None:
                if away > 4:
                    page.line([(at.x, at.y), spot], width=0.4, layer=3.4)
                page.write(mark.letter, *spot, LETTER, bold=True, centred=True, backed=True, owner="corner")
                break


def _about(middle: Where, width: float, height: float) -> Polygon:
    return box(middle[0] - width / 2, middle[1] - height / 2, middle[0] + width / 2, middle[1] + height / 2)


def _free(page: PaperPage, cloth: Any, room: Polygon) -> bool:
    return not cloth.intersects(room) and not any(room.intersects(word.room) for word in page.words)


def draw_key(page: PaperPage, dockets: Sequence[SheetDocket], x: float, y: float) -> float:
    """Swatches of what is drawn, and only of that, from `x` to the right; where they end."""
    faults = [fault for docket in dockets for fault in _faults_of(docket)]
    edges = {str(edge.kind) for docket in dockets for edge in docket.sheet.remnant.edges}
    swatches: list[tuple[str, bool, dict[str, object]]] = [
        ("panel", True, {"fill": PALE, "line": 1.1}),
        ("keeper", any(docket.keepers for docket in dockets), {"hatch": KEEPER, "line": 0.8, "dashes": KEPT}),
        ("rag bag", any(not docket.rag.is_empty for docket in dockets), {"hatch": RAG, "line": 0.4}),
        ("hole", any(fault.hole and len(fault.ring) > 2 for fault in faults), {"hatch": HOLE, "line": 1.4}),
        ("flaw", any(not f.hole and len(f.ring) > 2 for f in faults), {"hatch": FLAW, "line": 1.2, "dashes": BROKEN}),
    ]
    for name, there, style in swatches:
        if there:
            page.shape(box(x, y - 1.6, x + 7, y + 1.6), **style)  # type: ignore[arg-type]
            x += 8.2 + page.write(name, x + 8.2, y, SMALL).place.width + 4
    strokes: list[tuple[str, bool, float, Dashes]] = [
        ("tear", any(fault.hole and len(fault.ring) == 2 for fault in faults), 2.4, "-"),
        ("flaw along a line", any(not fault.hole and len(fault.ring) == 2 for fault in faults), 2.4, BROKEN),
        ("rim of a ply below", any(docket.under for docket in dockets), 1.0, BROKEN),
        ("seam", any(each.panel.seam is not None for docket in dockets for each in docket.panels), 0.9, SEAM),
        ("sewing line", True, 0.5, SEWING),
    ]
    for name, there, width, dashes in strokes:
        if there:
            page.line([(x, y), (x + 7, y)], width=width, dashes=dashes)
            x += 8.2 + page.write(name, x + 8.2, y, SMALL).place.width + 4
    if any(_has_bars(docket.sheet.remnant) for docket in dockets):
        page.line([(x, y), (x + 7, y)], width=0.3, edge=GREY)
        x += 8.2 + page.write("bar", x + 8.2, y, SMALL).place.width + 4
    for kind in sorted(edges - {"cut"}):
        line = LineString([(x, y), (x + 7, y)])
        page.line(line.coords, width=1.8)
        if kind == "selvedge":
            page.line([(x, y - 1.1), (x + 7, y - 1.1)], width=0.9)
        else:
            for at in _steps(line, 1.4):
                page.line(at, width=0.5)
        x += 8.2 + page.write(kind if kind == "selvedge" else f"{kind} edge", x + 8.2, y, SMALL).place.width + 4
    return x
