"""A safe order of cutting for each sheet: what to measure before the first cut, which panel first, and up to where one may
still think again.

**Measures that prove.** Where the lay is tightest: from which panel to which edge, hole, flaw or panel, and how far. If these
hold on the cloth, the rest holds.

**Hardest first.** The panels with least room to be laid otherwise: those that touch most of what is round them. If one of them
does not go as drawn, nothing else has been cut yet.

**The point of no other way.** Cut in this order, the last cut after which, should the next panel be spoiled, the cloth that
is left would still hold all the panels that are not cut, that one again included. From there on there is no other way. What
is left is laid anew to find out, so that "would hold" is shown, and "no other way" means that none was found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from .clearances import Nearest, lay_out
from .examination import examine
from .forms import Case, Placement, Result, Ring, Sheet
from .outlines import united
from .shortfall import Solver

TIGHT = 1.5
"""What is nearer than this many times the margin asked is tight."""
SECONDS = 0.4
"""How long the rest is laid anew for: what goes in at once, and a little more. Shorter than a person waits for each."""


@dataclass(frozen=True, slots=True)
class CuttingOrder:
    """For one sheet: the numbers of its placements (from 1, in the order given) in the order of cutting; after how many of
    these there is no other way (0: from the first cut on); and the narrowest places, to be measured first."""

    sheet: str
    order: tuple[int, ...]
    free_until: int
    narrowest: tuple[Nearest, ...]


def order_of_cutting(case: Case, placements: Sequence[Placement], sheet: str, *, solver: Solver | None = None) -> CuttingOrder:
    """The order for one sheet of a lay. `placements`: all those on it. Raises ValueError where none is."""
    mine = [placement for placement in placements if placement.sheet == sheet]
    if not mine:
        raise ValueError(f"nothing lies on {sheet!r}")
    alone = _alone(case, sheet, mine)
    panels = {panel.id: panel for panel in case.panels}
    shapes = [lay_out(panels[placement.panel], placement) for placement in mine]
    order = hardest_first(alone, shapes)
    copies = sum(panel.copies for panel in alone.panels)
    seen = examine(alone, Result(tuple(mine), len(mine), complete=len(mine) == copies)).sheets[0]
    narrowest = tuple(near for near in (seen.edge, seen.gap, seen.hole, seen.flaw) if near is not None)
    return CuttingOrder(sheet, tuple(n + 1 for n in order), _free_until(alone, mine, shapes, order, solver), narrowest)


def hardest_first(case: Case, shapes: Sequence[Polygon]) -> list[int]:
    """The numbers (from 0) of panels, those with most of their rim near something first; of two alike the larger."""
    sheet = case.sheets[0]
    outline = Polygon(sheet.outline)
    spots = [_spot(ring) for ring in (*sheet.holes, *(flaw.ring for flaw in sheet.flaws))]
    by_edge, by_gap = max(TIGHT * case.edge, 1.0), max(TIGHT * case.gap, 1.0)
    fixed = united([outline.exterior, *(spot.boundary for spot in spots if not spot.is_empty)]).buffer(by_edge)

    near = shapely.STRtree(list(shapes))

    def tight(n: int) -> float:
        beside = [shapes[m] for m in near.query(shapes[n], "dwithin", distance=by_gap) if m != n]
        others = united(beside).buffer(by_gap)
        rim = shapes[n].exterior
        return float(rim.intersection(united([fixed, others])).length / rim.length)

    held = [tight(n) for n in range(len(shapes))]
    return sorted(range(len(shapes)), key=lambda n: (-round(held[n], 3), -round(shapes[n].area, 3), n))


def _alone(case: Case, sheet: str, mine: Sequence[Placement]) -> Case:
    """The case of this sheet and what lies on it."""
    counts = Counter(placement.panel for placement in mine)
    panels = tuple(replace(panel, copies=counts[panel.id], on=None) for panel in case.panels if counts[panel.id])
    ids = {panel.id for panel in panels}
    (one,) = (each for each in case.sheets if each.id == sheet)
    return replace(case, panels=panels, sheets=(replace(one.for_panels(ids), plies=1, cost=None),), fixed=())


def _free_until(
    case: Case, mine: Sequence[Placement], shapes: Sequence[Polygon], order: Sequence[int], solver: Solver | None
) -> int:
    """How many panels can be cut, and the next one spoiled, with a way left. It only becomes less: found by halving."""
    low, high = 0, len(order)  # a way is left with the panels before `low` cut; none is known from `high` on
    while low < high:
        middle = (low + high) // 2
        if _another_way(case, mine, shapes, order, middle, solver):
            low = middle + 1
        else:
            high = middle
    return low


def _another_way(
    case: Case, mine: Sequence[Placement], shapes: Sequence[Polygon], order: Sequence[int], cut: int, solver: Solver | None
) -> bool:
    """Whether, `cut` panels cut and the next one spoiled, what is left holds all that is then lacking."""
    if solver is None:
        from .solving import solve

        solver = solve
    gone = [shapes[n] for n in order[: cut + 1]]
    lacking = Counter(mine[n].panel for n in order[cut:])
    left = Polygon(case.sheets[0].outline).difference(united(gone))
    parts = [part for part in getattr(left, "geoms", [left]) if isinstance(part, Polygon) and part.area > 0]
    panels = tuple(replace(panel, copies=lacking[panel.id]) for panel in case.panels if lacking[panel.id])
    sheets = tuple(_part(case.sheets[0], part, n, {panel.id for panel in panels}) for n, part in enumerate(parts))
    if not sheets:
        return False
    done = False

    def better(result: Result) -> None:
        nonlocal done
        done = done or result.complete

    other = replace(case, panels=panels, sheets=sheets)
    return solver(other, seconds=SECONDS, on_better=better, stop=lambda: done).complete


def _part(sheet: Sheet, part: Polygon, number: int, ids: set[str]) -> Sheet:
    """A part of what is left of a sheet, with what of its holes and flaws is on it."""

    def ring(points: shapely.LinearRing) -> Ring:
        return tuple((float(x), float(y)) for x, y in points.coords[:-1])

    holes = tuple(hole for hole in sheet.holes if _spot(hole).intersects(part))
    flaws = tuple(replace(f, spares=f.spares & ids) for f in sheet.flaws if _spot(f.ring).intersects(part))
    inner = tuple(ring(hole) for hole in part.interiors)
    return replace(sheet, id=f"{sheet.id} {number}", outline=ring(part.exterior), holes=(*holes, *inner), flaws=flaws)


def _spot(ring: Ring) -> BaseGeometry:
    return shapely.LineString(ring) if len(ring) == 2 else Polygon(ring)
