"""A small stand-in for the engine, so that the tests of the commands need no search: panels stand in rows, box beside box."""

from __future__ import annotations

from collections.abc import Callable

from shapely import LineString, Polygon, union_all
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from nesting import Case, Panel, Placement, Result, Sheet, sheet_cost


def solve(
    case: Case,
    *,
    seconds: float = 10.0,
    rounds: int | None = None,
    seed: int = 0,
    workers: int = 1,
    on_better: Callable[[Result], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Result:
    """As `nesting.solve`, only plainer."""
    missing = {panel.id: panel.copies for panel in case.panels}
    placements: list[Placement] = list(case.fixed)
    for laid in placements:
        missing[laid.panel] -= 1
    for sheet in sorted(case.sheets, key=lambda sheet: -Polygon(sheet.outline).area):
        for panel in case.panels:
            if panel.on is None or sheet.id in panel.on:
                _fill(case, sheet, panel, missing, placements)
        if on_better is not None and placements:
            on_better(_result(case, placements, missing, seed))
        if stop is not None and stop():
            break
    return _result(case, placements, missing, seed)


def _result(case: Case, placements: list[Placement], missing: dict[str, int], seed: int) -> Result:
    complete = not any(missing.values())
    wanted = sum(panel.copies for panel in case.panels)
    used = {placement.sheet for placement in placements}
    cost = sum(sheet_cost(sheet) for sheet in case.sheets if sheet.id in used)
    return Result(tuple(placements), len(placements), wanted, complete, complete, cost, rounds=1, seed=seed)


def _fill(case: Case, sheet: Sheet, panel: Panel, missing: dict[str, int], placements: list[Placement]) -> None:
    turn = next(turn for turn in panel.turns if sheet.turns is None or turn in sheet.turns)
    shape = rotate(Polygon(panel.outline), turn, origin=(0, 0))
    left, low, right, high = shape.bounds
    length, width = right - left, high - low
    free = _room(case, sheet, placements)
    x0, y0, x1, y1 = free.bounds if not free.is_empty else (0, 0, 0, 0)
    y = y0
    while y + width <= y1 and missing[panel.id]:
        x, tall = x0, False
        while x + length <= x1 and missing[panel.id]:
            if free.covers(translate(shape, x - left, y - low)):
                placements.append(Placement(sheet.id, panel.id, x - left, y - low, turn))
                missing[panel.id] -= 1
                x, tall = x + length + case.gap, True
            else:
                x += length / 8
        y += width + case.gap if tall else width / 8


def _room(case: Case, sheet: Sheet, placements: list[Placement]) -> BaseGeometry:
    rings = [*sheet.holes, *(flaw.ring for flaw in sheet.flaws)]
    spots = [LineString(ring) if len(ring) == 2 else Polygon(ring) for ring in rings]
    kept = max(case.edge, 0.01)
    free = Polygon(sheet.outline).buffer(-kept).difference(union_all([spot.buffer(kept) for spot in spots]))
    panels = {panel.id: Polygon(panel.outline) for panel in case.panels}
    for laid in placements:
        if laid.sheet == sheet.id:
            shape = translate(rotate(panels[laid.panel], laid.turn, origin=(0, 0)), laid.x, laid.y)
            free = free.difference(shape.buffer(case.gap))
    return free
