"""Where a ply lies best under tracings that are there already: the shift at which it holds most of them, exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from .clearances import cloth_of
from .forms import Case, Placement, Point, Sheet
from .handed import right_side_up
from .instance import Instance
from .lies import Lie
from .stack_forms import Layer, Wanted
from .stacking import Ply, in_stack, natural, on_ply
from .tolerances import IN_REGION

MOST_CANDIDATES = 4000
"""The most shifts of a ply that are compared."""


def best_lie(case: Case, traced: Sequence[Placement], layer: Layer, wanted: Wanted) -> Lie:
    """Where a layer holds most of the tracings, exactly: for each tracing the shifts at which it lies clear of the layer's
    edge are a region, and a shift that is in most of these is looked for among their corners and crossings. Of equals one that
    can be laid by eye, else the middle of what there is."""
    best: tuple[int, int, Lie] | None = None
    sheet = layer.whole()
    tight = replace(case, edge=wanted.edge + wanted.slip)
    base = shapely.union_all([cloth_of(one) for one in case.sheets])
    for order, (turn, flipped) in enumerate(layer.ways):
        regions = _shifts(tight, traced, sheet, turn, flipped, wanted)
        lying = in_stack(cloth_of(sheet), Lie(turn=turn, flipped=flipped))
        count, at = deepest([region for region in regions if region is not None], list(natural(base, lying)))
        if best is None or (count, -order) > best[:2]:
            best = count, -order, Lie(*at, turn, flipped)
    assert best is not None
    return best[2]


def _shifts(
    case: Case, traced: Sequence[Placement], sheet: Sheet, turn: float, flipped: bool, wanted: Wanted
) -> list[BaseGeometry | None]:
    """For each tracing the shifts of the sheet, laid so, at which it holds it; None where there are none."""
    panels = {panel.id: panel for panel in case.panels}
    every = {panel.id: panel for panel in wanted.panels}
    found: list[BaseGeometry | None] = []
    for placement in traced:
        own = right_side_up(on_ply(placement, Ply(sheet, Lie(turn=turn, flipped=flipped))), every, wanted.mirror)
        if own is None:
            found.append(None)
            continue
        panel = replace(every[own.panel], on=None)
        alone = sheet.for_panels({panel.id})
        instance = Instance(replace(case, panels=(panel,), sheets=(alone,)))
        shape = instance.fixed_shape(replace(own, panel=panel.id))
        room = instance.room(alone, shape)
        if room is None:
            found.append(None)
            continue
        # The middle of the copy on the ply's own cloth, carried into the stack, must meet the middle of the tracing.
        x, y = Instance(replace(case, panels=(panels[placement.panel],), sheets=(alone,))).middle_of(placement)
        carried = in_stack(room.whole(), Lie(turn=turn, flipped=flipped))
        found.append(shapely.transform(carried, lambda xy, x=x, y=y: np.array([x, y]) - xy))
    return found


def deepest(regions: Sequence[BaseGeometry], first: Sequence[Point]) -> tuple[int, Point]:
    """A point that is in most of the regions, and in how many. Those of `first` are preferred, in their order.

    >>> deepest([shapely.box(0, 0, 4, 4), shapely.box(3, 3, 6, 6), shapely.box(9, 9, 10, 10)], [(0.0, 0.0)])
    (2, (3.5, 3.5))
    """
    if not regions:
        return 0, first[0]
    candidates = [*first, *_crossings(regions)]
    points = shapely.points(candidates)
    counts = sum((shapely.distance(region, points) <= IN_REGION).astype(int) for region in regions)
    assert isinstance(counts, np.ndarray)
    most = int(counts.max())
    chosen = int(np.flatnonzero(counts == most)[0])
    if chosen < len(first):
        return most, first[chosen]
    inside = [region for region in regions if region.distance(points[chosen]) <= IN_REGION]
    common = shapely.intersection_all([region.buffer(IN_REGION) for region in inside])
    middle = common.centroid if common.contains(common.centroid) else common.representative_point()
    return most, ((middle.x, middle.y) if not common.is_empty else candidates[chosen])


def _crossings(regions: Sequence[BaseGeometry]) -> list[Point]:
    """Corners of the regions, and where their rims cross: in the cell that most of them share there is one of these."""
    points = [*np.concatenate([shapely.get_coordinates(region) for region in regions]).tolist()]
    rims = [region.boundary for region in regions]
    for a, one in enumerate(rims):
        for other in rims[a + 1 :]:
            if len(points) < MOST_CANDIDATES:
                points += shapely.get_coordinates(one.intersection(other)).tolist()
    return [(x, y) for x, y in points[:MOST_CANDIDATES]]
