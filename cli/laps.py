"""Where the pages of a drawing lap: how far the next lies over it, which that is, the crosses that meet if it lies right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .papers import GREY, PaperPage, Where, text_size
from .tiles import Tile, Tiles

if TYPE_CHECKING:
    from shapely import Polygon

SMALL = 7.0  # points
CROSS = 4.0  # mm


@dataclass(frozen=True)
class Lap:
    """Where a page laps over a neighbour: the line that is drawn there, how far it runs from its middle to its end, and the
    middle of the lap. A page is trimmed along its near and left laps."""

    other: Tile
    trims: bool
    line: tuple[Where, Where]
    middle: Where
    reach: Where

    def at(self, share: float) -> Where:
        """A place along the lap: 0 is its middle, 1 and -1 are its ends."""
        return self.middle[0] + share * self.reach[0], self.middle[1] + share * self.reach[1]


def laps_of(found: Tiles, tile: Tile) -> Iterator[Lap]:
    """The laps of a page: to the left and right, then near and far."""
    window, lap = found.window, found.overlap
    right, top = window.x + window.width, window.y + window.height
    for columns, rows in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = found.beside(tile, columns, rows)
        if other is None:
            continue
        trims = columns + rows < 0
        if columns:
            x = window.x if trims else right - lap
            middle = x + lap / 2, (window.y + top) / 2
            yield Lap(other, trims, ((x, window.y), (x, top)), middle, (0.0, window.height / 2))
        else:
            y = window.y if trims else top - lap
            middle = (window.x + right) / 2, y + lap / 2
            yield Lap(other, trims, ((window.x, y), (right, y)), middle, (window.width / 2, 0.0))


def draw_lap(page: PaperPage, one: Lap, lap: float, before: int, crosses: Sequence[Polygon]) -> None:
    """Where to trim the page or how far its neighbour reaches, and which page that is, where there is room for the words: in
    the middle, or beside what stands there. `before`: pages before its own."""
    page.line(one.line, width=0.5, dashes="-" if one.trims else (0, (6, 6)), edge=GREY, layer=3.0)
    if lap < 5:
        return
    number = one.other.number + before
    text = f"trim here, lay on page {number}" if one.trims else f"page {number} lies on this"
    turn = 90.0 if one.reach[1] else 0.0
    for share in (0.0, 0.24, -0.24, 0.72, -0.72):
        at = one.at(share)
        room = room_of(text, SMALL, at, turn)
        if not any(room.intersects(other) for other in (*crosses, *(word.room for word in page.words))):
            page.write(text, *at, SMALL, centred=True, backed=True, owner="lap", turn=turn, layer=5.5)
            return


def room_of(text: str, size: float, middle: Where, turn: float = 0.0) -> Polygon:
    """The box that a word fills about its middle."""
    from shapely.affinity import rotate
    from shapely.geometry import box

    x, y = middle
    wide, tall = text_size(text, size)
    return rotate(box(x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2), turn, origin="center")


def draw_cross(page: PaperPage, at: Where) -> None:
    """A mark that must meet that of the neighbour."""
    x, y = at
    page.line([(x - CROSS / 2, y), (x + CROSS / 2, y)], width=0.6, layer=4.0)
    page.line([(x, y - CROSS / 2), (x, y + CROSS / 2)], width=0.6, layer=4.0)
