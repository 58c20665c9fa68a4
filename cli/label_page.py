"""Labels: what is pinned to a remnant, on sheets of labels or as a strip.

A sheet of labels is named by the measures of one label, as it stands on its box. Those that are sold by the hundred are known
with their rows and the space between them; any other is set out from the middle of the paper.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely.geometry import MultiPolygon, box

from .papers import LINE_OF_TYPE, POINT, Box, Paper, PaperPage, Papers, shortened, text_size

if TYPE_CHECKING:
    from stash.cloths import Cloth
    from stash.remnants import RemnantTold

    from .shown import Shown

INCH = 25.4
RIM = 2.2  # mm that a printer may be off by, kept free inside a label,
EDGE = 4.5  # and what it cannot reach at the edge of the paper (common practice, no source): kept free in a large label
CODE = 0.33  # mm: the least side of a dot of the code that a telephone reads (common practice, no source)
QUIET = 4  # dots kept white round the code: ISO/IEC 18004
LEAST, MOST = 5.0, 14.0  # points
ARROW, LINES = 3.4, 5  # mm for the arrow of the grain, and how many lines are told
SMALLEST = (24.0, 12.0)  # mm: less has no room for a tag and its code


@dataclass(frozen=True)
class EnvelopeTold:
    """An envelope of offcuts, as its label tells it; `mass`: what is in it today, g."""

    tag: str
    cloth: Cloth
    lot: str
    mass: float


@dataclass(frozen=True)
class LabelSheet:
    """A sheet of labels: of what size, how many across and down, the space between them, mm. The whole stands in the middle of
    the paper."""

    width: float
    height: float
    across: int
    down: int
    apart: tuple[float, float] = (0.0, 0.0)

    def places(self, paper: Paper) -> Iterator[Box]:
        """Where each label is on the paper, row by row from the top."""
        wide = self.across * self.width + (self.across - 1) * self.apart[0]
        tall = self.down * self.height + (self.down - 1) * self.apart[1]
        left, top = (paper.width - wide) / 2, (paper.height + tall) / 2
        for row in range(self.down):
            for column in range(self.across):
                x = left + column * (self.width + self.apart[0])
                yield Box(x, top - (row + 1) * self.height - row * self.apart[1], self.width, self.height)


KNOWN = {
    # From memory: the sizes that stationers sell, and how they stand on the sheet.
    "A4": (
        *(LabelSheet(70, 37, 3, 8), LabelSheet(105, 37, 2, 8), LabelSheet(105, 57, 2, 5), LabelSheet(105, 74, 2, 4)),
        *(LabelSheet(52.5, 29.7, 4, 10), LabelSheet(48.5, 25.4, 4, 11)),
        *(LabelSheet(63.5, 38.1, 3, 7, (2.5, 0)), LabelSheet(99.1, 38.1, 2, 7, (2.5, 0))),
    ),
    "Letter": (
        LabelSheet(2.625 * INCH, INCH, 3, 10, (0.125 * INCH, 0)),
        LabelSheet(4 * INCH, 2 * INCH, 2, 5, (0.1875 * INCH, 0)),
        LabelSheet(4 * INCH, INCH * 4 / 3, 2, 7, (0.1875 * INCH, 0)),
        LabelSheet(4 * INCH, INCH * 10 / 3, 2, 3, (0.1875 * INCH, 0)),
    ),
}
SAME = 0.5  # mm: measures are rounded on the box


def sheet_for(size: tuple[float, float], paper: Paper) -> LabelSheet | None:
    """The sheet of labels of that size on a paper: a known one, or as many as go on it side by side; None where none does."""
    for known in KNOWN.get(paper.name, ()):
        if abs(known.width - size[0]) <= SAME and abs(known.height - size[1]) <= SAME:
            return known
    across, down = int(paper.width / size[0] + 1e-9), int(paper.height / size[1] + 1e-9)
    return LabelSheet(*size, across, down) if across and down else None


def label_sheets(
    remnants: Sequence[RemnantTold | EnvelopeTold],
    sheet: LabelSheet,
    paper: Paper,
    shown: Shown,
    *,
    first: int = 1,
    rim: bool = False,
) -> Papers:
    """Labels on sheets; on the first of them from label `first` on, counted row by row. `rim`: with a line round each."""
    papers = Papers("Labels")
    places = list(sheet.places(paper))
    page: PaperPage | None = None
    at = first - 1
    for remnant in remnants:
        if page is None or at == len(places):
            page, at = papers.page(paper), 0 if page is not None else at
        _label(page, remnant, places[at], shown)
        if rim:
            place = places[at]
            page.shape(box(place.x, place.y, place.x + place.width, place.y + place.height), line=0.3)
        at += 1
    return papers


def label_strip(remnants: Sequence[RemnantTold | EnvelopeTold], size: tuple[float, float], shown: Shown) -> Papers:
    """Labels one after the other, each on a page of its own size."""
    papers = Papers("Labels")
    for remnant in remnants:
        page = papers.page(Paper("label", *size))
        _label(page, remnant, Box(0, 0, *size), shown)
    return papers


# --- one label -----------------------------------------------------------------------------------------------------------


def _label(page: PaperPage, remnant: RemnantTold | EnvelopeTold, place: Box, shown: Shown) -> None:
    """The code at the right, beside it the tag as large as it fits, and under that what the remnant is."""
    rim = _rim(place.width, place.height)
    left, right = place.x + rim, place.x + place.width - rim
    top, foot = place.y + place.height - rim, place.y + rim
    side = _code(page, remnant.tag, right, top, foot, place.width)
    room = right - side - (1.5 if side else 0.0) - left
    sizes = (44.0, 36.0, 30.0, 26.0, 22.0, 18.0, 15.0, 13.0, 11.0, 9.0, 7.0, 6.0, LEAST)
    high = top - foot
    tall = min(high * 0.42, max(high * 0.25, high - ARROW - LINES * LEAST * POINT * LINE_OF_TYPE))
    lines = [remnant.tag]
    size = next((s for s in sizes if text_size(remnant.tag, s, True)[0] <= room and s * POINT * LINE_OF_TYPE <= tall), 0.0)
    if not size:
        size = LEAST
        if text_size(remnant.tag, size, True)[0] > room:  # a tag of two lines is read, one that is cut off is not
            lines = _halves(remnant.tag)
    for line in lines:
        step = size * POINT * LINE_OF_TYPE
        page.write(shortened(line, size, room, True), left, top - step / 2, size, bold=True, owner=remnant.tag)
        top -= step
    _lines(page, remnant, Box(left, foot, room, top - foot), shown)


def _halves(tag: str) -> list[str]:
    """A long tag in two, after the hyphen or space that is nearest to its middle.

    >>> _halves("THE-BLUE-CURTAIN-17B"), _halves("UNHYPHENATED")
    (['THE-BLUE-', 'CURTAIN-17B'], ['UNHYPH', 'ENATED'])
    """
    breaks = [n + 1 for n, letter in enumerate(tag[:-1]) if letter in "-_/. "] or [len(tag) // 2]
    at = min(breaks, key=lambda n: abs(n - len(tag) / 2))
    return [tag[:at].strip(), tag[at:].strip()]


def _lines(page: PaperPage, remnant: RemnantTold | EnvelopeTold, room: Box, shown: Shown) -> None:
    """The rest, in type as large as lets all of it stand; what does not fit at the smallest is left out from the end."""
    told = list(_told(remnant, shown))
    for points in (MOST, 12.0, 10.0, 9.0, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5, LEAST):
        step = points * POINT * LINE_OF_TYPE
        if len(told) * step + ARROW <= room.height and all(text_size(text, points)[0] <= room.width for text in told):
            break
    y = room.y + room.height
    for text in told[: max(0, int((room.height - ARROW) / step + 1e-9))]:
        page.write(shortened(text, points, room.width), room.x, y - step / 2, points, owner=remnant.tag)
        y -= step
    if y - room.y >= ARROW - 0.2:
        _grain(page, remnant, Box(room.x, room.y, room.width, ARROW))


def _grain(page: PaperPage, remnant: RemnantTold | EnvelopeTold, room: Box) -> None:
    """An arrow to be pinned along the grain: with the nap it points the way that runs. Offcuts lie anyhow."""
    if isinstance(remnant, EnvelopeTold):
        return
    word = "nap" if remnant.one_way else "grain"
    width, _ = text_size(word, 6.0)
    y = room.y + room.height / 2
    long = min(room.width - width - 1.5, 20.0)
    if long > 5:
        page.arrow((room.x, y), (room.x + long, y), both=not remnant.one_way, width=1.0)
        page.write(word, room.x + long + 1.2, y, 6.0, owner=remnant.tag)


def _told(remnant: RemnantTold | EnvelopeTold, shown: Shown) -> Iterator[str]:
    cloth = remnant.cloth
    lot = remnant.lot if isinstance(remnant, EnvelopeTold) else cloth.lot
    yield cloth.name + (f", lot {lot}" if lot else "")
    if isinstance(remnant, EnvelopeTold):
        yield f"offcuts, {shown.mass(remnant.mass)}"
        yield shown.cloth_weight(cloth.weight)
        yield cloth.made_of
        return
    yield f"{'rough, at least ' if remnant.rough else ''}{shown.size(remnant.length, remnant.width)}"
    yield f"{shown.cloth_weight(cloth.weight)}, {shown.mass(remnant.mass)}"
    yield cloth.made_of
    yield f"washed: {remnant.washed}" if remnant.washed else "not washed"


def _code(page: PaperPage, tag: str, right: float, top: float, foot: float, width: float) -> float:
    """The tag as a code for a camera, its quiet zone within the label; how much of the width it takes, mm."""
    rows = _rows(tag)
    side, dots = _side(top - foot, width), len(rows) + 2 * QUIET
    dot = side / dots
    if dot < CODE:
        return 0.0
    x0, y0 = right + RIM * 0.5 - side + QUIET * dot, top + RIM * 0.5 - QUIET * dot
    runs = [
        box(x0 + start * dot, y0 - (row + 1) * dot, x0 + end * dot, y0 - row * dot)
        for row, cells in enumerate(rows)
        for start, end in _runs(cells)
    ]
    page.shape(MultiPolygon(runs), line=0, fill="#000000")
    return side - RIM * 0.5 - QUIET * dot + 0.5


def _rows(tag: str) -> list[bytes]:
    """The dots of a code, row by row."""
    import segno

    return [bytes(row) for row in segno.make(tag, error="m", micro=False, boost_error=False).matrix]


def _side(high: float, width: float) -> float:
    """The room of the code, its quiet zone with it, mm."""
    return min(high + RIM, width * 0.42, 40.0)


def _rim(width: float, height: float) -> float:
    return EDGE if height > 34 and width > 60 else RIM


def has_code(tag: str, size: tuple[float, float]) -> bool:
    """Whether a label of that size has room for a tag's code: the longer a tag, the more dots."""
    width, height = size
    return _side(height - 2 * _rim(width, height), width) / (len(_rows(tag)) + 2 * QUIET) >= CODE


def _runs(cells: bytes) -> Iterator[tuple[int, int]]:
    """Dark dots side by side, as (first, one past the last)."""
    start = None
    for n, dark in enumerate([*cells, 0]):
        if dark and start is None:
            start = n
        elif not dark and start is not None:
            yield start, n
            start = None
