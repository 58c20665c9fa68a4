"""A plain reference: the most copies of a panel that squared cloth with a stripe or check can have, by looking at every lay.

As `enumerate_lays`: cloth and panels are made of unit cells, gap and edge are nought. A repeat, its place and the anchor are
whole numbers too. Along a free direction a lay may be pushed onto the cells; in a matched one it lies on them by the repeat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from tests.nesting.enumerate_lays import Cell, Cells


@dataclass(frozen=True)
class Lying:
    """A panel turned one way: its cells, the least of them in each direction 0, and its anchor."""

    cells: Cells
    anchor: Cell


@dataclass(frozen=True)
class Stripe:
    """A repeat along and across, 0 where there is none, and a bar."""

    along: int
    across: int
    at: Cell = (0, 0)

    def takes(self, x: int, y: int) -> bool:
        on_x = self.along == 0 or (x - self.at[0]) % self.along == 0
        return on_x and (self.across == 0 or (y - self.at[1]) % self.across == 0)


def rectangle_lying(length: int, width: int, anchor: Cell) -> tuple[Lying, Lying]:
    """A rectangle as drawn and turned head to foot."""
    cells = frozenset((x, y) for x in range(length) for y in range(width))
    return Lying(cells, anchor), Lying(cells, (length - anchor[0], width - anchor[1]))


def most_matched(cloth: Cells, ways: Sequence[Lying], stripe: Stripe) -> int:
    """The most copies that lie on the cloth, apart from each other, each with its anchor on a bar."""
    places = []
    for x0, y0 in sorted({(x, y) for x, y in cloth}):
        for way in ways:
            here = frozenset((x0 + a, y0 + b) for a, b in way.cells)
            if here <= cloth and stripe.takes(x0 + way.anchor[0], y0 + way.anchor[1]):
                places.append(here)
    by_first: dict[Cell, list[Cells]] = {}
    for place in set(places):
        by_first.setdefault(min(place), []).append(place)

    @cache
    def most(free: Cells) -> int:
        starts = [cell for cell in by_first if cell in free]
        if not starts:
            return 0
        first = min(starts)
        best = most(frozenset(cell for cell in free if cell > first))
        for place in by_first[first]:
            if place <= free:
                best = max(best, 1 + most(frozenset(cell for cell in free - place if cell > first)))
        return best

    return most(cloth)
