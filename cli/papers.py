"""Papers: pages of a named size, drawn on in millimetres, as one PDF with its fonts embedded or as PNGs of its pages.

All that goes to the cutting table is printed through here: dockets, pull lists, labels, true-scale paper, the bin to look at.

    papers = Papers("Lay 1 for wheel cushion")          # the title that a reader of PDFs shows
    page = papers.page(paper_named("A4"), broad=True)   # a new page, turned on its side; (0, 0) is its lower left corner, y up
    page.shape(polygon, line=1.1, fill=PALE, hatch="////")
    page.line([(10, 10), (110, 10)], width=0.7)         # 100 mm; widths of lines are points, as is the size of type
    page.write("N-02", 105, 200, 14, bold=True, centred=True)
    with page.window(Box(10, 10, 190, 277), at=(-180, 10)):
        …                                               # drawn shifted by (-180, 10), cut off at the box: a tile
    papers.save(Path("docket.pdf"))                     # or docket.png: one file, or docket-1.png, docket-2.png, …

A page has the drawing verbs of `page.Page` (`shape`, `line`, `arrow`, `write`, `scale_bar`): what draws on one draws on the
other. Nothing is put on paper before `save`: `layer` says what lies over what (5 for words, unless it is said), and of one
layer what came later. Words are measured with the font's own widths before they are put down, and are kept in `page.words`, a
box each, so that whoever sets a page out (and the tests) can ask what lies where.

reportlab writes the PDF and pypdfium2 draws the PNG from that same PDF: a page that is looked at is the page that is printed.
Both are loaded only when something is measured, or saved.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon

POINT = 25.4 / 72  # mm of a typographic point
LINE_OF_TYPE = 1.25  # the height of a line of type, ascenders and descenders included, for its size
LEAST_TYPE = 5.0  # points: smaller cannot be read at arm's length (common practice, no source)
MOST_TYPE = 14.0
DOTS_PER_INCH = 150  # of a PNG
BLACK, GREY, PALE, WHITE = "#111111", "#666666", "#e9e9e9", "#ffffff"
KINDS = (".pdf", ".png")

Dashes = str | tuple[float, tuple[float, ...]]
"""A firm line ("-"), or where the pattern begins and its strokes and gaps by turns, in widths of the line."""
Where = tuple[float, float]


class Box(NamedTuple):
    """A place on the page: lower left corner and size, mm."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Paper:
    """A size of paper, upright, mm."""

    name: str
    width: float
    height: float

    @property
    def broad(self) -> Paper:
        """The same, turned on its side."""
        return Paper(self.name, self.height, self.width)


PAPERS = (
    # ISO 216:2007, A series
    *(Paper("A5", 148, 210), Paper("A4", 210, 297), Paper("A3", 297, 420)),
    *(Paper("A2", 420, 594), Paper("A1", 594, 841), Paper("A0", 841, 1189)),
    # ANSI/ASME Y14.1, sizes A and B, and Legal (common practice, no source)
    *(Paper("Letter", 215.9, 279.4), Paper("Legal", 215.9, 355.6), Paper("Tabloid", 279.4, 431.8)),
)


def paper_named(text: str) -> Paper:
    """The paper of that name (capitals do not matter), or of that size ("60cm x 2m"). Raises units.UnitFault.

    >>> paper_named("letter")
    Paper(name='Letter', width=215.9, height=279.4)
    >>> paper_named("24in x 36in").height
    914.4
    """
    from .units import UnitFault, size

    said = text.strip()
    for paper in PAPERS:
        if paper.name.lower() == said.lower():
            return paper
    expected = f"one of {', '.join(paper.name for paper in PAPERS)}, or its width and height, such as 24in x 36in"
    try:
        width, height = size(said)
    except UnitFault as fault:
        raise UnitFault(fault.what if any(c.isdigit() for c in said) else f"there is no paper {said!r}", expected) from None
    if min(width, height) < 20 or max(width, height) > 5000:  # a PDF's page ends at 200 inches: 5080 mm
        raise UnitFault(f"{said!r} is no size for paper", f"{expected}, from 20 mm to 5 m")
    return Paper(said, float(width), float(height))


# --- type ----------------------------------------------------------------------------------------------------------------


@cache
def _fonts() -> tuple[str, str]:
    """The names of the plain and the bold font, made known to reportlab. They are the ones that matplotlib brings along."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    found = find_spec("matplotlib")
    assert found is not None
    assert found.submodule_search_locations
    folder = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    for name, file in (("plain", "DejaVuSans.ttf"), ("bold", "DejaVuSans-Bold.ttf")):
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    return "plain", "bold"


@lru_cache(maxsize=8192)
def text_size(text: str, points: float, bold: bool = False) -> tuple[float, float]:
    """Width and height in mm of one line of type, ascenders and descenders included."""
    from reportlab.pdfbase import pdfmetrics

    width = pdfmetrics.stringWidth(_plain(text), _fonts()[bold], 100.0)
    return width * points / 100 * POINT, points * POINT * LINE_OF_TYPE


def _plain(text: str) -> str:
    """Text on one line, without signs that print nothing."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def shortened(text: str, points: float, room: float, bold: bool = False) -> str:
    """`text`, or as much of its beginning as goes into `room` mm, with … behind it."""
    if text_size(text, points, bold)[0] <= room:
        return text
    while text and text_size(text + "…", points, bold)[0] > room:
        text = text[:-1]
    return text.rstrip() + "…"


def broken(text: str, points: float, room: float, bold: bool = False) -> list[str]:
    """`text` in lines no wider than `room` mm, broken between words; a word that is wider by itself is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_size(longer, points, bold)[0] <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, points, room, bold))
    return lines


# --- what every page has -------------------------------------------------------------------------------------------------


def arrow_heads(tail: Where, head: Where, *, both: bool) -> Iterator[list[Where]]:
    """The corners of the triangle at an arrow's head, and at its tail if it may lie either way."""
    long = math.dist(tail, head)
    along = (head[0] - tail[0]) / long, (head[1] - tail[1]) / long
    barb = min(2.2, long / 3)
    for tip, way in [(head, 1.0), (tail, -1.0)] if both else [(head, 1.0)]:
        back = tip[0] - way * barb * along[0], tip[1] - way * barb * along[1]
        side = barb * 0.28 * along[1], -barb * 0.28 * along[0]
        yield [tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])]


def bar_of_scale(scale: float, unit: str) -> tuple[float, str]:
    """The round length on the cloth (mm) that a bar of some 35 mm on the page is, and what is written beside it; `scale` is mm
    of page for 1 mm of cloth.

    >>> bar_of_scale(0.2, "mm")
    (200.0, '20 cm on the cloth; 1 : 5 if printed full size')
    """
    inch = unit == "in"
    lengths = [f * (25.4 if inch else 10.0) for f in ((1, 2, 4, 6, 12, 18, 36) if inch else (1, 2, 5, 10, 20, 50, 100))]
    length = min(lengths, key=lambda length: abs(length * scale - 35.0))
    metric = f"{length / 10:.0f} cm" if unit == "cm" or length >= 100 else f"{length:.0f} mm"
    said = f"{length / 25.4:.0f} in" if inch else metric
    return length, f"{said} on the cloth; 1 : {1 / scale:.3g} if printed full size"


# --- pages ---------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Word:
    """Something written, the box that it fills (before it is turned about the middle of it), and by how much it is turned."""

    text: str
    place: Box
    size: float
    owner: str = ""
    turn: float = 0.0

    @cached_property
    def room(self) -> Polygon:
        """The box as it stands, turned."""
        from shapely.affinity import rotate
        from shapely.geometry import box

        x, y, width, height = self.place
        return rotate(box(x, y, x + width, y + height), self.turn, origin="center")


@dataclass
class PaperPage:
    """One page of `width` × `height` mm; (0, 0) is its lower left corner."""

    width: float
    height: float
    words: list[Word] = field(default_factory=list)
    _drawn: list[tuple[float, Callable[[Any], None]]] = field(default_factory=list, repr=False)
    _window: tuple[Box, Where] | None = field(default=None, repr=False)

    @contextmanager
    def window(self, place: Box, at: Where) -> Iterator[None]:
        """Shift what is drawn within by `at` (mm), and cut it off at `place` on the page. What falls wholly outside is left
        out. Words are kept in `words` where they come to stand; they are cut off, too."""
        before, self._window = self._window, (place, at)
        try:
            yield
        finally:
            self._window = before

    def shape(
        self,
        shape: Polygon | MultiPolygon,
        *,
        line: float = 0.8,
        dashes: Dashes = "-",
        fill: str = "none",
        hatch: str | None = None,
        edge: str = BLACK,
        layer: float = 1.0,
    ) -> None:
        """Draw a polygon, its holes left open. `hatch`: ////, \\\\\\\\, xxxx, ++++ or ..., in grey."""
        if shape.is_empty:
            return
        parts = getattr(shape, "geoms", [shape])
        rings = [list(ring.coords) for part in parts for ring in (part.exterior, *part.interiors)]
        bounds = shape.bounds

        def draw(canvas: Any) -> None:
            if fill != "none":
                canvas.setFillColor(_colour(fill))
                canvas.drawPath(_path(canvas, rings), stroke=0, fill=1)
            if hatch:
                _hatch(canvas, rings, bounds, hatch)
            if line:
                _pen(canvas, line, dashes, edge)
                canvas.drawPath(_path(canvas, rings), stroke=1, fill=0)

        self._put(layer, bounds, line, draw)

    def line(
        self,
        points: Iterable[Sequence[float]],
        *,
        width: float = 0.8,
        dashes: Dashes = "-",
        layer: float = 1.0,
        edge: str = BLACK,
    ) -> None:
        """A line through points; its width in points of type."""
        run = [(float(point[0]), float(point[1])) for point in points]
        xs, ys = [x for x, _ in run], [y for _, y in run]

        def draw(canvas: Any) -> None:
            _pen(canvas, width, dashes, edge)
            canvas.drawPath(_path(canvas, [run], closed=False), stroke=1, fill=0)

        self._put(layer, (min(xs), min(ys), max(xs), max(ys)), width, draw)

    def arrow(self, tail: Where, head: Where, *, both: bool = False, width: float = 0.7, layer: float = 2.0) -> None:
        """A grain line: an arrow at its head, or at both ends if it may lie either way."""
        from shapely.geometry import Polygon

        if tail == head:
            return
        self.line([tail, head], width=width, layer=layer)
        for corners in arrow_heads(tail, head, both=both):
            self.shape(Polygon(corners), line=0, fill=BLACK, layer=layer)

    def write(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        *,
        bold: bool = False,
        centred: bool = False,
        right: bool = False,
        backed: bool = False,
        owner: str = "",
        layer: float = 5.0,
        turn: float = 0.0,
    ) -> Word:
        """Write one line, its left end at (x, y), its middle if `centred`, its right end if `right`; `backed` puts white
        behind it; `turn` turns it about (x, y), degrees counter-clockwise."""
        text = _plain(text)
        width, height = text_size(text, size, bold)
        left = -width / 2 if centred else -width if right else 0.0
        reach = math.hypot(width, height)
        name = _fonts()[bold]

        def draw(canvas: Any) -> None:
            canvas.saveState()
            canvas.translate(x / POINT, y / POINT)
            canvas.rotate(turn)
            if backed:
                canvas.setFillColor(_colour(WHITE))
                canvas.rect(left / POINT, -height / 2 / POINT, width / POINT, height / POINT, stroke=0, fill=1)
            canvas.setFillColor(_colour(BLACK))
            canvas.setFont(name, size)
            canvas.drawString(left / POINT, -0.36 * size, text)
            canvas.restoreState()

        shift = self._window[1] if self._window else (0.0, 0.0)
        away = _turned((left + width / 2, 0.0), turn)  # its middle, as seen from (x, y)
        middle = x + away[0] + shift[0], y + away[1] + shift[1]
        word = Word(text, Box(middle[0] - width / 2, middle[1] - height / 2, width, height), size, owner, turn)
        if text.strip() and self._put(layer, (x - reach, y - reach, x + reach, y + reach), 0, draw):
            self.words.append(word)
        return word

    def photograph(self, file: Path | Any, place: Box, *, layer: float = 1.0) -> None:
        """A photograph (a file, or an image of Pillow's), as large as it fits into the middle of `place`, at no more than 200
        dots per inch."""
        from PIL import Image, ImageOps

        image = Image.open(file) if isinstance(file, Path) else file
        image = ImageOps.exif_transpose(image).convert("RGB")
        scale = min(place.width / image.width, place.height / image.height)
        wide, tall = image.width * scale, image.height * scale
        image.thumbnail((round(wide / 25.4 * 200), round(tall / 25.4 * 200)))
        x, y = place.x + (place.width - wide) / 2, place.y + (place.height - tall) / 2

        def draw(canvas: Any) -> None:
            from reportlab.lib.utils import ImageReader

            canvas.drawImage(ImageReader(image), x / POINT, y / POINT, wide / POINT, tall / POINT)

        self._put(layer, (x, y, x + wide, y + tall), 0, draw)

    def scale_bar(self, x: float, y: float, scale: float, unit: str) -> None:
        """A bar of a round length on the cloth, with its length written beside it; `scale` is mm of page for 1 mm of cloth."""
        from shapely.geometry import box

        length, said = bar_of_scale(scale, unit)
        tall, half = 1.6, length * scale / 2
        self.shape(box(x, y - tall / 2, x + half, y + tall / 2), line=0.6, fill=BLACK)
        self.shape(box(x + half, y - tall / 2, x + 2 * half, y + tall / 2), line=0.6, fill=WHITE)
        self.write(said, x + 2 * half + 3, y, 8)

    def _put(self, layer: float, bounds: tuple[float, ...], width: float, draw: Callable[[Any], None]) -> bool:
        """Keep a drawing for later; in a window, shifted and cut off. Whether any of it may show there."""
        if self._window is None:
            self._drawn.append((layer, draw))
            return True
        place, at = self._window
        rim = width * POINT
        if (
            bounds[0] + at[0] - rim > place.x + place.width
            or bounds[2] + at[0] + rim < place.x
            or bounds[1] + at[1] - rim > place.y + place.height
            or bounds[3] + at[1] + rim < place.y
        ):
            return False

        def shifted(canvas: Any) -> None:
            canvas.saveState()
            cut = canvas.beginPath()
            cut.rect(*(mm / POINT for mm in place))
            canvas.clipPath(cut, stroke=0, fill=0)
            canvas.translate(at[0] / POINT, at[1] / POINT)
            draw(canvas)
            canvas.restoreState()

        self._drawn.append((layer, shifted))
        return True

    def put_on(self, canvas: Any) -> None:
        """Draw all of it on a canvas of reportlab's."""
        canvas.setPageSize((self.width / POINT, self.height / POINT))
        for _, draw in sorted(self._drawn, key=lambda each: each[0]):
            draw(canvas)
        canvas.showPage()


class Papers:
    """The pages of one document."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.pages: list[PaperPage] = []

    def page(self, paper: Paper, *, broad: bool = False) -> PaperPage:
        """A new page, upright or turned on its side."""
        size = paper.broad if broad else paper
        self.pages.append(PaperPage(size.width, size.height))
        return self.pages[-1]

    def files(self, file: Path) -> list[Path]:
        """What `save` would write: one PDF, or a PNG for each page."""
        if file.suffix.lower() == ".pdf" or len(self.pages) == 1:
            return [file]
        return [file.with_stem(f"{file.stem}-{number}") for number in range(1, len(self.pages) + 1)]

    def save(self, file: Path) -> list[Path]:
        """Write the pages as the end of the file's name says (pdf or png). The same pages give the same bytes."""
        written = self.as_pdf()
        if file.suffix.lower() == ".pdf":
            file.write_bytes(written)
            return [file]
        import pypdfium2

        document = pypdfium2.PdfDocument(written)
        for page, name in zip(document, self.files(file), strict=True):
            page.render(scale=DOTS_PER_INCH / 72).to_pil().save(name)
        return self.files(file)

    def as_pdf(self) -> bytes:
        """All pages as one PDF."""
        from io import BytesIO

        from reportlab.pdfgen.canvas import Canvas

        held = BytesIO()
        # Named so that the fonts of PDF itself, which are not embedded, are not asked for.
        canvas = Canvas(held, pageCompression=1, invariant=1, initialFontName=_fonts()[0])
        canvas.setTitle(self.title)
        canvas.setAuthor("Fent")
        canvas.setSubject("")
        canvas.setCreator("Fent")
        for page in self.pages:
            page.put_on(canvas)
        canvas.save()
        return held.getvalue()


# --- ink -----------------------------------------------------------------------------------------------------------------

_WAYS = {"/": 45.0, "\\": -45.0, "-": 0.0, "|": 90.0}
_BOTH = {"x": "/\\", "+": "-|"}
_APART, _DOTS_APART = 1.9, 1.6  # mm between the lines of a hatch, between its dots


def _colour(said: str) -> Any:
    from reportlab.lib.colors import HexColor

    return HexColor(WHITE if said == "white" else said)


def _pen(canvas: Any, width: float, dashes: Dashes, edge: str) -> None:
    canvas.setLineWidth(width)
    canvas.setLineJoin(1)
    canvas.setStrokeColor(_colour(edge))
    if isinstance(dashes, str):
        canvas.setDash([], 0)
    else:
        canvas.setDash([stroke * width for stroke in dashes[1]], dashes[0] * width)


def _path(canvas: Any, rings: Sequence[Sequence[Sequence[float]]], *, closed: bool = True) -> Any:
    path = canvas.beginPath()
    for ring in rings:
        path.moveTo(ring[0][0] / POINT, ring[0][1] / POINT)
        for point in ring[1:]:
            path.lineTo(point[0] / POINT, point[1] / POINT)
        if closed:
            path.close()
    return path


def _hatch(canvas: Any, rings: Sequence[Sequence[Sequence[float]]], bounds: tuple[float, ...], hatch: str) -> None:
    """Lines, or dots, over all that the rings hold; they run on from one shape to the next, as on the page."""
    canvas.saveState()
    canvas.clipPath(_path(canvas, rings), stroke=0, fill=0, fillMode=0)  # even-odd: holes stay open
    left, low, right, high = bounds
    if hatch[0] == ".":
        canvas.setLineCap(1)
        _pen(canvas, 0.9, (0, (0.001, _DOTS_APART / POINT / 0.9)), GREY)
        for row in range(math.floor(low / _DOTS_APART), math.ceil(high / _DOTS_APART) + 1):
            start = (math.floor(left / _DOTS_APART) + (row % 2) / 2) * _DOTS_APART
            canvas.line(start / POINT, row * _DOTS_APART / POINT, right / POINT, row * _DOTS_APART / POINT)
    else:
        _pen(canvas, 0.45, "-", GREY)
        reach = math.hypot(right - left, high - low)
        middle = (left + right) / 2, (low + high) / 2
        for way in _BOTH.get(hatch[0], hatch[0]):
            along = _turned((1.0, 0.0), _WAYS[way])
            across = -along[1], along[0]
            from_origin = middle[0] * across[0] + middle[1] * across[1]
            for n in range(math.floor((from_origin - reach / 2) / _APART), math.ceil((from_origin + reach / 2) / _APART) + 1):
                off = n * _APART - from_origin
                x, y = middle[0] + off * across[0], middle[1] + off * across[1]
                ends = [(x + s * reach / 2 * along[0], y + s * reach / 2 * along[1]) for s in (-1, 1)]
                canvas.line(*(mm / POINT for end in ends for mm in end))
    canvas.restoreState()


def _turned(point: Where, degrees: float) -> Where:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return point[0] * c - point[1] * s, point[0] * s + point[1] * c
