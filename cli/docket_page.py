"""The cutting docket: for each remnant of a lay a page with all that the hands need, and pages more where one is not enough.

A page is set out from the top: whose it is, the remnant drawn as large as it goes, its scale and key, the pieces with their
letters, what to measure and in which order to cut, where to chalk each panel, cautions. It is laid upright or on its side,
whichever draws the remnant larger. What does not fit goes on to pages of its own: the chalk measures, and parts of the drawing
enlarged until each panel's number can be read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from shapely.affinity import affine_transform
from shapely.geometry import LineString, Polygon

from . import chalk_table, docket_words
from .papers import LINE_OF_TYPE, PALE, POINT, Box, Paper, PaperPage, Papers, broken, shortened, text_size
from .pictures import SCALES, grain_line, middle_of
from .sheet_drawing import ROUND_IT, SEWING, bounds_of, draw_key, draw_sheet, label_of, letter_corners

if TYPE_CHECKING:
    from stash.dockets import DocketPanel, SheetDocket
    from stash.lays import Lay
    from stash.patterns import Piece

    from .shown import Shown

MARGIN = 11.0
TAG, HEAD, PLAIN, FINE = 22.0, 10.0, 8.0, 7.0
LEADING = 1.08
FOOT = 5.0
GAP = 3.0
DETAIL = 34.0, 20.0  # mm: the room in which a piece is drawn with its letters
ENLARGED = 1 / 1.25  # a part is drawn so much larger than is needed, and no larger than it is

CAUTIONS = (
    "Blades cut hands: cut away from yourself, close or cover the blade whenever you put it down, and leave powered knives to "
    "those who are trained on them.",
    "Old or treated cloth may hold dust, mould, moth or residues: keep it apart until you know, and wear gloves and a mask.",
    "The rules of your workplace, and people trained for the work, come before what is printed here.",
)
LAYERS = "Layers creep under a blade: clamp or weight them, and look at every layer's edge before you cut."


@dataclass
class _Flow:
    """Words put down from the top of a box to its foot."""

    page: PaperPage
    x: float
    y: float
    width: float

    def say(self, text: str, size: float = PLAIN, *, bold: bool = False, first: str = "") -> None:
        """Words over as many lines as they need; `first` stands before them in bold."""
        indent = text_size(first, size, True)[0] + 1.2 if first else 0.0
        lines = broken(text, size, self.width - indent, bold) or [""]
        for n, line in enumerate(lines):
            tall = size * POINT * LINE_OF_TYPE * LEADING
            if first and n == 0:
                self.page.write(first, self.x, self.y - tall / 2, size, bold=True)
            self.page.write(line, self.x + indent, self.y - tall / 2, size, bold=bold)
            self.y -= tall


def dockets(lay: Lay, found: Sequence[SheetDocket], paper: Paper, shown: Shown, tape: float) -> Papers:
    """The dockets of a lay. `tape`: what a reading may be out by, mm."""
    papers = Papers(f"Lay {lay.number} for {lay.job}: cutting docket")
    stacks = sum(docket.stack is not None for docket in found)
    for number, docket in enumerate(found, start=1):
        which = f"stack {number} of {stacks}" if docket.stack else f"remnant {number - stacks} of {len(found) - stacks}"
        _Docket(papers, lay, docket, paper, shown, tape, which).draw()
    for number, page in enumerate(papers.pages, start=1):
        said = f"Lay {lay.number} for {lay.job} · page {number} of {len(papers.pages)}"
        page.write(said, page.width - MARGIN, MARGIN - 4, FINE, right=True, owner="foot")
    return papers


@dataclass
class _Docket:
    """The pages of one remnant."""

    papers: Papers
    lay: Lay
    docket: SheetDocket
    paper: Paper
    shown: Shown
    tape: float
    which: str

    @cached_property
    def rows(self) -> list[chalk_table.Row]:
        """The table of the chalk measures."""
        if self.docket.in_stack is not None:
            return []  # it is chalked on the stack
        return chalk_table.rows_of(self.docket, self.shown, self.tape)

    @cached_property
    def instructions(self) -> list[tuple[str, str]]:
        """What is told in words."""
        return list(docket_words.instructions(self.docket, self.lay, self.shown, self.tape))

    def draw(self) -> None:
        """Choose how to lay the page, and fill it."""
        broad, together, scale = self._best()
        page = self.papers.page(self.paper, broad=broad)
        top = self._head(page)
        below = self._below(page.width - 2 * MARGIN, together)
        height = self._extent()[1]
        room = top - MARGIN - below
        tall = min(room, height * scale + 2 * ROUND_IT)
        draw_sheet(page, self.docket, Box(MARGIN, top - tall, page.width - 2 * MARGIN, tall), scale)
        y = self._scale_and_key(page, top - tall, scale)
        y = self._pieces(page, y)
        y = self._words(page, y)
        if together and self.rows:
            y = chalk_table.draw(page, self.rows, self.shown, MARGIN, y - GAP, page.width - 2 * MARGIN)
        self._cautions(page)
        self._parts(scale)
        if not together:
            self._chalk_pages()

    def _best(self) -> tuple[bool, bool, float]:
        """Whether on its side, whether with the table of measures on the same page, and the scale."""
        width, height = self._extent()
        found = []
        for broad in (False, True):
            size = self.paper.broad if broad else self.paper
            for together in (True, False):
                inner = size.width - 2 * MARGIN
                room = size.height - 2 * MARGIN - self.head_height[size.width] - self._below(inner, together)
                if room <= 2 * ROUND_IT + 10:
                    continue
                scale = min((inner - 2 * ROUND_IT) / width, (room - 2 * ROUND_IT) / height)
                found.append((self._round(scale), together, not broad))
        most = max(found)[0] if found else 0.0
        # A table on the same page is worth a drawing somewhat smaller, an upright page one hardly smaller.
        worth = [
            (scale * (1.8 if together else 1.0) * (1.05 if upright else 1.0), scale, together, upright)
            for scale, together, upright in found
        ]
        good = [each for each in worth if each[1] >= most / 2]
        if not good:
            return True, False, 1 / SCALES[-1]
        _, scale, together, upright = max(good)
        return not upright, together, scale

    def _round(self, scale: float) -> float:
        """The largest scale of the usual ones that is no larger."""
        return next((1 / n for n in SCALES if 1 / n <= scale * 1.0001), scale)

    def _extent(self) -> tuple[float, float]:
        left, low, right, high = bounds_of(self.docket)
        return right - left, high - low

    # --- the head -------------------------------------------------------------------------------------------------------

    @cached_property
    def head_height(self) -> dict[float, float]:
        """How high the head stands on a page of that width, mm."""
        found = {}
        for width in {self.paper.width, self.paper.height}:
            trial = PaperPage(width, 300.0)
            found[width] = 300.0 - MARGIN - self._head(trial)
        return found

    def _head(self, page: PaperPage, more: str = "") -> float:
        """Whose docket it is; where the page goes on from."""
        top = page.height - MARGIN
        name = self.docket.called
        room = page.width - 2 * MARGIN
        size = next((size for size in (TAG, 16.0, 12.0) if text_size(name, size, True)[0] < room * 0.4), 9.0)
        tag = page.write(shortened(name, size, room * 0.5, True), MARGIN, top - 5.5, size, bold=True)
        x = tag.place.x + tag.place.width + 5
        flow = _Flow(page, x, top, page.width - MARGIN - x)
        number = f"Lay {self.lay.number}" if self.lay.number else "A lay that is not kept"
        flow.say(
            shortened(f"{number} for {self.lay.job}{f' — {more}' if more else ''}", HEAD, flow.width, True), HEAD, bold=True
        )
        flow.say(shortened(f"{self.which} · {docket_words.state_of(self.lay)}", FINE, flow.width), FINE)
        flow = _Flow(page, MARGIN, top - 11.5, room)
        flow.say(" · ".join(docket_words.about(self.docket, self.shown)))
        flow.say(docket_words.how_it_lies(self.docket))
        page.line([(MARGIN, flow.y - 2), (page.width - MARGIN, flow.y - 2)], width=0.6)
        return flow.y - 4

    # --- under the drawing ----------------------------------------------------------------------------------------------

    def _below(self, width: float, together: bool) -> float:
        """The height of all that stands under the drawing, mm."""
        trial = PaperPage(width + 2 * MARGIN, 2000.0)
        y = self._words(trial, self._pieces(trial, self._scale_and_key(trial, 1900.0, 0.2)))
        if together and self.rows:
            y -= GAP + chalk_table.height(self.rows)
        return 1900.0 - y + self._cautions(trial) + 1.0

    def _scale_and_key(self, page: PaperPage, y: float, scale: float) -> float:
        page.arrow((MARGIN, y - 3), (MARGIN + 14, y - 3), width=1.0)
        words = "grain, and the way of the nap" if self.docket.sheet.remnant.one_way else "grain"
        end = page.write(words, MARGIN + 15.5, y - 3, FINE).place
        page.scale_bar(end.x + end.width + 8, y - 3, scale, self.shown.heading)
        draw_key(page, [self.docket], MARGIN, y - 8)
        return y - 11

    def _pieces(self, page: PaperPage, y: float) -> float:
        """Each piece once, with the letters of its marks; each part of one that is joined from two by itself."""
        by_piece: dict[str, list[DocketPanel]] = {}
        for each in self.docket.panels:
            part = f", part {each.panel.part} of 2" if each.panel.part else ""
            by_piece.setdefault(each.panel.piece + part, []).append(each)
        across = max(1, int((page.width - 2 * MARGIN) // (DETAIL[0] + 56)))
        for start in range(0, len(by_piece), across):
            ends: list[float] = []
            for n, (name, panels) in enumerate(list(by_piece.items())[start : start + across]):
                x = MARGIN + n * (page.width - 2 * MARGIN) / across
                width = (page.width - 2 * MARGIN) / across - 4
                ends.append(self._piece(page, name, panels, Box(x, y - DETAIL[1] - 2, width, DETAIL[1])))
            y = min([y - DETAIL[1] - 3, *(end - 1 for end in ends)])
        return y

    def _piece(self, page: PaperPage, name: str, panels: Sequence[DocketPanel], place: Box) -> float:
        """A piece with its letters and what is said of it; where the words end."""
        piece = next((each.piece for each in panels if each.piece), None)
        flow = _Flow(page, place.x + DETAIL[0] + 3, place.y + place.height, place.width - DETAIL[0] - 3)
        flow.say(name, PLAIN + 1, bold=True)
        if panels[0].panel.part:
            for line in docket_words.of_part(panels, self.lay, self.shown):
                flow.say(line, FINE)
            return flow.y
        if piece is None:
            flow.say("This piece has changed since the lay was tried: cut by the drawing, or try the job again.", FINE)
            return flow.y
        _draw_piece(page, piece, Box(place.x, place.y, *DETAIL))
        for line in docket_words.of_piece(piece, panels, "tracing" if self.docket.stack else "panel", self.shown):
            flow.say(line, FINE)
        return flow.y

    def _words(self, page: PaperPage, y: float) -> float:
        """What to measure, in which order to cut, what is left."""
        flow = _Flow(page, MARGIN, y - 1, page.width - 2 * MARGIN)
        for first, text in self.instructions:
            flow.say(text, PLAIN, first=first)
        return flow.y

    def _cautions(self, page: PaperPage) -> float:
        """At the foot; how high they stand, mm."""
        said = " ".join([*CAUTIONS[:1], *([LAYERS] if self.docket.stack else []), *CAUTIONS[1:]])
        lines = broken(said, 6.5, page.width - 2 * MARGIN - 4)
        tall = 6.5 * POINT * LINE_OF_TYPE * LEADING
        height = tall * len(lines) + 2
        page.line([(MARGIN, MARGIN + height), (page.width - MARGIN, MARGIN + height)], width=0.4)
        for n, line in enumerate(lines):
            page.write(line, MARGIN, MARGIN + height - 1.2 - (n + 0.5) * tall, 6.5, owner="caution")
        return height + 2

    # --- further pages --------------------------------------------------------------------------------------------------

    def _parts(self, scale: float) -> None:
        """Parts of the drawing, enlarged, where a number cannot be read at the scale of the whole."""
        small = [each for each in self.docket.panels if label_of(each, _scaled(each.panel.cut_line, scale)) is None]
        if not small:
            return
        larger = next(
            1 / n
            for n in reversed(SCALES)
            if all(label_of(e, _scaled(e.panel.cut_line, ENLARGED / n)) for e in small) or n == 1
        )
        size = self.paper
        place = Box(MARGIN, MARGIN + 14, size.width - 2 * MARGIN, size.height - 2 * MARGIN - 14 - self.head_height[size.width])
        views = list(_views([each.panel.cut_line for each in small], place.width / larger, place.height / larger))
        for number, view in enumerate(views, start=1):
            page = self.papers.page(size)
            self._head(page, f"part {number} of {len(views)}, enlarged")
            draw_sheet(page, self.docket, place, larger, view=view)
            page.scale_bar(MARGIN, MARGIN + 9, larger, self.shown.heading)
            draw_key(page, [self.docket], MARGIN, MARGIN + 4)

    def _chalk_pages(self) -> None:
        """The chalk measures on pages of their own, which have room for so many rows each."""
        left = list(self.rows)
        while left:
            page = self.papers.page(self.paper)
            y = self._head(page, "where to chalk each panel")
            fits = chalk_table.rows_that_fit(y - MARGIN - 6)
            chalk_table.draw(page, left[:fits], self.shown, MARGIN, y - 2, page.width - 2 * MARGIN)
            left = left[fits:]


def _views(shapes: Sequence[Polygon], width: float, height: float) -> Iterator[Box]:
    """Parts of the cloth of that size, such that each shape lies wholly in one: the lowest that is left begins a row of parts,
    the leftmost of those that go into that row begins a part."""
    left = [shape.bounds for shape in shapes]
    rim = 2.0
    while left:
        low = min(bounds[1] for bounds in left) - rim
        row = [bounds for bounds in left if bounds[3] <= low + height - rim] or left[:1]
        while row:
            start = min(bounds[0] for bounds in row) - rim
            part = [bounds for bounds in row if bounds[2] <= start + width - rim] or row[:1]
            yield Box(start, low, width, height)
            row = [bounds for bounds in row if bounds not in part]
            left = [bounds for bounds in left if bounds not in part]


def _scaled(shape: Polygon, scale: float) -> Polygon:
    return affine_transform(shape, (scale, 0, 0, scale, 0, 0))


def _draw_piece(page: PaperPage, piece: Piece, place: Box) -> None:
    """A piece as it is drawn in the pattern, with the letters of its marks outside it."""
    from nesting import marks_of
    from stash.piece_lines import notch_ticks

    rim = 4.2
    left, low, right, high = piece.cut_line.bounds
    scale = min((place.width - 2 * rim) / (right - left), (place.height - 2 * rim) / (high - low), 1.0)
    x = place.x + (place.width - (right - left) * scale) / 2 - left * scale
    y = place.y + (place.height - (high - low) * scale) / 2 - low * scale
    to_page = (scale, 0.0, 0.0, scale, x, y)
    cut = affine_transform(piece.cut_line, to_page)
    page.shape(cut, line=1.0, fill=PALE)
    page.shape(affine_transform(piece.sewing_line, to_page), line=0.5, dashes=SEWING, layer=1.1)
    for tick in notch_ticks(piece):
        page.line(affine_transform(LineString(tick), to_page).coords, width=1.2, layer=1.3)
    tail, head = grain_line(cut, middle_of(cut), 0.0)
    page.arrow(tail, head, both=not piece.one_way)
    within = Polygon.from_bounds(place.x - 1, place.y - 1, place.x + place.width + 2, place.y + place.height + 1)
    letter_corners(page, marks_of(piece.cut_line, small=True), to_page, cut, within)
