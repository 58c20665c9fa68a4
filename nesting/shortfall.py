"""Why a lay falls short: which of six causes is the true one, each told apart by what would have to be otherwise.

In this order, so that no cause is named while a plainer one holds:
1. *little*: all the sheets together have less area than the panels, or those that will do for some of the panels have less
   than these. No cutting, however clever, could do it.
2. *turn*: the panels may not be turned head to foot, and with that turn free a lay of all of them is found.
3. *hand*: the panels may not be turned over, and with that free a lay of all of them is found.
4. *small*: there is area enough, but not on sheets on which a panel has a place at all.
5. *bound*: it is proved that the sheets cannot hold all.
6. *time*: none of these: the search has found no lay of all, and nobody has shown that there is none.

That a panel has a place on a sheet, and that a turn would do, is found by laying it; that there is too little, or that no
more can be had, is proved.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from typing import Protocol

from shapely import Polygon

from .clearances import sheet_cost
from .forms import Case, Panel, Result, Sheet
from .turns import may_be_turned

HALF_TURN = 180.0
ROUNDING = 1e-9
"""The share of itself by which an area is taken larger before it is said to be too little."""
MANY_PANELS = 10
"""Up to so many panels all groups of them are looked at, beyond that each alone and all together."""
LOOKED_INTO = 400
"""The most sheets, times panels, of which places are worked out; of more it is asked only whether a panel's box goes in."""
PROBE_ROUNDS = 40
"""Rounds for finding out whether a turn would do, of about a tenth of a second."""
PROOF_EFFORT = 4.0
"""Seconds or so for the last attempt at a proof."""


class Cause(StrEnum):
    """Why not all panels are in the lay."""

    LITTLE = "little"
    TURN = "turn"
    HAND = "hand"
    SMALL = "small"
    BOUND = "bound"
    TIME = "time"


@dataclass(frozen=True, slots=True)
class Shortfall:
    """The cause. `proved`: that the case allows no lay of all panels. `bound`: the most copies that are proved possible.

    `panels`: of which the cause speaks (all that lack copies, but for *little* and *small* those that have too little).
    `area`, `needed`: mm² of the sheets that will do for these, and of their copies. `turned`: with *turn* and *hand*, the lay
    with that free, which is legal but for that.
    """

    cause: Cause
    proved: bool
    bound: int | None
    panels: tuple[str, ...]
    area: float
    needed: float
    turned: Result | None = None


class Solver(Protocol):
    """`nesting.solve`, or what stands in for it."""

    def __call__(
        self,
        case: Case,
        *,
        seconds: float = 10.0,
        rounds: int | None = None,
        seed: int = 0,
        workers: int = 1,
        on_better: Callable[[Result], None] | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> Result: ...


def why_short(
    case: Case, result: Result, *, workers: int = 1, rounds: int = PROBE_ROUNDS, effort: float = PROOF_EFFORT,
    solver: Solver | None = None,
) -> Shortfall:  # fmt: skip
    """The true cause why `result` lacks copies of the case's panels. Raises ValueError where it lacks none, or for a strip."""
    lacking = lacking_panels(case, result)
    if case.strip is not None or not lacking:
        raise ValueError("only a lay on sheets that lacks copies falls short")
    if (group := too_little(case)) is not None:
        return _of_group(case, group, Cause.LITTLE)
    cause, turned = Cause.TURN, turned_free(case, lacking, rounds=rounds, workers=workers, solver=solver)
    if turned is None:
        cause, turned = Cause.HAND, turned_over_free(case, rounds=rounds, workers=workers, solver=solver)
    places = Places(case)
    group = places.too_little()
    if turned is not None:
        bound = None if group is not None else _bound(case, result, effort)
        proved = bound is None or bound < _wanted(case)
        # Where nothing shows that as it is it is too few, the search is given as long again as it had with the turn free.
        if not proved and complete(case, rounds=rounds, workers=workers, solver=solver).complete:
            return _shortfall(case, Cause.TIME, False, bound, lacking)
        return _shortfall(case, cause, proved, bound, lacking, turned)
    if group is not None:
        return _of_group(case, group, Cause.SMALL, places)
    bound = _bound(case, result, effort)
    proved = bound < _wanted(case)
    return _shortfall(case, Cause.BOUND if proved else Cause.TIME, proved, bound, lacking)


def lacking_panels(case: Case, result: Result) -> tuple[str, ...]:
    """The ids of the panels of which the lay has fewer copies than are wanted."""
    plies = {sheet.id: sheet.plies for sheet in case.sheets}
    made = {panel.id: 0 for panel in case.panels}
    for placement in result.placements:
        made[placement.panel] += plies[placement.sheet]
    return tuple(panel.id for panel in case.panels if made[panel.id] < panel.copies)


# --- too little ----------------------------------------------------------------------------------------------------------


def too_little(case: Case, places: Callable[[int, int], bool] | None = None) -> tuple[int, ...] | None:
    """The panels (their numbers) whose copies take more area than all the sheets that will do for any of them; None if no
    group does. `places` says of a panel and a sheet whether there is a place at all (all that may be used, unless given).

    Any lay keeps every such sum, so that a group that breaks it is a proof (as in Hall's marriage theorem).
    """
    numbers = [k for k, panel in enumerate(case.panels) if panel.copies]
    groups: list[tuple[int, ...]] = [tuple(numbers)] if numbers else []
    if len(numbers) <= MANY_PANELS:
        groups += [group for size in range(1, len(numbers)) for group in combinations(numbers, size)]
    else:
        groups += [(k,) for k in numbers]
    areas = [Polygon(panel.outline).area for panel in case.panels]
    rooms = [area_of(sheet) for sheet in case.sheets]
    allowed = [
        [
            (panel.on is None or sheet.id in panel.on) and (places is None or places(k, h))
            for h, sheet in enumerate(case.sheets)
        ]
        for k, panel in enumerate(case.panels)
    ]
    for group in groups:
        room = sum(room for h, room in enumerate(rooms) if any(allowed[k][h] for k in group))
        if sum(areas[k] * case.panels[k].copies for k in group) > room * (1 + ROUNDING):
            return group
    return None


def area_of(sheet: Sheet) -> float:
    """The cloth of a sheet, mm², all plies of it."""
    return sheet_cost(replace(sheet, cost=None))


class Places:
    """On which sheets a panel has a place at all: its box first and, where the sheets are not too many, the place itself."""

    def __init__(self, case: Case) -> None:
        from .instance import Instance

        self.case = case
        self._instance = Instance(case)
        self._known: dict[tuple[int, int], bool] = {}
        self._look = len(case.sheets) * len(case.panels) <= LOOKED_INTO

    def has(self, panel: int, sheet: int) -> bool:
        if (panel, sheet) not in self._known:
            self._known[panel, sheet] = self._has(self.case.panels[panel], panel, self.case.sheets[sheet])
        return self._known[panel, sheet]

    def _has(self, panel: Panel, number: int, sheet: Sheet) -> bool:
        if panel.on is not None and sheet.id not in panel.on:
            return False
        xs, ys = zip(*sheet.outline, strict=True)
        length, width = max(xs) - min(xs) - 2 * self.case.edge, max(ys) - min(ys) - 2 * self.case.edge
        for s in self._instance.of_panel[number]:
            shape = self._instance.shapes[s]
            hair = 2 * self._instance.lie
            box = 2 * shape.half[0] <= length + hair and 2 * shape.half[1] <= width + hair
            allowed = may_be_turned(shape.turn, panel, sheet)
            if box and allowed and (not self._look or self._instance.room(sheet, s) is not None):
                return True
        return False

    def too_little(self) -> tuple[int, ...] | None:
        """As the function of that name, of the sheets with a place."""
        return too_little(self.case, self.has)


# --- turned head to foot -------------------------------------------------------------------------------------------------


def freed(case: Case, panels: Sequence[str]) -> Case | None:
    """The case in which these panels may be turned head to foot, and all of them on any sheet; None if they may already."""
    by_sheet = any(sheet.turns is not None and not _both_ways(sheet.turns) for sheet in case.sheets)
    by_panel = any(not _both_ways(panel.turns, turn) for panel in case.panels if panel.id in panels for turn in panel.turns)
    if not by_sheet and not by_panel:
        return None
    both = tuple(
        replace(panel, turns=tuple(dict.fromkeys(turn % 360 for t in panel.turns for turn in (t, t + HALF_TURN))))
        if panel.id in panels
        else panel
        for panel in case.panels
    )
    sheets = tuple(replace(sheet, turns=None) for sheet in case.sheets)
    return replace(case, panels=both, sheets=sheets)


def _both_ways(turns: Sequence[float], turn: float = 0.0) -> bool:
    return any(abs((other - turn - HALF_TURN + 180) % 360 - 180) < 1e-6 for other in turns)


def turned_free(
    case: Case, lacking: Sequence[str], *, rounds: int, workers: int = 1, solver: Solver | None = None
) -> Result | None:
    """A lay of all copies with the turn head to foot free, if that is another case and one is found."""
    other = freed(case, [panel.id for panel in case.panels])
    if other is None:
        return None
    found = complete(other, rounds=rounds, workers=workers, solver=solver)
    return found if found.complete else None


def turned_over_free(case: Case, *, rounds: int, workers: int = 1, solver: Solver | None = None) -> Result | None:
    """A lay of all copies where every panel may be turned over, if that is another case and one is found."""
    if all(panel.flip for panel in case.panels):
        return None
    over = replace(case, panels=tuple(replace(panel, flip=True) for panel in case.panels))
    found = complete(over, rounds=rounds, workers=workers, solver=solver)
    return found if found.complete and any(placement.flipped for placement in found.placements) else None


def complete(case: Case, *, rounds: int, workers: int = 1, solver: Solver | None = None) -> Result:
    """The best lay of so many rounds; it ends as soon as all copies are in."""
    if solver is None:
        from .solving import solve

        solver = solve
    done = False

    def better(result: Result) -> None:
        nonlocal done
        done = done or result.complete

    return solver(case, rounds=rounds, workers=workers, on_better=better, stop=lambda: done)


# --- putting it together -------------------------------------------------------------------------------------------------


def _wanted(case: Case) -> int:
    return sum(panel.copies for panel in case.panels)


def _bound(case: Case, result: Result, effort: float) -> int:
    from .bounds import bound_copies

    if result.bound is not None and result.bound < _wanted(case):
        return result.bound
    return min(bound_copies(case, effort, found=result.placed).most, _wanted(case) if result.bound is None else result.bound)


def _of_group(case: Case, group: Sequence[int], cause: Cause, places: Places | None = None) -> Shortfall:
    names = tuple(case.panels[k].id for k in group)
    found = _shortfall(case, cause, True, None, names)
    if places is None:
        return found
    area = sum(area_of(sheet) for h, sheet in enumerate(case.sheets) if any(places.has(k, h) for k in group))
    return replace(found, area=area)


def _shortfall(
    case: Case, cause: Cause, proved: bool, bound: int | None, names: Sequence[str], turned: Result | None = None
) -> Shortfall:
    mine = [panel for panel in case.panels if panel.id in names]
    area = sum(area_of(sheet) for sheet in case.sheets if any(panel.on is None or sheet.id in panel.on for panel in mine))
    needed = sum(Polygon(panel.outline).area * panel.copies for panel in mine)
    return Shortfall(cause, proved, bound, tuple(names), area, needed, turned)
