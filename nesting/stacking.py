"""Stacks: sheets laid on one another on the grain, right side up or turned over, to be cut together.

A stack has coordinates of its own, +x the grain, as it is seen from above. How a ply lies in it is a `Lie`; a panel that lies
somewhere in the stack lies, on that ply's own cloth, where `on_ply` says, and seen on the right side it is of the other hand
where the ply lies turned over. Nothing here knows what a panel may do: `tracing` sees to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from .clearances import cloth_of, lay_out, moved
from .forms import Flaw, Panel, Placement, Point, Ring, Sheet
from .lies import AS_IT_IS, Lie
from .outlines import holes_of, ring_of, united
from .tolerances import OVERLAY_GRID

WAYS = ((0.0, False), (180.0, False), (0.0, True), (180.0, True))
"""How a ply may lie on the grain: as it is, turned end for end, turned over, or both."""
STEPS = (16.0, 4.0, 1.0, 0.25)
"""mm: by how much a ply is shifted, ever finer, to see whether more of it comes to lie on the others."""
MOST_TRIED = 3
"""Of so many natural places of a ply, the best ones, it is looked whether a shift makes them better."""


@dataclass(frozen=True, slots=True)
class Ply:
    """A ply of a stack: its cloth, in its own coordinates, and how it lies. `sheet.id` is the remnant's; two plies have the
    same where it is folded along y = `fold`, and the `far` one is turned under the near one."""

    sheet: Sheet
    lie: Lie = AS_IT_IS
    fold: float | None = None
    far: bool = False


def in_stack(shape: BaseGeometry, lie: Lie) -> BaseGeometry:
    """A shape of the ply's own cloth, where it lies in the stack."""
    return moved(shape, Placement("", "", lie.x, lie.y, lie.turn, lie.flipped))


def on_ply(placement: Placement, ply: Ply) -> Placement:
    """A panel that is laid in the stack, as it lies on that ply's own cloth.

    >>> sheet = Sheet("s", ((0, 0), (300, 0), (300, 100), (0, 100)))
    >>> on_ply(Placement("stack", "cuff", 20.0, 30.0), Ply(sheet, Lie(y=100.0, flipped=True)))
    Placement(sheet='s', panel='cuff', x=20.0, y=70.0, turn=0.0, flipped=True)
    """
    lies = Lie(placement.x, placement.y, placement.turn, placement.flipped)
    own = ply.lie.back().after(lies)
    return Placement(ply.sheet.id, placement.panel, own.x, own.y, own.turn, own.flipped)


def from_ply(placement: Placement, ply: Ply) -> Placement:
    """The other way round: a panel on a ply's own cloth, as it lies in the stack."""
    seen = ply.lie.after(Lie(placement.x, placement.y, placement.turn, placement.flipped))
    return Placement(placement.sheet, placement.panel, seen.x, seen.y, seen.turn, seen.flipped)


def folded(sheet: Sheet, fold: float, margin: float) -> tuple[Ply, Ply]:
    """The two plies of a sheet folded on the grain along y = `fold`: the near half as it lies, and the far half turned over
    under it. `margin` (mm) is taken off each at the fold, for what the fold eats and has faded.

    Raises ValueError where the fold leaves no cloth on one side.
    """
    near = _clipped(sheet, below=fold - margin)
    far = _clipped(sheet, above=fold + margin)
    if near is None or far is None:
        raise ValueError(f"a fold at {fold:g} mm leaves no cloth on one side of it")
    return Ply(near, fold=fold), Ply(far, Lie(y=2 * fold, flipped=True), fold, far=True)


def both_plies(sheet: Sheet, fold: float, slip: float) -> Sheet | None:
    """The cloth of a sheet that both its plies have if it is folded along y = `fold`, on both sides of the fold, in one piece;
    cut back by `slip` (mm) all round. None where there is none."""
    shape = cloth_of(sheet)
    doubled = shape.intersection(in_stack(shape, Lie(y=2 * fold, flipped=True)))
    return sheet_of(sheet, doubled.buffer(-slip, join_style="mitre") if slip else doubled)


def without(ply: Ply, panels: Sequence[Panel], placements: Sequence[Placement], grown: float) -> Ply:
    """A ply less panels that lie on it, each grown by so much (mm; less than nought: shrunk)."""
    by_id = {panel.id: panel for panel in panels}
    cut = [lay_out(by_id[p.panel], p).buffer(grown, join_style="mitre") for p in placements]
    left = sheet_of(ply.sheet, cloth_of(ply.sheet).difference(united(cut))) if cut else ply.sheet
    return replace(ply, sheet=left or ply.sheet)


def best_fold(sheet: Sheet, places: int = 64) -> float:
    """Where to fold a sheet on the grain so that its halves cover each other most: y of the fold, mm.

    >>> best_fold(Sheet("s", ((0, 0), (300, 0), (300, 100), (0, 100))))
    50.0
    """
    shape = cloth_of(sheet)
    _, low, _, high = shape.bounds

    def doubled(y: float) -> float:
        return float(shape.intersection(in_stack(shape, Lie(y=2 * y, flipped=True))).area)

    step, middle = float(high - low) / places, float(low + high) / 2
    tried = (float(low) + step * n for n in range(1, places))
    best = max(tried, key=lambda y: (round(doubled(y), 6), -abs(y - middle)))
    while step > 0.1:
        step /= 2
        best = max((best, best - step, best + step), key=doubled)
    return best


def _clipped(sheet: Sheet, *, below: float = float("inf"), above: float = float("-inf")) -> Sheet | None:
    shape = cloth_of(sheet)
    left, low, right, high = shape.bounds
    band = shapely.box(left - 1, max(low - 1, above), right + 1, min(high + 1, below))
    return sheet_of(sheet, shape.intersection(band)) if band.bounds[1] < band.bounds[3] else None


def sheet_of(like: Sheet, shape: BaseGeometry) -> Sheet | None:
    """A sheet of this shape (its largest part), with the tears and flaws of another; None where nothing is left."""
    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and not part.is_empty]
    if not parts:
        return None
    largest = max(parts, key=lambda part: part.area)
    tears = tuple(hole for hole in like.holes if len(hole) == 2)
    return replace(like, outline=ring_of(largest), holes=(*holes_of(largest), *tears))


def shared(plies: Sequence[Ply], slip: float, name: str = "stack") -> Sheet | None:
    """The cloth that all plies share, each cut back by `slip` (mm) all round, its flaws grown by as much; None where they
    share none. What is a flaw of one ply is a flaw of the stack, and spares what it spares."""
    common: BaseGeometry | None = None
    for ply in plies:
        back = cloth_of(ply.sheet).buffer(-slip, join_style="mitre") if slip else cloth_of(ply.sheet)
        lying = in_stack(back, ply.lie)
        common = lying if common is None else shapely.intersection(common, lying, grid_size=OVERLAY_GRID)
    tears = tuple(_moved_ring(h, ply.lie) for ply in plies for h in ply.sheet.holes if len(h) == 2)
    flaws = tuple(
        Flaw(ring, flaw.spares)
        for ply in plies
        for flaw in ply.sheet.flaws
        for ring in _grown(_moved_ring(flaw.ring, ply.lie), slip)
    )
    rings = [ring for tear in tears for ring in _grown(tear, slip)]
    turns = _turns(plies)
    whole = Sheet(name, ((0, 0), (1, 0), (1, 1)), tuple(r for r in rings if len(r) == 2), flaws, turns=turns)
    if common is None:
        return None
    spots = [Polygon(ring) for ring in rings if len(ring) > 2]
    return sheet_of(whole, common.difference(united(spots)) if spots else common)


def _turns(plies: Sequence[Ply]) -> tuple[float, ...] | None:
    """The turns that every ply's cloth allows, as seen in the stack; None where none names any."""
    found: list[set[float]] = []
    for ply in plies:
        if ply.sheet.turns is not None:
            found.append({(ply.lie.turn + (-t if ply.lie.flipped else t)) % 360.0 for t in ply.sheet.turns})
    return tuple(sorted(set.intersection(*found))) if found else None


def _moved_ring(ring: Ring, lie: Lie) -> Ring:
    return tuple(lie.apply(point) for point in ring)


def _grown(ring: Ring, by: float) -> list[Ring]:
    """A ring or tear with `by` round it."""
    if not by:
        return [ring]
    shape = LineString(ring) if len(ring) == 2 else Polygon(ring)
    grown = shape.buffer(by, join_style="mitre", cap_style="square")
    return [ring_of(part) for part in getattr(grown, "geoms", [grown])]


# --- where a ply is best laid ------------------------------------------------------------------------------------------------


def natural(base: BaseGeometry, ply: BaseGeometry) -> Iterator[Point]:
    """The shifts that a person can lay by eye: the ply's box flush with that of the others at an edge or a corner, or in the
    middle between two. Flush at the left and near edge comes first."""
    (a, b, c, d), (p, q, r, s) = base.bounds, ply.bounds
    xs, ys = (a - p, c - r, (a + c - p - r) / 2), (b - q, d - s, (b + d - q - s) / 2)
    yield from product(xs, ys)


def best_lies(base: BaseGeometry, sheet: Sheet, ways: Sequence[tuple[float, bool]]) -> list[Lie]:
    """The best lie of a sheet for each way of laying it, by how much cloth it shares with `base`; the best way first, and of
    equals the one named first."""
    cloth = cloth_of(sheet)
    found = []
    for turn, flipped in ways:
        lying = in_stack(cloth, Lie(turn=turn, flipped=flipped))

        def common(at: Point, lying: BaseGeometry = lying) -> float:
            return round(float(base.intersection(shapely.transform(lying, lambda xy: xy + at)).area), 3)

        tried = sorted(natural(base, lying), key=lambda at: -common(at))[:MOST_TRIED]
        area, at = max(((common(at), at) for at in (_shifted(at, common) for at in tried)), key=lambda pair: pair[0])
        found.append((area, Lie(*at, turn, flipped)))
    return [lie for _, lie in sorted(found, key=lambda pair: -pair[0])]


def _shifted(at: Point, common: Callable[[Point], float]) -> Point:
    """The same shift, made better step by step."""
    best = common(at)
    for step in STEPS:
        going = True
        while going:
            going = False
            for dx, dy in ((step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)):
                other = at[0] + dx, at[1] + dy
                if (area := common(other)) > best * (1 + 1e-9):
                    at, best, going = other, area, True
                    break
    return at
