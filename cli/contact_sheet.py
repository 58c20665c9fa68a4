"""The bin to look at: its remnants on pages of paper, all at one scale, in the order of the list, each with a grid to measure
by and the newest photograph of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .papers import POINT, Box, Paper, PaperPage, Papers, shortened, text_size
from .pictures import LEADING, LINE, SCALES, SMALL, TITLE, RemnantDrawn, draw_fault, draw_key, name_fault
from .shown import Shown

if TYPE_CHECKING:
    from shapely.geometry import LineString, Polygon

FREE, FOOT, SPACE = 10.0, 18.0, 7.0  # mm
PHOTOGRAPH = (34.0, 26.0)
FAINT = "#9a9a9a"
WORDS = 46.0
"""mm: words of a remnant take no more, unless it is wider itself."""
MOST_ON_A_PAGE = 12
"""Remnants: with more, scraps are too small to look at."""
STEPS = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
INCHES = tuple(25.4 * inches for inches in (1, 2, 4, 6, 12, 36))
LEAST_STEP = 5.0
"""mm of page between two lines of a grid."""


@dataclass(frozen=True)
class Item:
    """A remnant, and the file of its photograph, if there is one."""

    drawn: RemnantDrawn
    photograph: Path | None = None


@dataclass(frozen=True)
class Block:
    """The room of an item at a scale: of its words, of its outline, of its photograph."""

    item: Item
    words: tuple[tuple[str, float, bool], ...]
    size: tuple[float, float]


def contact_sheet(title: str, about: str, items: Sequence[Item], paper: Paper, shown: Shown) -> Papers:
    """Remnants in order, on as many pages as they need; all at the largest scale at which they are set out well."""
    scale = next((n for n in SCALES if _well_set_out(items, n, paper)), SCALES[-1])
    pages = list(_pages([_block(item, scale, paper) for item in items], paper))
    papers = Papers(title)
    step = next((step for step in (INCHES if shown.in_inches else STEPS) if step / scale >= LEAST_STEP), STEPS[-1])
    for number, placed in enumerate(pages, 1):
        page = papers.page(paper)
        if number == 1:
            page.write(title, FREE, page.height - FREE - 3, TITLE, bold=True)
            page.write(about, FREE, page.height - FREE - 9, LINE)
        for block, (x, y) in placed:
            _draw(page, block, x, y, scale, step)
        _foot(page, [block.item.drawn for block, _ in placed], scale, step, shown, f"page {number} of {len(pages)}")
    return papers


def _head(first: bool) -> float:
    return 15.0 if first else 0.0


def _room(paper: Paper) -> tuple[float, float]:
    return paper.width - 2 * FREE, paper.height - 2 * FREE - FOOT


def _well_set_out(items: Sequence[Item], n: float, paper: Paper) -> bool:
    """Whether each fits on a page, and they take no more pages than so many remnants should."""
    wide, tall = _room(paper)
    blocks = [_block(item, n, paper) for item in items]
    if any(block.size[0] > wide or block.size[1] > tall - _head(True) for block in blocks):
        return False
    return sum(1 for _ in _pages(blocks, paper)) <= math.ceil(len(items) / MOST_ON_A_PAGE)


def _block(item: Item, n: float, paper: Paper) -> Block:
    left, low, right, high = item.drawn.outline.bounds
    wide, tall = (right - left) / n, (high - low) / n
    if item.photograph is not None:
        wide, tall = wide + 2 + PHOTOGRAPH[0], max(tall, PHOTOGRAPH[1])
    told = [(item.drawn.title, LINE, True), *((note, SMALL, False) for note in item.drawn.notes)]
    room = min(max(wide, WORDS), _room(paper)[0])
    words = tuple((shortened(text, size, room, bold), size, bold) for text, size, bold in told)
    widest = max(text_size(*each)[0] for each in words)
    return Block(item, words, (max(wide, widest), tall + 1.5 + sum(size * LEADING * POINT for _, size, _ in words)))


def _pages(blocks: Sequence[Block], paper: Paper) -> Iterator[list[tuple[Block, tuple[float, float]]]]:
    """Blocks in rows, level at the top, page by page, with the upper left corner of each."""
    wide, _ = _room(paper)
    page: list[tuple[Block, tuple[float, float]]] = []
    top = paper.height - FREE - _head(True)
    for row in _rows(blocks, wide):
        tall = max(block.size[1] for block in row)
        if page and top - tall < FREE + FOOT:
            yield page
            page, top = [], paper.height - FREE
        x = FREE
        for block in row:
            page.append((block, (x, top)))
            x += block.size[0] + SPACE
        top -= tall + SPACE
    if page:
        yield page


def _rows(blocks: Sequence[Block], wide: float) -> Iterator[list[Block]]:
    row: list[Block] = []
    for block in blocks:
        if row and sum(other.size[0] + SPACE for other in row) + block.size[0] > wide:
            yield row
            row = []
        row.append(block)
    if row:
        yield row


# --- one remnant ---------------------------------------------------------------------------------------------------------


def _draw(page: PaperPage, block: Block, x: float, top: float, n: float, step: float) -> None:
    """Its words, under them its outline with the grid and its faults, and beside that its photograph."""
    from shapely.affinity import affine_transform

    drawn = block.item.drawn
    for text, size, bold in block.words:
        page.write(text, x, top - size * LEADING * POINT / 2, size, bold=bold, owner=drawn.title)
        top -= size * LEADING * POINT
    top -= 1.5
    left, _, right, high = drawn.outline.bounds
    to_page = (1 / n, 0.0, 0.0, 1 / n, x - left / n, top - high / n)
    outline = affine_transform(drawn.outline, to_page)
    for line in grid(drawn.outline, step):
        page.line(affine_transform(line, to_page).coords, width=0.25, edge=FAINT, layer=1.5)
    page.shape(outline, line=1.4, layer=2.0)
    for fault in drawn.faults:
        draw_fault(page, fault, to_page)
    for fault in drawn.faults:
        name_fault(page, fault, to_page, outline, [])
    if block.item.photograph is not None:
        wide, tall = PHOTOGRAPH
        page.photograph(block.item.photograph, Box(x + (right - left) / n + 2, top - tall, wide, tall))


def grid(outline: Polygon, step: float) -> Iterator[LineString]:
    """The lines of a grid within an outline, counted from its left and its near edge.

    >>> from shapely import box
    >>> [line.length for line in grid(box(5, 5, 255, 105), 100)]
    [100.0, 100.0]
    """
    from shapely.geometry import LineString

    left, low, right, high = outline.bounds
    lines = [LineString([(left + k * step, low), (left + k * step, high)]) for k in _counted(right - left, step)]
    lines += [LineString([(left, low + k * step), (right, low + k * step)]) for k in _counted(high - low, step)]
    for line in lines:
        within = line.intersection(outline)
        yield from (part for part in getattr(within, "geoms", [within]) if part.geom_type == "LineString" and part.length)


def _counted(reach: float, step: float) -> range:
    return range(1, math.ceil(reach / step - 1e-9))


def _foot(page: PaperPage, drawn: Sequence[RemnantDrawn], n: float, step: float, shown: Shown, number: str) -> None:
    page.scale_bar(FREE, FREE + 3, 1 / n, shown.heading)
    squares = shown.fine(round(step, 3)) if shown.in_inches else f"{step / 10:g} cm"
    page.write(f"squares of {squares}, counted from the left and the near edge", FREE, FREE + 8, SMALL)
    draw_key(page, drawn, FREE, FREE + 13)
    page.write(number, page.width - FREE, FREE + 3, SMALL, right=True)
