"""A plain reference: the most copies that squared panels can ever have on squared sheets, by looking at every lay.

Panels and sheets are made of unit squares (cells), gap and edge are nought. Where a panel fills a sheet's rows and columns
cell by cell it may be taken to lie on cells: pushed down and to the left, a lay of such shapes whose rims are whole numbers
ends on whole numbers (each panel is stopped by the rim or by one that was stopped before it).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache

Cell = tuple[int, int]
Cells = frozenset[Cell]


def rectangle_cells(length: int, width: int) -> Cells:
    return frozenset((x, y) for x in range(length) for y in range(width))


def half_turned(cells: Iterable[Cell]) -> Cells:
    return _to_corner([(-x, -y) for x, y in cells])


def quarter_turned(cells: Iterable[Cell]) -> Cells:
    return _to_corner([(-y, x) for x, y in cells])


def _to_corner(cells: Sequence[Cell]) -> Cells:
    low_x, low_y = min(x for x, _ in cells), min(y for _, y in cells)
    return frozenset((x - low_x, y - low_y) for x, y in cells)


def most_copies(sheets: Sequence[Cells], ways: Sequence[Cells]) -> int:
    """The most copies of a panel that may lie in any of these ways."""
    return sum(_most(sheet, tuple(dict.fromkeys(ways))) for sheet in sheets)


@cache
def _most(free: Cells, ways: tuple[Cells, ...]) -> int:
    """Take the first free cell: it stays empty, or a panel's first cell lies on it."""
    if not free:
        return 0
    x, y = min(free)
    best = _most(free - {(x, y)}, ways)
    for way in ways:
        first = min(way)
        here = frozenset((x + a - first[0], y + b - first[1]) for a, b in way)
        if here <= free:
            best = max(best, 1 + _most(free - here, ways))
    return best
