"""Paper at true scale: drawings printed as large as they are, over as many pages as they need, or unbroken on one.

Each page has a ruler of 100 mm; a test square of 50 mm and one of 2 in stand on the map of the pages, or beside a drawing that
one page holds. Pages lap: a firm line says where to trim a page, a broken one how far the next lies over it, and crosses in
the lap meet when two pages lie right. Words stand only where they are whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .laps import CROSS, SMALL, draw_cross, draw_lap, laps_of, room_of
from .papers import BLACK, GREY, PALE, POINT, Box, Dashes, Paper, PaperPage, Papers, Where, broken
from .tiles import FREE, RIM, Tile, Tiles, tiles

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from stash.drawings import Outline, Part

RULER = 100.0
SQUARE, INCHES = 50.0, 50.8
SQUARES = Box(0, 0, SQUARE + INCHES + 6, INCHES + 6)
"""The room of both test squares and of the words under them."""
TITLE, PLAIN = 12.0, 9.0  # points
LETTERED = 9.0  # mm from a corner to the middle of its letter
TICK = 5.0
LONGEST_PAGE = 5000.0
"""mm: the format's own limit is 200 in, 5080 mm (ISO 32000-1, Annex C)."""
ACTUAL_SIZE = "Print at actual size (100 %), with nothing fitted to the page."
MEASURE = "Measure both squares and a ruler before you cut; if one is out by a millimetre, print again."


@dataclass(frozen=True)
class Ink:
    """How a kind of line is drawn: its width in points, its dashes, its grey, its hatch."""

    width: float = 0.6
    dashes: Dashes = "-"
    edge: str = BLACK
    hatch: str | None = None


INKS = {
    "cut line": Ink(0.8),
    "cut-out": Ink(0.8),
    "sewing line": Ink(0.5, (0, (8, 5)), GREY),
    "notch": Ink(1.0),
    "fold line": Ink(0.8, (0, (10, 3, 2, 3))),
    "inner line": Ink(0.6, (0, (2, 3))),
    "remnant": Ink(1.6),
    "hole": Ink(1.2, hatch="xxxx"),
    "flaw": Ink(0.8, (0, (6, 3)), hatch="++++"),
    "selvedge": Ink(2.8),
    "raw edge": Ink(2.8, (0, (1, 2))),
    "keeper": Ink(0.6, (0, (12, 5))),
}


@dataclass(frozen=True)
class Drawn:
    """What is printed as one: its title, a line about it, its parts, and letters with the middle of each (mm)."""

    title: str
    about: str
    parts: tuple[Part, ...]
    letters: tuple[tuple[str, float, float], ...] = ()


def tiled(title: str, every: Sequence[Drawn], paper: Paper, overlap: float) -> Papers:
    """Drawings over pages of a paper, each with a map of its pages if it has several. Raises ValueError for too much lap."""
    papers = Papers(title)
    set_out = [(drawn, tiles(_ink(drawn.parts), paper, overlap)) for drawn in every]
    first = 1
    for drawn, found in set_out:
        alone = len(found.tiles) == 1 and _beside(found, drawn) is not None
        mapped = 0 if alone else 1
        if mapped:
            _map(papers.page(found.paper), drawn, found, first + 1)
        for tile in found.tiles:
            number = first + mapped + tile.number - 1
            _tile(papers.page(found.paper), drawn, found, tile, number)
        first += mapped + len(found.tiles)
    return papers


def unbroken(title: str, every: Sequence[Drawn]) -> Papers:
    """Each drawing whole on a page of its own, as large as it must be. Raises ValueError for one that no page is."""
    papers = Papers(title)
    for drawn in every:
        left, low, right, high = _ink(drawn.parts).buffer(RIM, join_style="mitre").bounds
        foot = SQUARES.height + 8
        wide = max(right - left, SQUARES.width + 100) + 2 * FREE
        tall = high - low + 2 * FREE + foot
        if max(wide, tall) > LONGEST_PAGE:
            raise ValueError(f"{drawn.title} is {right - left:.0f} × {high - low:.0f} mm; a page ends at 5 m")
        page = papers.page(Paper("unbroken", wide, tall))
        window = Box(FREE, FREE + foot, wide - 2 * FREE, high - low)
        _put(page, drawn, window, (FREE - left, FREE + foot - low))
        _squares(page, FREE, FREE)
        x, room = FREE + SQUARES.width + 6, wide - 2 * FREE - SQUARES.width - 6
        y = FREE + SQUARES.height - 4
        for text, size, bold in ((drawn.title, TITLE, True), (drawn.about, PLAIN, False), (ACTUAL_SIZE, PLAIN, False)):
            for line in broken(text, size, room, bold):
                page.write(line, x, y, size, bold=bold)
                y -= size * POINT * 1.4
    return papers


def _ink(parts: Sequence[Part]) -> BaseGeometry:
    """What a drawing covers: its outlines filled, so that no page in the middle of a piece is left out."""
    from shapely import LineString, Polygon, union_all

    shapes: list[BaseGeometry] = [Polygon(outline.ring).buffer(0) for part in parts for outline in part.outlines]
    shapes += [LineString(stroke.points) for part in parts for stroke in part.strokes]
    return union_all(shapes)


# --- one page ----------------------------------------------------------------------------------------------------------------


def _tile(page: PaperPage, drawn: Drawn, found: Tiles, tile: Tile, number: int) -> None:
    """A part of a drawing with its laps, crop marks and ruler."""
    from shapely import Point

    window, part = found.window, found.part(tile)
    shift = (window.x - part.x, window.y - part.y)
    laps = list(laps_of(found, tile))
    marks = [one.at(share) for one in laps for share in (-0.5, 0.5)] if found.overlap >= CROSS else []
    crosses = [Point(mark).buffer(CROSS / 2 + 1, cap_style="square") for mark in marks]
    _put(page, drawn, window, shift, crosses)
    for mark in marks:
        draw_cross(page, mark)
    for one in laps:
        draw_lap(page, one, found.overlap, number - tile.number, crosses)
    for x, y in _corners(window):
        out_x, out_y = -1 if x == window.x else 1, -1 if y == window.y else 1
        page.line([(x + out_x, y), (x + out_x * TICK, y)], width=0.5, layer=4.0)
        page.line([(x, y + out_y), (x, y + out_y * TICK)], width=0.5, layer=4.0)
    _ruler(page, FREE + TICK + 2, FREE + 3)
    said = f"Page {number}, {found.paper.name}: {drawn.title}. {ACTUAL_SIZE}"
    x = FREE + TICK + 2 + RULER + 6
    room = page.width - FREE - TICK - x
    for line, y in zip(broken(said, SMALL, room), (FREE + 7.0, FREE + 3.5, FREE), strict=False):
        page.write(line, x, y, SMALL)
    if len(found.tiles) == 1 and (at := _beside(found, drawn)) is not None:
        _squares(page, *at)


def _corners(place: Box) -> Iterator[tuple[float, float]]:
    for x in (place.x, place.x + place.width):
        for y in (place.y, place.y + place.height):
            yield x, y


def _ruler(page: PaperPage, x: float, y: float) -> None:
    """A line of 100 mm with a tick each centimetre."""
    page.line([(x, y), (x + RULER, y)], width=0.6, layer=4.0)
    for step in range(11):
        page.line([(x + 10 * step, y), (x + 10 * step, y + (4 if step % 5 == 0 else 2.5))], width=0.6, layer=4.0)
    page.write("100 mm", x + 75, y + 5.4, SMALL, centred=True)


def _squares(page: PaperPage, x: float, y: float) -> None:
    """The two test squares side by side, what each measures written in it."""
    from shapely.geometry import box

    y += 5.0
    for left, side, said in ((x, SQUARE, "50 mm"), (x + SQUARE + 6, INCHES, "2 in")):
        page.shape(box(left, y, left + side, y + side), line=0.6, fill="white", layer=3.5)
        page.write(said, left + side / 2, y + side / 2, PLAIN, bold=True, centred=True)
    page.write("Each side must measure as much.", x, y - 3.0, SMALL)


def _beside(found: Tiles, drawn: Drawn) -> tuple[float, float] | None:
    """Where on the only page the test squares have room beside the drawing, if anywhere."""
    from shapely.geometry import box

    (tile,) = found.tiles
    window, ink = found.window, _ink(drawn.parts)
    for x in (window.x + window.width - SQUARES.width - 2, window.x + 2):
        for y in (window.y + 2, window.y + window.height - SQUARES.height - 2):
            left, low = x - window.x + tile.corner[0], y - window.y + tile.corner[1]
            if x >= window.x and ink.distance(box(left, low, left + SQUARES.width, low + SQUARES.height)) > 3:
                return x, y
    return None


# --- the map of the pages ----------------------------------------------------------------------------------------------------


def _map(page: PaperPage, drawn: Drawn, found: Tiles, first: int) -> None:
    """The drawing made small with the pages on it, by number; how to put them together; the test squares."""
    top = page.height - FREE - 4
    room = page.width - 2 * FREE
    last = first + len(found.tiles) - 1
    put = f"Page{'s' if last > first else ''} {first}{f' to {last}' if last > first else ''}, {found.paper.name}"
    how = "Trim each page along its firm lines and put it against its neighbours. Begin in one corner and go on row by row."
    how = (
        how
        if found.overlap < CROSS
        else (
            "Trim each page along its firm lines and lay it on its neighbours up to their broken lines, "
            f"{found.overlap:g} mm over them, so that the crosses meet. Begin in one corner and go on row by row."
        )
    )
    lines = [(drawn.title, TITLE, True), (drawn.about, PLAIN, False)]
    lines += [(f"{put}. {how}" if last > first else f"{put}.", PLAIN, False), (f"{ACTUAL_SIZE} {MEASURE}", PLAIN, False)]
    for text, size, bold in lines:
        for line in broken(text, size, room, bold):
            page.write(line, FREE, top, size, bold=bold)
            top -= size * POINT * 1.4
        top -= 1
    _squares(page, FREE, FREE)
    beside = page.width > page.height  # then the squares stand beside the map, else under it
    place = (
        Box(FREE + SQUARES.width + 6, FREE, room - SQUARES.width - 6, top - FREE - 2)
        if beside
        else Box(FREE, FREE + SQUARES.height + 6, room, top - FREE - SQUARES.height - 8)
    )
    _small(page, drawn, found, place, first)


def _small(page: PaperPage, drawn: Drawn, found: Tiles, place: Box, first: int) -> None:
    from shapely import Polygon
    from shapely.affinity import affine_transform
    from shapely.geometry import box

    parts = [found.part(tile) for tile in found.tiles]
    left, low = min(part.x for part in parts), min(part.y for part in parts)
    wide = max(part.x + part.width for part in parts) - left
    tall = max(part.y + part.height for part in parts) - low
    scale = min(place.width / wide, place.height / tall, 0.5)
    x, y = place.x, place.y + place.height - tall * scale
    to_page = (scale, 0.0, 0.0, scale, x - left * scale, y - low * scale)
    for part in drawn.parts:
        for outline in part.outlines:
            if outline.layer.value in ("cut line", "remnant"):
                fill = PALE if outline.layer.value == "cut line" else "white"
                page.shape(affine_transform(Polygon(outline.ring), to_page), line=0.5, fill=fill, layer=1.0 + (fill == PALE))
    for tile, held in zip(found.tiles, parts, strict=True):
        page.shape(
            affine_transform(box(held.x, held.y, held.x + held.width, held.y + held.height), to_page),
            line=0.6,
            dashes=(0, (3, 2)),
            layer=3.0,
        )
        middle = held.x + held.width / 2, held.y + held.height / 2
        size = min(TITLE, 0.5 * scale * min(held.width, held.height) / POINT)
        at = (middle[0] * scale + to_page[4], middle[1] * scale + to_page[5])
        page.write(str(first + tile.number - 1), *at, max(size, 5.0), bold=True, centred=True, backed=True, owner="map")


# --- parts -------------------------------------------------------------------------------------------------------------------


def _put(page: PaperPage, drawn: Drawn, window: Box, shift: Where, taken: Sequence[Polygon] = ()) -> None:
    """All that stands in a window, at true scale; names and letters where they are whole in it, names clear of what is `taken`
    on the page."""
    from shapely import union_all
    from shapely.affinity import translate
    from shapely.geometry import box

    seen = box(*_back(window, shift))
    with page.window(window, at=shift):
        free: BaseGeometry = seen.difference(translate(union_all(taken), -shift[0], -shift[1]))  # of what stands there already
        for letter, x, y in drawn.letters:
            room = room_of(letter, PLAIN, (x, y))
            if seen.contains(room):
                page.write(letter, x, y, PLAIN, centred=True, backed=True, owner="letter")
            free = free.difference(room.buffer(1))
        for part in drawn.parts:
            _lines(page, part, seen)
            _name(page, part, free)


def _back(window: Box, shift: tuple[float, float]) -> tuple[float, float, float, float]:
    x, y = window.x - shift[0], window.y - shift[1]
    return x, y, x + window.width, y + window.height


def _lines(page: PaperPage, part: Part, seen: Polygon) -> None:
    from shapely import LineString, Polygon

    for outline in part.outlines:
        ink = INKS.get(outline.layer.value, Ink())
        shape = Polygon(outline.ring)
        if ink.hatch:
            for visible in _polygons(shape.buffer(0).intersection(seen)):
                page.shape(visible, line=0, hatch=ink.hatch, layer=2.5)
        page.shape(shape, line=ink.width, dashes=ink.dashes, edge=ink.edge, layer=_layer(outline))
    for stroke in part.strokes:
        if stroke.layer.value == "grain line":
            page.arrow(stroke.points[0], stroke.points[-1], both=part.said.get("one-way") != "yes", width=0.8, layer=3.0)
            continue
        ink = INKS.get(stroke.layer.value, Ink())
        page.line(LineString(stroke.points).coords, width=ink.width, dashes=ink.dashes, edge=ink.edge, layer=3.0)
    for spot in part.spots:
        x, y = spot.at
        page.line([(x - 2, y), (x + 2, y)], layer=3.0)
        page.line([(x, y - 2), (x, y + 2)], layer=3.0)


def _layer(outline: Outline) -> float:
    return {"remnant": 1.0, "keeper": 1.2, "sewing line": 2.1}.get(outline.layer.value, 2.2)


def _polygons(shape: BaseGeometry) -> Iterator[Polygon]:
    for part in getattr(shape, "geoms", [shape]):
        if part.geom_type == "Polygon" and not part.is_empty:
            yield part


def _name(page: PaperPage, part: Part, seen: BaseGeometry) -> None:
    """What a part is called, in as much of it as is seen; a remnant's name stands at the foot of the page."""
    from shapely import Polygon

    from .sheet_drawing import label_in, write_label

    outline = next((each for each in part.outlines if each.layer.value in ("cut line", "keeper")), None)
    if outline is None:
        return
    name = part.said.get("number", part.name)
    more = _more(part)
    rooms = sorted(_polygons(Polygon(outline.ring).buffer(0).intersection(seen)), key=lambda room: -room.area)
    label = label_in(name, more, rooms[0]) if rooms else None
    if label is not None:
        write_label(page, label, part.name)


def _more(part: Part) -> str:
    """What stands under a part's name: of a panel its piece and hand; of a piece its pattern and how many are cut."""
    said = part.said
    if "number" in said:
        return ", ".join(filter(None, [said.get("piece"), said.get("hand")]))
    if "pattern" in said:
        hands = ", left and right" if said.get("left-and-right") else ""
        fold = ", on the fold" if any(stroke.layer.value == "fold line" for stroke in part.strokes) else ""
        return f"{said['pattern']}: cut {said.get('count', '1')}{hands}{fold}"
    return ""


def lettered(cut_line: Polygon) -> tuple[tuple[str, float, float], ...]:
    """The small letters of a piece's marks, each a little inside its corner: the letter, and where its middle stands."""
    from nesting import marks_of

    heart = cut_line.representative_point()
    found = []
    for mark in marks_of(cut_line, small=True):
        x, y = mark.at
        long = math.dist(mark.at, (heart.x, heart.y)) or 1.0
        found.append((mark.letter, x + LETTERED * (heart.x - x) / long, y + LETTERED * (heart.y - y) / long))
    return tuple(found)
