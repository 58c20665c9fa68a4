"""A drawing of any size on pages of one size: which part of it stands on which page, each lapping over the next.

Pages are numbered as one reads, from the far left to the near right; those on which nothing of the drawing stands are left
out. All lengths are mm; the drawing's own coordinates are kept, so that its true scale is kept too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .papers import Box, Paper

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

FREE = 10.0
"""mm left free at the rim of a page: no printer reaches it (common practice, no source)."""
FOOT = 14.0
"""mm at the foot of a page for its ruler and its words."""
RIM = 2.0
"""mm between a drawing and the rim of the window it stands in, so that no line is cut in half."""
LEAST = 40.0
"""mm of a page that must be new, either way, or a drawing would never end."""


@dataclass(frozen=True, slots=True)
class Tile:
    """A part of a drawing on a page: its number among the pages, its column and row from the near left, and the corner of the
    drawing that stands in the lower left corner of the window."""

    number: int
    column: int
    row: int
    corner: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tiles:
    """Pages that hold a drawing: the paper as it lies, the window of each page that is drawn in, how far windows lap."""

    paper: Paper
    window: Box
    overlap: float
    tiles: tuple[Tile, ...]

    def beside(self, tile: Tile, columns: int, rows: int) -> Tile | None:
        """The page so many columns to the right and rows towards the far edge, if it is there."""
        at = tile.column + columns, tile.row + rows
        return next((other for other in self.tiles if (other.column, other.row) == at), None)

    def part(self, tile: Tile) -> Box:
        """The part of the drawing that stands in a page's window."""
        return Box(*tile.corner, self.window.width, self.window.height)


def window_of(paper: Paper) -> Box:
    """The part of a page that is drawn in."""
    return Box(FREE, FREE + FOOT, paper.width - 2 * FREE, paper.height - 2 * FREE - FOOT)


def tiles(ink: BaseGeometry, paper: Paper, overlap: float) -> Tiles:
    """The pages for all that `ink` covers: upright or on their side, whichever takes fewer. Raises ValueError where so much
    lap leaves too little of a page.

    >>> from shapely import box
    >>> from .papers import paper_named
    >>> found = tiles(box(0, 0, 620, 400), paper_named("A4"), 15.0)
    >>> found.paper.width, len(found.tiles), found.window
    (210, 8, Box(x=10.0, y=24.0, width=190.0, height=263.0))
    """
    ways = [_laid(ink, way, overlap) for way in (paper, paper.broad)]
    return min(ways, key=lambda way: len(way.tiles))


def _laid(ink: BaseGeometry, paper: Paper, overlap: float) -> Tiles:
    from shapely.geometry import box
    from shapely.prepared import prep

    window = window_of(paper)
    step_x, step_y = window.width - overlap, window.height - overlap
    if min(step_x, step_y) < LEAST or overlap < 0:
        raise ValueError(f"laps of {overlap:g} mm leave too little of {paper.name}")
    left, low, right, high = ink.buffer(RIM, join_style="mitre").bounds
    columns, starts_x = _steps(left, right, window.width, step_x)
    rows, starts_y = _steps(low, high, window.height, step_y)
    if columns == rows == 1:
        starts_x, starts_y = left, high - window.height  # the rest of the page is in one piece then
    inked = prep(ink)
    found: list[Tile] = []
    for row, column in _as_one_reads(columns, rows):
        corner = (starts_x + column * step_x, starts_y + row * step_y)
        if inked.intersects(box(*corner, corner[0] + window.width, corner[1] + window.height)):
            found.append(Tile(len(found) + 1, column, row, corner))
    return Tiles(paper, window, overlap, tuple(found))


def _steps(low: float, high: float, window: float, step: float) -> tuple[int, float]:
    """How many windows reach from low to high, and where the first begins for what is left over to lie on both sides."""
    count = max(1, math.ceil((high - low - (window - step)) / step - 1e-9))
    reach = (count - 1) * step + window
    return count, low - (reach - (high - low)) / 2


def _as_one_reads(columns: int, rows: int) -> Iterator[tuple[int, int]]:
    for row in reversed(range(rows)):
        for column in range(columns):
            yield row, column
