"""Where on a room a panel's anchor falls on the sheet's repeat: runs of the lines of a stripe, rows of the points of a check.

A stripe leaves the panel free along its bars: its middle may be anywhere on parallel lines, as far as these lie in the room. A
check leaves it the points where the bars cross, which are kept as rows with a step.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from .forms import Case
from .tolerances import SAME_POINT

Coordinates = NDArray[np.float64]
Lattice = tuple[float, float, float, float]
"""Steps along x and along y (0: free that way), and a point of the lattice."""


def unmatched(case: Case) -> Case:
    """The same case with no anchor to fall on a repeat.

    >>> from nesting import Panel, Sheet
    >>> square = ((0.0, 0.0), (80.0, 0.0), (80.0, 80.0), (0.0, 80.0))
    >>> striped = Sheet("s", ((0.0, 0.0), (250.0, 0.0), (250.0, 90.0), (0.0, 90.0)), repeat=(100.0, 0.0))
    >>> [panel.anchor for panel in unmatched(Case((Panel("p", square, 3, anchor=(40.0, 40.0)),), (striped,))).panels]
    [None]
    """
    return replace(case, panels=tuple(replace(panel, anchor=None) for panel in case.panels))


def runs_in(room: BaseGeometry, lattice: Lattice) -> Coordinates:
    """(n, 5): x and y of the ends of each run of the lattice in the room, and the step between its places (0: any)."""
    x0, y0, x1, y1 = room.bounds
    along, across, at_x, at_y = lattice
    if across > 0:
        levels = [at_y + k * across for k in _numbers(y0, y1, at_y, across)]
        lines = [((x0 - 1, y), (x1 + 1, y)) for y in levels]
    else:
        lines = [((at_x + k * along, y0 - 1), (at_x + k * along, y1 + 1)) for k in _numbers(x0, x1, at_x, along)]
    found = []
    shapely.prepare(room)
    for line in lines:
        for (ax, ay), (bx, by) in _pieces(shapely.LineString(line).intersection(room)):
            if along > 0 and across > 0:
                places = _numbers(min(ax, bx), max(ax, bx), at_x, along)
                if places:
                    found.append((at_x + places[0] * along, ay, at_x + places[-1] * along, ay, along))
            else:
                found.append((ax, ay, bx, by, 0.0))
    return np.array(found, dtype=np.float64).reshape(-1, 5)


def _numbers(low: float, high: float, at: float, step: float) -> range:
    """The lines of the lattice from low to high, by their numbers."""
    first, last = math.ceil((low - at - SAME_POINT) / step), math.floor((high - at + SAME_POINT) / step)
    return range(first, last + 1)


def _pieces(shape: BaseGeometry) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The ends of each line, and points as lines of no length."""
    found = []
    for part in getattr(shape, "geoms", [shape]):
        if not part.is_empty:
            first, last = part.coords[0], part.coords[-1]
            found.append(((first[0], first[1]), (last[0], last[1])))
    return found
