"""What is cut through a stack: tracings that make a copy in every ply, or in some of them, and where the odd plies lie.

A stack is filled as one sheet, the cloth that its *core* shares; what is traced there is cut through every ply of the core. A
ply that is too small for that lies where it holds most of the tracings, and the others are not cut through it. Cores are
tried from all plies down to one, each time without the ply whose absence frees most cloth, and the one that makes most copies
is taken; of equals the one with fewest tracings.

Each copy is looked at for itself on its own ply, by `examine`: clear of that ply's edge by edge and slip, and never of the
wrong hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from .clearances import cloth_of, lay_out
from .examination import examine, lie_tolerance
from .forms import Case, Panel, Placement, Result, Sheet
from .handed import Mirror, right_side_up
from .lies import Lie
from .odd_plies import best_lie
from .shortfall import Solver
from .stack_forms import Copy, Layer, Stacked, TooSmall, Tracing, Wanted
from .stacking import WAYS, Ply, best_lies, in_stack, on_ply, shared
from .tolerances import SAME_TURN


def ways_of(sheet: Sheet, panels: Sequence[Panel], mirror: Mapping[str, Mirror]) -> tuple[tuple[float, bool], ...]:
    """How a sheet may lie in a stack so that what is cut from it may be used: end for end where neither nap nor a panel
    forbids it, turned over where a panel then becomes itself or its other hand."""
    both = sheet.turns is None or _both_ways(sheet.turns)
    end_for_end = both and all(_both_ways(panel.turns) for panel in panels)
    over = any(panel.flip or panel.id in mirror for panel in panels)
    return tuple(way for way in WAYS if (end_for_end or not way[0]) and (over or not way[1]))


def _both_ways(turns: Sequence[float]) -> bool:
    """Whether with each turn the one head to foot is allowed too."""
    return all(any(abs((u - t) % 360.0 - 180.0) < SAME_TURN for u in turns) for t in turns)


def fill_stack(
    layers: Sequence[Layer], wanted: Wanted, solver: Solver, stop: Callable[[], bool] | None = None
) -> Stacked | None:
    """The stack of these layers, the first on top, filled as well as was found; None where it holds no panel at all. Once
    there is something, `stop` is asked before each further try."""
    best: Stacked | None = None
    full = 0
    core = list(range(len(layers)))
    laid: dict[int, Lie] = {}
    while core:
        for ways in _arrangements(layers, wanted):
            if best is not None and stop is not None and stop():
                return replace(best, through_all=full)
            laid = _aligned(layers, core, ways)
            found = _filled(layers, core, laid, wanted, solver)
            if found is None:
                continue
            if len(core) == len(layers):
                full = max(full, found.copies)
            if best is None or _better(found, best):
                best = found
        if best is not None and (best.copies >= _most(wanted) or len(core) == 1):
            break
        core = _without_one(layers, core, laid)
    return None if best is None else replace(best, through_all=full)


def _most(wanted: Wanted) -> int:
    return sum(panel.copies for panel in wanted.panels)


def _better(one: Stacked, other: Stacked) -> bool:
    return (one.copies, -len(one.tracings)) > (other.copies, -len(other.tracings))


def _arrangements(layers: Sequence[Layer], wanted: Wanted) -> list[Callable[[int], Sequence[tuple[float, bool]]]]:
    """How the layers may be turned over: all with the same face up, or by turns face to face where that makes sense; layers
    whose panels are the same either way lie as they cover most."""

    def faces(over: Callable[[int], bool]) -> Callable[[int], Sequence[tuple[float, bool]]]:
        def ways(n: int) -> Sequence[tuple[float, bool]]:
            mine = [way for way in layers[n].ways if way[1] == over(n)]
            return mine or layers[n].ways[:1]

        return ways

    up = faces(lambda n: False)
    mirrored = [panel for panel in wanted.panels if panel.flip or panel.id in wanted.mirror]
    if len(layers) < 2 or not mirrored or not any(way[1] for layer in layers[1:] for way in layer.ways):
        return [up]
    free = all(panel.flip or wanted.mirror[panel.id].panel == panel.id for panel in mirrored)
    if free and len(mirrored) == len(wanted.panels):
        return [lambda n: layers[n].ways if n else layers[n].ways[:1]]
    return [up, faces(lambda n: n % 2 == 1)]


def _aligned(
    layers: Sequence[Layer], core: Sequence[int], ways: Callable[[int], Sequence[tuple[float, bool]]]
) -> dict[int, Lie]:
    """Where each layer of the core lies: the first as it is, each other where it shares most with those before it."""
    laid: dict[int, Lie] = {}
    common: BaseGeometry | None = None
    for n in core:
        if common is None:
            turn, flipped = ways(n)[0]
            laid[n] = Lie(turn=turn, flipped=flipped)
        else:
            whole = layers[n].whole()
            laid[n] = best_lies(common, whole, ways(n))[0]
        cloth = in_stack(cloth_of(layers[n].whole()), laid[n])
        common = cloth if common is None else common.intersection(cloth)
    return laid


def _without_one(layers: Sequence[Layer], core: Sequence[int], laid: Mapping[int, Lie]) -> list[int]:
    """The core less the layer without which the others share most."""

    def common(left_out: int) -> float:
        rest = [in_stack(cloth_of(layers[n].whole()), laid[n]) for n in core if n != left_out]
        return float(shapely.intersection_all(rest).area) if rest else 0.0

    worst = max(core, key=lambda n: (round(common(n), 3), n))
    return [n for n in core if n != worst]


def _filled(
    layers: Sequence[Layer], core: Sequence[int], laid: Mapping[int, Lie], wanted: Wanted, solver: Solver
) -> Stacked | None:
    """The stack with this core: its cloth filled, every other layer laid where it holds most of the tracings."""
    plies = [ply for n in core for ply in layers[n].lying(laid[n])]
    sheet = shared(plies, wanted.slip)
    if sheet is None:
        return None
    quota = tracings_wanted(wanted, [ply.lie.flipped for ply in plies])
    panels = tuple(replace(p, copies=quota[p.id], on=None) for p in wanted.panels if quota[p.id])
    if not panels:
        return None
    sheet = sheet.for_panels({p.id for p in panels})
    case = Case(panels, (sheet,), gap=wanted.gap, edge=wanted.edge)
    traced = solver(case, seconds=wanted.seconds, seed=wanted.seed).placements
    if not traced:
        return None
    where = dict(laid)
    for n in range(len(layers)):
        if n not in core:
            where[n] = best_lie(case, traced, layers[n], wanted)
    every = tuple(ply for n in range(len(layers)) for ply in layers[n].lying(where[n]))
    tracings = copies_of(traced, every, wanted)
    return _without_idle(every, tracings, wanted)


def tracings_wanted(wanted: Wanted, over: Sequence[bool]) -> dict[str, int]:
    """How many tracings of each panel make the copies wanted, on plies of which some lie turned over: as few as will do.

    Of a left and right piece, a tracing of the left makes a right one in each ply that is turned over.
    """
    down = sum(over)
    up = len(over) - down
    copies = {panel.id: panel.copies for panel in wanted.panels}
    flips = {panel.id for panel in wanted.panels if panel.flip}
    quota: dict[str, int] = {}
    for panel in wanted.panels:
        other = wanted.mirror.get(panel.id)
        if panel.id in quota:
            continue
        if panel.id in flips or (other is not None and other.panel == panel.id):
            quota[panel.id] = math.ceil(panel.copies / len(over))
        elif other is None or other.panel not in copies:
            quota[panel.id] = math.ceil(panel.copies / up) if up else 0
        else:
            quota[panel.id], quota[other.panel] = _two_hands(panel.copies, copies[other.panel], up, down)
    return quota


def _two_hands(left: int, right: int, up: int, down: int) -> tuple[int, int]:
    """The fewest tracings of the one hand and of the other that make so many of each."""
    most = max(math.ceil(max(left, right) / max(1, min(u for u in (up, down) if u))), 1)
    pairs = ((a, b) for a in range(most + 1) for b in range(most + 1))
    enough = [(a, b) for a, b in pairs if a * up + b * down >= left and a * down + b * up >= right]
    return min(enough, key=lambda ab: (ab[0] + ab[1], abs(ab[0] - ab[1])), default=(0, 0))


def copies_of(traced: Sequence[Placement], plies: Sequence[Ply], wanted: Wanted) -> tuple[Tracing, ...]:
    """The copies that the tracings make, no more than are wanted: those that make most come first, the top ply first. A
    tracing that makes none is left out."""
    panels = {panel.id: panel for panel in wanted.panels}
    left = {panel.id: panel.copies for panel in wanted.panels}
    held = [(p, [copy for n, ply in enumerate(plies) if (copy := copy_on(p, n, ply, wanted, panels))]) for p in traced]
    found = []
    for placement, copies in sorted(held, key=lambda pair: -len(pair[1])):
        kept = []
        for copy in copies:
            if left[copy.placement.panel] > 0:
                left[copy.placement.panel] -= 1
                kept.append(copy)
        if kept:
            found.append(Tracing(placement, tuple(kept)))
    return tuple(found)


def copy_on(placement: Placement, number: int, ply: Ply, wanted: Wanted, panels: Mapping[str, Panel]) -> Copy | None:
    """The copy that a tracing makes in a ply; None where it would be of the wrong hand, too near the ply's own edge or a fault
    of it, or turned as cloth or panel forbid."""
    own = right_side_up(on_ply(placement, ply), panels, wanted.mirror)
    if own is None:
        return None
    panel = replace(panels[own.panel], copies=1)
    case = Case((panel,), (ply.sheet.for_panels({panel.id}),), gap=wanted.gap, edge=wanted.edge + wanted.slip)
    legal = not examine(case, Result((own,), 1, complete=True)).faults
    return Copy(number, own) if legal else None


def _without_idle(plies: tuple[Ply, ...], tracings: tuple[Tracing, ...], wanted: Wanted) -> Stacked | None:
    """The stack without plies in which nothing is cut."""
    if not tracings:
        return None
    busy = sorted({copy.ply for tracing in tracings for copy in tracing.copies})
    number = {ply: n for n, ply in enumerate(busy)}
    kept = tuple(
        replace(tracing, copies=tuple(replace(copy, ply=number[copy.ply]) for copy in tracing.copies)) for tracing in tracings
    )
    there = tuple(plies[ply] for ply in busy)
    small = tuple(
        lack
        for n, ply in enumerate(there)
        for t, tracing in enumerate(kept)
        if all(copy.ply != n for copy in tracing.copies)
        and (lack := lacking(tracing.placement, t, n, ply, wanted)) is not None
    )
    return Stacked(there, kept, 0, small)


def lacking(placement: Placement, tracing: int, number: int, ply: Ply, wanted: Wanted) -> TooSmall | None:
    """How far a tracing reaches beyond what a ply has clear of its edge, and where; None where it does not."""
    panel = next(panel for panel in wanted.panels if panel.id == placement.panel)
    shape = lay_out(panel, placement)
    clear = in_stack(_clear(ply.sheet, wanted), ply.lie)
    if clear.is_empty:
        return None
    corners = [shapely.Point(xy) for xy in shapely.get_coordinates(shape)]
    worst = max(corners, key=lambda corner: corner.distance(clear))
    by = float(worst.distance(clear))
    if by <= lie_tolerance(wanted.panels):
        return None
    at = (float(worst.x), float(worst.y))
    return TooSmall(number, tracing, by, at, ply.lie.back().apply(at))


def _clear(sheet: Sheet, wanted: Wanted) -> BaseGeometry:
    return cloth_of(sheet).buffer(-(wanted.edge + wanted.slip), join_style="mitre")
