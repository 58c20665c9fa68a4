"""The pictures: a lay as it lies on the cloth, and the bin as a contact sheet.

They draw what they are given and work nothing out about the cloth: `RemnantDrawn` and its parts say what is on the table,
in mm, +x along the grain. The grain runs from left to right in every picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import maximum_inscribed_circle
from shapely.affinity import affine_transform
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from .page import GREY, PALE, POINT, Box, Dashes, Page, fit_text, set_out, text_size
from .papers import PaperPage
from .shown import Shown

SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)  # 1 : n
MARGIN, SPACE = 12.0, 9.0  # mm of page
PAGE_WIDTH, PAGE_HEIGHT = 297.0, 420.0  # what a picture tries to keep to
TITLE, LINE, SMALL = 13.0, 9.0, 7.5  # points
LEADING = 1.45
KEEPER, RAG, HOLE, FLAW = "////", "...", "xxxx", "++++"
BROKEN = (0, (2, 1.2))
DOTTED = (0, (1, 3))

Where = tuple[float, float]


@dataclass(frozen=True)
class FaultDrawn:
    """A hole or a flaw: its kind in a word, and its ring, mm (two points for a tear, or for a crease and the like)."""

    kind: str
    ring: tuple[Where, ...]
    hole: bool = False


@dataclass(frozen=True)
class PanelDrawn:
    """A panel where it lies: the label to write in it, its cut and sewing lines, and the way its own grain points; the ticks
    of its notches, and lines on it (its fold, its joins)."""

    label: str
    cut: Polygon
    sewing: Polygon | None = None
    grain: float = 0.0
    either_way: bool = True
    notches: tuple[tuple[Where, Where], ...] = ()
    lines: tuple[tuple[Where, Where], ...] = ()


@dataclass(frozen=True)
class KeeperDrawn:
    """A leftover that goes back to the bin, and its label (its tag, once it is cut)."""

    label: str
    shape: Polygon


@dataclass(frozen=True)
class RemnantDrawn:
    """A remnant on the table: the lines written over it, and all that lies on it. `outline` has no holes; they are faults.
    `under`: rims of plies that lie under it; `nap`: the cloth is one way, its nap or print running as the grain arrow does;
    `bars`: where the bars of its stripe or check lie."""

    title: str
    notes: tuple[str, ...]
    outline: Polygon
    faults: tuple[FaultDrawn, ...] = ()
    panels: tuple[PanelDrawn, ...] = ()
    keepers: tuple[KeeperDrawn, ...] = ()
    rag: MultiPolygon | None = None
    under: tuple[Polygon, ...] = ()
    nap: bool = False
    bars: tuple[tuple[Where, Where], ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Of all that lies there, also of what sticks out from under it."""
        left, low, right, high = unary_union([self.outline, *self.under]).bounds if self.under else self.outline.bounds
        return float(left), float(low), float(right), float(high)


def lay_picture(title: str, lines: Sequence[str], remnants: Sequence[RemnantDrawn], shown: Shown | None = None) -> Page:
    """A lay on its remnants, all at one scale, at which every panel's number can be read."""
    scale = min(_scale_that_fits(remnants), _scale_to_read(remnants))
    return _picture(title, lines, remnants, scale, shown or Shown())


def contact_sheet(title: str, lines: Sequence[str], remnants: Sequence[RemnantDrawn], shown: Shown | None = None) -> Page:
    """Remnants side by side at one scale, each with its tag."""
    return _picture(title, lines, remnants, _scale_that_fits(remnants), shown or Shown())


# --- setting out ---------------------------------------------------------------------------------------------------------


def _block(remnant: RemnantDrawn, n: float) -> tuple[float, float]:
    """The room that a remnant takes at 1 : n with the words over it and the grain arrow under it, mm of page."""
    left, low, right, high = remnant.bounds
    words = [text_size(remnant.title, LINE, True)[0], *(text_size(note, SMALL)[0] for note in remnant.notes)]
    return max((right - left) / n, *words), (high - low) / n + _words_height(remnant) + _grain_room(remnant)


def _grain_room(remnant: RemnantDrawn) -> float:
    """Under a remnant with panels, and under one with a nap, stands the arrow of its grain."""
    return 5.0 if remnant.panels or remnant.nap else 0.0


def _words_height(remnant: RemnantDrawn) -> float:
    return (text_size("x", LINE)[1] + len(remnant.notes) * text_size("x", SMALL)[1]) * LEADING / 1.25 + 1.0


def _scale_that_fits(remnants: Sequence[RemnantDrawn]) -> float:
    """The largest scale (least n) at which they keep to one page of the usual size; the smallest scale if none does."""
    room = PAGE_WIDTH - 2 * MARGIN, PAGE_HEIGHT - 2 * MARGIN - 40
    for n in SCALES:
        sizes = [_block(remnant, n) for remnant in remnants]
        if max((width for width, _ in sizes), default=0) <= room[0] and set_out(sizes, room[0], SPACE)[1] <= room[1]:
            return n
    return SCALES[-1]


def _scale_to_read(remnants: Sequence[RemnantDrawn]) -> float:
    """The smallest scale (largest n) at which the label of every panel fits inside it at a size that can be read."""
    tightest = SCALES[-1] * 1.0
    for panel in (panel for remnant in remnants for panel in remnant.panels):
        middle = middle_of(panel.cut)
        fits = (
            n for n in reversed(SCALES) if fit_text(panel.label, _scaled(panel.cut, n), (middle[0] / n, middle[1] / n), True)
        )
        tightest = min(tightest, next(fits, SCALES[0]))
    return tightest


def _scaled(shape: Polygon, n: float) -> Polygon:
    return affine_transform(shape, (1 / n, 0, 0, 1 / n, 0, 0))


def middle_of(shape: Polygon) -> Where:
    """The point with most room round it, where a label sits best."""
    line = maximum_inscribed_circle(shape, tolerance=max(shape.length / 500, 1e-6))
    x, y = line.coords[0]
    return float(x), float(y)


def _picture(title: str, lines: Sequence[str], remnants: Sequence[RemnantDrawn], n: float, shown: Shown) -> Page:
    sizes = [_block(remnant, n) for remnant in remnants]
    words = [text_size(title, TITLE, True)[0], *(text_size(line, LINE)[0] for line in lines)]
    room = max([PAGE_WIDTH - 2 * MARGIN, *(width for width, _ in sizes)])
    corners, tall = set_out(sizes, room, SPACE)
    filled = (x + width for (x, _), (width, _) in zip(corners, sizes, strict=True))
    inner = max([_LEAST_WIDTH, *words, *filled])
    head = (text_size("x", TITLE)[1] + len(lines) * text_size("x", LINE)[1]) * LEADING / 1.25 + 4
    page = Page(inner + 2 * MARGIN, tall + head + 2 * MARGIN + _FOOT)
    top = page.height - MARGIN
    for text, type_size, bold in [(title, TITLE, True), *((line, LINE, False) for line in lines)]:
        step = type_size * LEADING * POINT
        page.write(text, MARGIN, top - step / 2, type_size, bold=bold)
        top -= step
    for remnant, (width, height), (x, y) in zip(remnants, sizes, corners, strict=True):
        _draw_remnant(page, remnant, Box(MARGIN + x, MARGIN + _FOOT + y, width, height), n)
    page.scale_bar(MARGIN, MARGIN + 2, 1 / n, shown.heading)
    draw_key(page, remnants, MARGIN, MARGIN + 9)
    return page


_FOOT = 17.0
_LEAST_WIDTH = 150.0  # the key and the scale bar need as much

# --- one remnant ---------------------------------------------------------------------------------------------------------


def _draw_remnant(page: Page, remnant: RemnantDrawn, room: Box, n: float) -> None:
    """Words at the top of `room`, under them the remnant, under it the arrow of its grain."""
    top = room.y + room.height
    for text, size, bold in [(remnant.title, LINE, True), *((note, SMALL, False) for note in remnant.notes)]:
        step = size * LEADING * POINT
        page.write(text, room.x, top - step / 2, size, bold=bold)
        top -= step
    left, low, right, _ = remnant.bounds
    to_page = (1 / n, 0, 0, 1 / n, room.x - left / n, room.y + _grain_room(remnant) - low / n)
    page.shape(affine_transform(remnant.outline, to_page), line=1.8, fill="white")
    for bar in remnant.bars:
        page.line(affine_transform(LineString(bar), to_page).coords, width=0.7, dashes=DOTTED, layer=2.05)
    for rim in remnant.under:
        page.shape(affine_transform(rim, to_page), line=1.0, dashes=BROKEN, layer=2.6)
    for keeper in remnant.keepers:
        page.shape(affine_transform(keeper.shape, to_page), line=0.8, dashes=(0, (6, 2)), hatch=KEEPER, layer=1.2)
    if remnant.rag is not None and not remnant.rag.is_empty:
        page.shape(affine_transform(remnant.rag, to_page), line=0, hatch=RAG, layer=1.1)
    for panel in remnant.panels:
        _draw_panel(page, panel, to_page)
    for fault in remnant.faults:
        draw_fault(page, fault, to_page)
    taken = [affine_transform(panel.cut, to_page) for panel in remnant.panels]
    spots = unary_union([affine_transform(spot_of(fault), to_page) for fault in remnant.faults])
    for keeper in remnant.keepers:
        _name_keeper(page, keeper.label, affine_transform(keeper.shape, to_page).difference(spots).buffer(-0.6))
    for fault in remnant.faults:
        name_fault(page, fault, to_page, affine_transform(remnant.outline, to_page), taken)
    if remnant.panels or remnant.nap:
        said = "grain and nap" if remnant.nap else "grain"
        arrow = min((right - left) / n, 22.0, room.width - text_size(said, SMALL)[0] - 3)
        page.arrow((room.x, room.y + 1.6), (room.x + arrow, room.y + 1.6), width=1.0)
        page.write(said, room.x + arrow + 1.5, room.y + 1.6, SMALL)


def _name_keeper(page: Page, label: str, room: Polygon | MultiPolygon) -> None:
    """Write its label where it has most room, clear of its rim and of faults; if it fits."""
    parts = [part for part in getattr(room, "geoms", [room]) if not part.is_empty]
    if parts:
        part = max(parts, key=lambda part: part.area)
        middle = middle_of(part)
        size = fit_text(label, part, middle)
        if size:
            page.write(label, *middle, min(size, LINE), centred=True, backed=True, owner="keeper")


def _draw_panel(page: Page, panel: PanelDrawn, to_page: tuple[float, ...]) -> None:
    cut = affine_transform(panel.cut, to_page)
    page.shape(cut, line=1.1, fill=PALE, layer=2.0)
    if panel.sewing is not None:
        page.shape(affine_transform(panel.sewing, to_page), line=0.5, dashes=(0, (3, 2)), edge=GREY, layer=2.1)
    for tick in panel.notches:
        page.line(affine_transform(LineString(tick), to_page).coords, width=1.4, layer=2.3)
    for line in panel.lines:
        page.line(affine_transform(LineString(line), to_page).coords, width=0.6, dashes=(0, (8, 2, 1, 2)), layer=2.2)
    middle = middle_of(cut)
    tail, head = grain_line(cut, middle, panel.grain)
    page.arrow(tail, head, both=panel.either_way, layer=2.5)
    halfway = (tail[0] + head[0]) / 2, (tail[1] + head[1]) / 2  # there the arrowheads stay clear of the number
    size = fit_text(panel.label, cut, middle, True)
    if size and (fit_text(panel.label, cut, halfway, True) or 0.0) >= 0.8 * size:
        size, middle = fit_text(panel.label, cut, halfway, True), halfway
    if size:
        page.write(panel.label, *middle, size, bold=True, centred=True, backed=True, owner=panel.label)


def grain_line(cut: Polygon, middle: Where, grain: float) -> tuple[Where, Where]:
    """Tail and head of the grain line through `middle`, four fifths of the length that the panel has there."""
    reach = cut.length
    along = math.cos(math.radians(grain)), math.sin(math.radians(grain))
    ray = LineString([(middle[0] + s * reach * along[0], middle[1] + s * reach * along[1]) for s in (-1, 1)])
    within = ray.intersection(cut)
    parts = [part for part in getattr(within, "geoms", [within]) if part.distance(Point(middle)) < 1e-6]
    line = parts[0] if parts else within
    return tuple(line.interpolate(share, normalized=True).coords[0] for share in (0.1, 0.9))


def draw_fault(page: Page | PaperPage, fault: FaultDrawn, to_page: tuple[float, ...]) -> None:
    """A hole is crossed out inside a firm line, a flaw has a broken line; a tear is one heavy line, a crease a broken one."""
    if len(fault.ring) == 2:
        dashes: Dashes = "-" if fault.hole else BROKEN
        page.line(affine_transform(LineString(fault.ring), to_page).coords, width=2.4, dashes=dashes, layer=3.0)
        return
    shape = affine_transform(Polygon(fault.ring), to_page)
    if fault.hole:
        page.shape(shape, line=1.4, fill="white", hatch=HOLE, layer=3.0)
    else:
        page.shape(shape, line=1.2, dashes=BROKEN, hatch=FLAW, layer=3.0)


def spot_of(fault: FaultDrawn) -> Polygon:
    """A fault's shape, mm; one along a line is given a little width."""
    return Polygon(fault.ring) if len(fault.ring) > 2 else LineString(fault.ring).buffer(1)


def name_fault(
    page: Page | PaperPage, fault: FaultDrawn, to_page: tuple[float, ...], outline: Polygon, taken: list[Polygon]
) -> None:
    """Write its kind in it, or beside it where no panel and no word lies; where there is no room the key must do."""
    spot = affine_transform(spot_of(fault), to_page)
    width, height = text_size(fault.kind, SMALL)
    left, low, right, high = spot.bounds
    middle = (left + right) / 2, (low + high) / 2
    aside, above = (right - left + width) / 2 + 0.8, (high - low + height) / 2 + 0.4
    within = outline.buffer(-0.8)  # the word must not hide the rim
    words = [word.room for word in page.words]
    for dx, dy in [(0, 0), (aside, 0), (-aside, 0), (0, above), (0, -above)]:
        x, y = middle[0] + dx, middle[1] + dy
        room = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        fits = spot.contains(room) if (dx, dy) == (0, 0) else within.contains(room)
        if fits and not any(room.intersects(other) for other in [*words, *(taken if (dx, dy) != (0, 0) else [])]):
            page.write(fault.kind, x, y, SMALL, centred=True, backed=True, owner="fault", layer=6.0)
            return


def draw_key(page: Page | PaperPage, remnants: Sequence[RemnantDrawn], x: float, y: float) -> None:
    """Swatches of what is drawn on this page, and only of that."""
    faults = [fault for remnant in remnants for fault in remnant.faults]
    key = [
        ("panel", any(r.panels for r in remnants), {"fill": PALE, "line": 1.1}),
        ("keeper", any(r.keepers for r in remnants), {"hatch": KEEPER, "line": 0.8, "dashes": (0, (6, 2))}),
        ("rag bag", any(r.rag is not None and not r.rag.is_empty for r in remnants), {"hatch": RAG, "line": 0.4}),
        ("hole", any(f.hole and len(f.ring) > 2 for f in faults), {"hatch": HOLE, "line": 1.4}),
        ("flaw", any(not f.hole and len(f.ring) > 2 for f in faults), {"hatch": FLAW, "line": 1.2, "dashes": BROKEN}),
    ]
    for name, there, style in key:
        if not there:
            continue
        page.shape(box(x, y - 2, x + 8, y + 2), **style)  # type: ignore[arg-type]
        x += 9.5
        x += page.write(name, x, y, SMALL + 0.5).place.width + 6
    for name, there, dashes in [
        ("tear", any(f.hole and len(f.ring) == 2 for f in faults), "-"),
        ("flaw along a line", any(not f.hole and len(f.ring) == 2 for f in faults), BROKEN),
        ("bar", any(r.bars for r in remnants), DOTTED),
    ]:
        if there:
            page.line([(x, y), (x + 8, y)], width=0.7 if dashes == DOTTED else 2.4, dashes=dashes)  # type: ignore[arg-type]
            x += 9.5
            x += page.write(name, x, y, SMALL + 0.5).place.width + 6
    if any(panel.sewing is not None for remnant in remnants for panel in remnant.panels):
        page.line([(x, y), (x + 8, y)], width=0.5, dashes=(0, (3, 2)))
        x += 9.5
        page.write("sewing line", x, y, SMALL + 0.5)
