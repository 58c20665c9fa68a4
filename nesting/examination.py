"""A lay held against its case with shapely alone: every fault, and how near things come.

Independent of the search on purpose: no no-fit polygon, no grid and no margin of the engine is used here. Copies are laid out
as polygons and compared. What counts as touching, not as overlapping, is `lie_tolerance`, far below what can be cut.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from .clearances import Laid, LayFault, SheetExamined, examine_sheet, lay, moved, sheet_cost
from .forms import Case, Panel, Placement, Result, Sheet
from .tolerances import CLAIM_SHARE, LIE_SHARE, REPEAT_MISS
from .turns import may_be_turned

STRIP = "strip"


@dataclass(frozen=True, slots=True)
class Examination:
    """What an independent look at a lay found. No `faults`: it is legal. Counts, cost and length are as found, not as claimed.

    `cost` of the sheets touched is None on a strip, `length` elsewhere. `tolerance`: what was taken for touching, mm.
    `off_repeat`: how far the worst anchor lies off the repeat of its sheet, mm, None where none was to lie on one.
    """

    faults: tuple[LayFault, ...]
    sheets: tuple[SheetExamined, ...]
    placed: int
    wanted: int
    cost: float | None
    length: float | None
    tolerance: float
    off_repeat: float | None = None

    @property
    def legal(self) -> bool:
        return not self.faults

    @property
    def complete(self) -> bool:
        return self.placed == self.wanted


def lie_tolerance(panels: Sequence[Panel]) -> float:
    """What a copy may overlap another, or leave its cloth by, mm: a share of a square as large as the smallest panel.

    >>> lie_tolerance([Panel("p", ((0, 0), (100, 0), (100, 100), (0, 100)), copies=1)])
    0.01
    """
    return LIE_SHARE * math.sqrt(min(Polygon(panel.outline).area for panel in panels))


def examine(case: Case, result: Result) -> Examination:
    """Check a lay against its case, with shapely alone; collects all faults, and measures the narrowest places.

    Legal is: each copy lies on cloth, clear of its edge and of holes by `edge` and of other copies by `gap`; the sound part of
    one that is not hidden keeps as clear of each flaw that does not spare it; it is turned, flipped and set on the repeat as
    panel and sheet allow, on a sheet that will do; there are no more copies than wanted; what is fixed is there; what the
    result claims of itself is true.

    >>> square = ((0, 0), (100, 0), (100, 100), (0, 100))
    >>> case = Case((Panel("p", square, 2),), (Sheet("s", ((0, 0), (300, 0), (300, 100), (0, 100))),), gap=5)
    >>> lay = Result((Placement("s", "p", 0, 0), Placement("s", "p", 104, 0)), placed=2, complete=True)
    >>> [str(fault) for fault in examine(case, lay).faults]
    ['s, panels 1 and 2: lie 4.000 mm apart: the gap is 5']
    """
    tolerance = lie_tolerance(case.panels)
    by_sheet: dict[str, list[Placement]] = {}
    for placement in result.placements:
        by_sheet.setdefault(placement.sheet, []).append(placement)
    faults: list[LayFault] = []
    laid: dict[str, list[Laid]] = {}
    sheets = {STRIP: None} if case.strip else {sheet.id: sheet for sheet in case.sheets}
    for name, placements in by_sheet.items():
        if name in sheets:
            laid[name] = list(_laid(case, sheets[name], placements, tolerance, faults))
        else:
            faults.append(LayFault("is no sheet of the case", name, tuple(range(1, len(placements) + 1))))
    examined = []
    for name, copies in laid.items():
        more, seen = examine_sheet(case, name, sheets[name], copies, tolerance)
        faults += more
        examined.append(seen)
    found = _counted(case, laid, tuple(examined), tolerance)
    faults += _too_many(case, laid)
    faults += _missing_fixed(case, result)
    faults += [LayFault(what) for what in _false_claims(case, result, found)]
    return replace(found, faults=tuple(faults), off_repeat=_off_repeat(case, result))


def _laid(
    case: Case, sheet: Sheet | None, placements: list[Placement], tolerance: float, faults: list[LayFault]
) -> Iterator[Laid]:
    """The copies that can be laid out at all; what forbids a placement before anything is measured goes to `faults`."""
    panels = {panel.id: panel for panel in case.panels}
    name = sheet.id if sheet else STRIP
    for number, placement in enumerate(placements, 1):
        panel = panels.get(placement.panel)
        faults += [LayFault(what, name, (number,)) for what in _placement_faults(panel, placement, sheet)]
        if panel is not None and _is_somewhere(placement):
            yield lay(number, panel, placement, tolerance)


def _copies(case: Case, laid: dict[str, list[Laid]]) -> Counter[str]:
    """How many copies of each panel the lay makes: one on a sheet of several plies makes that many."""
    plies = {sheet.id: sheet.plies for sheet in case.sheets}
    copies: Counter[str] = Counter()
    for name, on_sheet in laid.items():
        for copy in on_sheet:
            copies[copy.panel.id] += plies.get(name, 1)
    return copies


def _counted(case: Case, laid: dict[str, list[Laid]], examined: tuple[SheetExamined, ...], tolerance: float) -> Examination:
    """The sums of the lay, its faults still to come."""
    bounds = [copy.shape.bounds for copy in laid.get(STRIP, [])]
    length = max(b[2] for b in bounds) - min(b[0] for b in bounds) if bounds else 0.0
    return Examination(
        faults=(),
        sheets=examined,
        placed=sum(_copies(case, laid).values()),
        wanted=sum(panel.copies for panel in case.panels),
        cost=None if case.strip else sum(sheet_cost(sheet) for sheet in case.sheets if laid.get(sheet.id)),
        length=length if case.strip else None,
        tolerance=tolerance,
    )


def _is_somewhere(placement: Placement) -> bool:
    return all(math.isfinite(number) for number in (placement.x, placement.y, placement.turn))


# --- how a copy lies ------------------------------------------------------------------------------------------------------


def _placement_faults(panel: Panel | None, placement: Placement, sheet: Sheet | None) -> Iterator[str]:
    """What is wrong with a placement before anything is measured."""
    if panel is None:
        yield f"{placement.panel!r} is no panel of the case"
        return
    if not _is_somewhere(placement):
        yield f"is placed nowhere: x {placement.x}, y {placement.y}, turn {placement.turn}"
        return
    if placement.flipped and not panel.flip:
        yield f"{panel.id!r} is flipped: it may not be"
    if not may_be_turned(placement.turn, panel):
        yield f"is turned by {placement.turn:g}: {panel.id!r} allows {_turns(panel.turns, panel)}"
    if sheet is None:
        return
    if sheet.turns is not None and not may_be_turned(placement.turn, panel, sheet) and may_be_turned(placement.turn, panel):
        yield f"is turned by {placement.turn:g}: the sheet allows {_turns(sheet.turns, panel)}"
    if panel.on is not None and sheet.id not in panel.on:
        yield f"{panel.id!r} is laid on a sheet that will not do for it: {', '.join(panel.on) or 'none'} will"
    yield from _repeat_faults(sheet, panel, placement)


def _turns(turns: Sequence[float], panel: Panel) -> str:
    slack = f", give or take {panel.off_grain:g}" if panel.off_grain else ""
    return ", ".join(f"{turn:g}" for turn in turns) + slack


def _repeat_faults(sheet: Sheet, panel: Panel, placement: Placement) -> Iterator[str]:
    """The panel's anchor must fall on the lattice of the sheet's stripe or check."""
    for name, miss in _misses(sheet, panel, placement):
        if miss > REPEAT_MISS:
            yield f"its anchor misses the repeat {name} the sheet by {miss:.2f} mm"


def _misses(sheet: Sheet, panel: Panel, placement: Placement) -> Iterator[tuple[str, float]]:
    """How far the panel's anchor lies off each repeat that the sheet has, mm."""
    if panel.anchor is None:
        return
    x, y = panel.anchor
    x, y = shapely.get_coordinates(moved(shapely.Point(x, y), placement))[0]
    for name, at, repeat, start in zip(("along", "across"), (x, y), sheet.repeat, sheet.repeat_at, strict=True):
        if repeat:
            yield name, abs(math.remainder(float(at) - start, repeat))


def _off_repeat(case: Case, result: Result) -> float | None:
    """How far the worst anchor of the lay lies off the repeat of its sheet; None where none was to lie on one."""
    sheets, panels = {sheet.id: sheet for sheet in case.sheets}, {panel.id: panel for panel in case.panels}
    known = (p for p in result.placements if p.sheet in sheets and p.panel in panels and _is_somewhere(p))
    return max((miss for p in known for _, miss in _misses(sheets[p.sheet], panels[p.panel], p)), default=None)


# --- what the whole lay holds and claims ------------------------------------------------------------------------------------


def _too_many(case: Case, laid: dict[str, list[Laid]]) -> Iterator[LayFault]:
    copies = _copies(case, laid)
    for panel in case.panels:
        if copies[panel.id] > panel.copies:
            yield LayFault(f"{copies[panel.id]} copies of {panel.id!r} are laid: {panel.copies} are wanted")


def _missing_fixed(case: Case, result: Result) -> list[LayFault]:
    there = Counter(result.placements)
    missing = Counter(case.fixed) - there
    return [LayFault(f"{fixed.panel!r}, fixed at ({fixed.x:g}, {fixed.y:g}), is not there", fixed.sheet) for fixed in missing]


def _false_claims(case: Case, result: Result, found: Examination) -> Iterator[str]:
    """What the result says of itself and is not so."""
    if case.strip is not None and not found.complete:
        yield f"a strip holds every copy: {found.placed} of {found.wanted} are laid"
    if result.placed != found.placed:
        yield f"claims {result.placed} copies placed: {found.placed} are"
    if result.complete != found.complete:
        yield f"claims to be {'' if result.complete else 'in'}complete: {found.placed} of {found.wanted} are laid"
    if result.bound is not None and result.bound < found.placed:
        yield f"claims that no more than {result.bound} can be placed: {found.placed} are"
    if result.proved and case.strip is None and result.bound != found.placed:
        yield f"claims to be proved: the bound is {result.bound}, {found.placed} are placed"
    sums = (("cost", result.cost, result.least_cost, found.cost), ("length", result.length, result.least_length, found.length))
    for name, claimed, least, true in sums:
        if true is None:
            continue
        slack = max(CLAIM_SHARE * max(1.0, abs(true)), found.tolerance if name == "length" else 0.0)
        if claimed is not None and not abs(claimed - true) <= slack:
            yield f"claims a {name} of {claimed:.9g}: it is {true:.9g}"
        if least is not None and not least <= true + slack:
            yield f"claims that the least {name} is {least:.9g}: it is {true:.9g} here"
