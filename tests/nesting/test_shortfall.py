"""Why a lay falls short: the stated cause against the truth, which enumeration of every lay gives."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
import shapely

from nesting import Case, Panel, Result, Ring, Sheet, ring_of, solve
from nesting.shortfall import Cause, too_little, why_short

from .enumerate_lays import Cells, half_turned, most_copies, rectangle_cells

CELL = 30.0  # mm
STEP: Cells = frozenset({(0, 0), (1, 0), (2, 0), (0, 1)})  # like an L: head and foot differ
HOOK: Cells = frozenset({(0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (0, 2)})
BAR = rectangle_cells(3, 1)
BLOCK = rectangle_cells(2, 2)


def ring(cells: Cells) -> Ring:
    shape = shapely.union_all([shapely.box(x * CELL, y * CELL, (x + 1) * CELL, (y + 1) * CELL) for x, y in cells])
    assert isinstance(shape, shapely.Polygon)
    assert not shape.interiors
    return ring_of(shape)


def less(cells: Cells, *bites: tuple[int, int, int, int]) -> Cells:
    """Cells without some rectangles (x, y, length, width)."""
    return cells - {(x + a, y + b) for x, y, length, width in bites for a in range(length) for b in range(width)}


@dataclass(frozen=True)
class Short:
    """Copies of a panel wanted on some sheets, all of them squared; `rounds` that the search was given."""

    panel: Cells
    wanted: int
    sheets: tuple[Cells, ...]
    one_way: bool = False
    nap: bool = False
    begun: int | None = None
    """Copies that the search has found; all that can be had unless given."""

    def case(self) -> Case:
        panel = Panel("p", ring(self.panel), self.wanted, turns=(0.0,) if self.one_way else (0.0, 180.0))
        turns = (0.0,) if self.nap else None
        return Case((panel,), tuple(Sheet(f"s{n}", ring(cells), turns=turns) for n, cells in enumerate(self.sheets)))

    def most(self, *, free: bool = False) -> int:
        ways = [self.panel] if (self.one_way or self.nap) and not free else [self.panel, half_turned(self.panel)]
        return most_copies(self.sheets, ways)

    def truth(self) -> Cause:
        need = self.wanted * len(self.panel)
        if need > sum(map(len, self.sheets)):
            return Cause.LITTLE
        if self.most() >= self.wanted:
            return Cause.TIME
        if self.most(free=True) >= self.wanted:
            return Cause.TURN
        ways = [self.panel] if self.one_way or self.nap else [self.panel, half_turned(self.panel)]
        if need > sum(len(sheet) for sheet in self.sheets if most_copies([sheet], ways)):
            return Cause.SMALL
        return Cause.BOUND


# Ten in which two causes look alike (the second half of the name), then five plain ones.
SHORTAGES = {
    "little, not bound: enough but for one cell": Short(BLOCK, 4, (less(rectangle_cells(8, 2), (7, 1, 1, 1)),)),
    "bound, not little: area to spare, but in odd rims": Short(BLOCK, 4, (rectangle_cells(5, 3), rectangle_cells(3, 3))),
    "small, not little: much cloth in narrow strips": Short(BLOCK, 4, (*(rectangle_cells(20, 1),) * 3, rectangle_cells(4, 2))),
    "small, not bound: one is large enough and holds its share": Short(BAR, 7, (rectangle_cells(6, 3), rectangle_cells(2, 9))),
    "small, not turn: one way, but neither way finds a place": Short(HOOK, 1, (rectangle_cells(3, 9),), one_way=True),
    "turn, not small: the hook goes in only head to foot": Short(
        HOOK, 1, (less(rectangle_cells(4, 3), (0, 0, 1, 1)),), nap=True
    ),
    "turn, not bound: two steps make a block": Short(STEP, 4, (rectangle_cells(4, 4),), one_way=True),
    "turn of the nap, not of the piece": Short(STEP, 2, (rectangle_cells(4, 2), rectangle_cells(2, 2)), nap=True),
    "bound, not turn: free, it is one more and still too few": Short(STEP, 5, (rectangle_cells(5, 4),), one_way=True),
    "time, not turn: one way will do, and was not found": Short(STEP, 2, (rectangle_cells(3, 4),), one_way=True, begun=1),
    "time, not bound": Short(BLOCK, 8, (rectangle_cells(4, 8),), begun=3),
    "little": Short(BAR, 9, (rectangle_cells(4, 3), rectangle_cells(3, 3))),
    "small": Short(rectangle_cells(4, 2), 2, (rectangle_cells(3, 5), rectangle_cells(2, 9))),
    "turn": Short(HOOK, 2, (rectangle_cells(5, 3),), one_way=True),
    "bound": Short(BLOCK, 9, (rectangle_cells(5, 5), rectangle_cells(5, 5))),
}


LONG = {"bound, not little: area to spare, but in odd rims", "bound, not turn: free, it is one more and still too few"}
"""Proofs that take some seconds each: the slow tier has them."""


@pytest.mark.parametrize("name", [pytest.param(n, marks=pytest.mark.slow) if n in LONG else n for n in SHORTAGES])
def test_the_stated_cause_is_the_true_one(name: str) -> None:
    short = SHORTAGES[name]
    assert str(short.truth()) == name.split(",")[0].split(":")[0].split(" ")[0], "the case itself is constructed wrongly"
    case = short.case()
    found = solve(case, rounds=20, seed=1)
    if short.begun is None:
        assert found.placed == short.most()
    else:  # the search as it would stand, had it been stopped then
        found = replace(found, placements=found.placements[: short.begun], placed=short.begun, bound=None, complete=False)
    said = why_short(case, found)
    assert said.cause is short.truth()
    assert said.proved == (said.cause is not Cause.TIME)
    if said.bound is not None:
        assert said.bound >= short.most()
    assert (said.turned is not None) == (said.cause is Cause.TURN)


def test_of_several_panels_the_group_that_has_too_little_is_named() -> None:
    """Enough cloth in all, but the one sheet that will do for the two large ones holds less than they are."""
    panels = (
        Panel("small", ring(BAR), 2),
        Panel("collar", ring(BLOCK), 2, on=("silk",)),
        Panel("cuff", ring(BLOCK), 2, on=("silk",)),
    )
    sheets = (Sheet("silk", ring(rectangle_cells(5, 3))), Sheet("linen", ring(rectangle_cells(9, 9))))
    case = Case(panels, sheets)
    assert too_little(case) == (1, 2)
    said = why_short(case, Result())
    assert (said.cause, said.panels) == (Cause.LITTLE, ("collar", "cuff"))
    assert said.area == pytest.approx(15 * CELL**2)
    assert said.needed == pytest.approx(16 * CELL**2)


def test_a_lay_that_lacks_nothing_is_no_shortage() -> None:
    case = Short(BLOCK, 1, (rectangle_cells(2, 2),)).case()
    with pytest.raises(ValueError, match="lacks copies"):
        why_short(case, solve(case, rounds=1))


def test_a_place_taken_by_a_fault_is_no_place() -> None:
    hole = ring(rectangle_cells(2, 2))
    case = Case((Panel("p", ring(BLOCK), 1),), (Sheet("s", ring(rectangle_cells(3, 3)), holes=(hole,)),))
    assert why_short(case, Result()).cause is Cause.SMALL
