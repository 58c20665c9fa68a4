"""Packings of which the optimum is known, as data, each with its source, and cases made of them.

Lengths are bare units. Where a figure is said to be from memory it was recalled, not read; *calc* means that it was computed
exactly: a bound that is met, or one copy more proved infeasible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting import Case, Panel, Ring, Sheet


def rectangle(length: float, width: float) -> Ring:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


@dataclass(frozen=True)
class EqualRectangles:
    """As many a × b as go into length × width, quarter turns allowed."""

    length: int
    width: int
    a: int
    b: int
    most: int

    @property
    def by_area(self) -> int:
        return self.length * self.width // (self.a * self.b)

    def case(self) -> Case:
        """The container as a sheet, and as many copies wanted as its area could hold."""
        panel = Panel("r", rectangle(self.a, self.b), copies=self.by_area, turns=(0.0, 90.0))
        return Case((panel,), (Sheet("s", rectangle(self.length, self.width)),))


EQUAL_RECTANGLES = tuple(
    EqualRectangles(*row)
    for row in (
        (40, 25, 7, 3, 47),
        (49, 28, 8, 3, 57),
        (43, 26, 7, 3, 53),
        (52, 33, 9, 4, 47),
        (56, 52, 12, 5, 48),
        (57, 44, 12, 5, 41),
        (42, 31, 9, 4, 35),
        (86, 52, 15, 11, 26),
        (32, 22, 5, 4, 34),
        (32, 27, 5, 4, 42),
        (37, 30, 8, 3, 45),
        (40, 26, 7, 4, 36),
    )
)
"""Sizes recalled from the pallet-loading literature (from memory); the most are calc."""

LESS_THAN_BY_AREA = ((42, 31), (86, 52))
"""The containers of which the area alone promises one more than there is room for."""


def barnes_waste(length: int, width: int, n: int) -> int:
    """The least area that strips of n × 1 leave over in length × width: min(rs, (n − r)(n − s)), r and s what division leaves.

    F. W. Barnes, Packing the maximum number of m × n tiles in a large p × q rectangle, Discrete Mathematics 26, 1979
    (formula from memory). An a × b rectangle is b strips of a × 1, and a strips of b × 1, so it bounds those too.
    """
    r, s = length % n, width % n
    return min(r * s, (n - r) * (n - s))


@dataclass(frozen=True)
class SquaredRectangle:
    """A rectangle that can be cut into these squares, all different, without waste."""

    length: int
    width: int
    sides: tuple[int, ...]

    def case(self) -> Case:
        panels = tuple(Panel(f"q{side}", rectangle(side, side), copies=1, turns=(0.0,)) for side in self.sides)
        return Case(panels, (Sheet("s", rectangle(self.length, self.width)),))


SQUARED_RECTANGLES = (
    # Z. Moroń, 1925 (from memory; checked by search in the tests).
    SquaredRectangle(33, 32, (1, 4, 7, 8, 9, 10, 14, 15, 18)),
    # A. J. W. Duijvestijn, J. Combinatorial Theory B 25, 1978: the least perfect square (from memory; its area is checked).
    SquaredRectangle(112, 112, (2, 4, 6, 7, 8, 9, 11, 15, 16, 17, 18, 19, 24, 25, 27, 29, 33, 35, 37, 42, 50)),
)

UNIT_SQUARES = {
    5: 2 + math.sqrt(0.5),
    6: 3.0,
    7: 3.0,
    8: 3.0,
    10: 3 + math.sqrt(0.5),
    14: 4.0,
    15: 4.0,
    24: 5.0,
}
"""The side of the least square that holds n unit squares at any angle: E. Friedman, *Packing Unit Squares in Squares*,
Electronic Journal of Combinatorics, Dynamic Survey 7 (proved values)."""


def unit_squares(n: int, side: float) -> Case:
    """n squares of side 100 wanted on a square sheet, at any angle."""
    panel = Panel("u", rectangle(100.0, 100.0), copies=n, turns=(0.0,), off_grain=45.0)
    return Case((panel,), (Sheet("s", rectangle(100.0 * side, 100.0 * side)),))


@dataclass(frozen=True)
class SmallStrip:
    """The first `kinds` pieces of an instance, `each` of each, on a strip: the least length without turns."""

    instance: str
    kinds: int | None
    each: int
    width: float
    on_grid: float
    continuous: float | None

    def least(self) -> float:
        """The least length that any lay can have, to the digits that are known."""
        return self.on_grid if self.continuous is None else self.continuous


SMALL_STRIPS = (
    SmallStrip("shapes0", None, 1, 13.0, 24.0, None),
    SmallStrip("shapes0", None, 2, 20.0, 26.0, None),
    SmallStrip("fu", 5, 1, 38.0, 18.0, 17.89),
    SmallStrip("blaz", None, 1, 15.0, 8.0, 7.4),
)
"""Instances of ESICUP (CC0). `on_grid`: with all coordinates whole, calc, proved by CP-SAT; a lay off the grid may be shorter.
`continuous`: R. Alvarez-Valdes, A. Martinez and J. M. Tamarit, International Journal of Production Economics 145, 2013
(from memory; that of blaz about)."""
