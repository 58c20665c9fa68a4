"""The nearest place: how little some panels must be shifted so that nothing forbids where they lie.

Where one panel's middle may lie is its room on the sheet less its no-fit polygons with all that lies there; where several may
be shifted together is what these places, each counted from where its panel lies, have in common. The shortest shift leads to
the nearest point of that. With a gap, its rounded corners are up to 2 % of it too far out (`margins`). What is cut through a
stack moves on all its plies at once: on those that lie turned, the other way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point, affinity
from shapely.geometry.base import BaseGeometry

from .forms import Case, Placement, Sheet
from .nofit import rings_to_region
from .outlines import united
from .repeats import Lattice, runs_in
from .tolerances import REPEAT_MISS

if TYPE_CHECKING:
    from .instance import Instance

NO_LATTICE: Lattice = (0.0, 0.0, 0.0, 0.0)


def nearest_shift(
    case: Case, lying: Sequence[Placement], moving: Sequence[Placement], ways: Sequence[tuple[float, float]] | None = None
) -> tuple[float, float] | None:
    """The shortest shift (x, y; mm) that brings `moving`, all alike and at their turns, where nothing forbids it beside what
    is `lying`; (0, 0) where they are well as they are, None where there is no such place. `ways`: 1 or −1 for x and for y of
    each, where some are shifted the other way.

    >>> from nesting import Panel
    >>> square = ((0, 0), (100, 0), (100, 100), (0, 100))
    >>> case = Case((Panel("p", square, 3),), (Sheet("s", ((0, 0), (300, 0), (300, 100), (0, 100))),))
    >>> x, y = nearest_shift(case, [Placement("s", "p", 0, 0)], [Placement("s", "p", 60, 0)])
    >>> round(x, 1), abs(round(y, 1))
    (40.0, 0.0)
    """
    from .instance import Instance, lattice_of

    sheets = {sheet.id: sheet for sheet in case.sheets if sheet.id in {placement.sheet for placement in moving}}
    there = {placement.panel for placement in (*lying, *moving)}
    panels = tuple(panel for panel in case.panels if panel.id in there)
    instance = Instance(replace(case, panels=panels, sheets=tuple(sheets.values()), fixed=()))
    free: BaseGeometry | None = None
    lattices: list[Lattice] = []
    for placement, (way_x, way_y) in zip(moving, ways or [(1.0, 1.0)] * len(moving), strict=True):
        sheet = sheets[placement.sheet]
        mine = _free(instance, sheet, [other for other in lying if other.sheet == sheet.id], placement)
        x, y = instance.middle_of(placement)
        mine = affinity.affine_transform(mine, (way_x, 0, 0, way_y, -way_x * x, -way_y * y))
        free = mine if free is None else free.intersection(mine)
        along, across, at_x, at_y = lattice_of(sheet, instance.shapes[instance.fixed_shape(placement)])
        if along or across:
            lattices.append((along, across, way_x * (at_x - x), way_y * (at_y - y)))
    if free is None or free.is_empty or not _agree(lattices):
        return None
    return min(_candidates(free, lattices[0] if lattices else NO_LATTICE), key=lambda at: math.hypot(*at), default=None)


def _free(instance: Instance, sheet: Sheet, lying: Sequence[Placement], placement: Placement) -> BaseGeometry:
    """Where the middle of a panel may lie, its turn kept."""
    shape = instance.fixed_shape(placement)
    room = instance.room(sheet, shape)
    if room is None:
        return Point()
    taken = []
    for other in lying:
        region, sign = instance.no_fit(instance.fixed_shape(other), shape)
        x, y = instance.middle_of(other)
        # A ring mirrored through the origin is turned by half: it keeps its winding.
        taken.append(rings_to_region([sign * ring + np.array((x, y)) for ring in instance.rings_of(region)]))
    return room.whole().difference(united(taken)) if taken else room.whole()


def _agree(lattices: Sequence[Lattice]) -> bool:
    """Whether one shift can bring every panel onto its stripe."""
    if not lattices:
        return True
    along, across, x, y = lattices[0]
    return all(
        abs(math.remainder(other - at, step)) <= REPEAT_MISS / 2
        for _, _, other_x, other_y in lattices
        for other, at, step in ((other_x, x, along), (other_y, y, across))
        if step
    )


def _candidates(free: BaseGeometry, lattice: Lattice) -> Iterator[tuple[float, float]]:
    """Points of the region on the lattice, among them the one nearest to (0, 0)."""
    from .rooms import on_run

    if not any(lattice[:2]):
        x, y = shapely.get_coordinates(shapely.shortest_line(free, Point(0, 0)))[0]
        yield float(x), float(y)
        return
    for run in runs_in(free, lattice):
        yield on_run(run, 0.0, 0.0)
