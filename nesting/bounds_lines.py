"""A count by lines: how many copies of one panel go on a part of a sheet, by what each must cover of some parallel lines.

Bodies that do not overlap cover parts of any line that do not overlap either. So with weights w ≥ 0 of some lines, the
lengths that all copies cover come to no more than Σ w·(length of the line on the cloth). If every copy, wherever it lies,
covers at least 1 by these weights, there are no more copies than that sum. It is what shows that panels which fill a strip
from edge to edge, all the same way round, take their widest side each: area and tents give away what slack the strip leaves.

Of a convex body the length that a line cuts off is a concave function of where the line is, so that its least over a range
of positions is at one of the range's ends: ranges are looked at, not points. A linear program finds the weights; it need not
be trusted, since they are scaled afterwards by the least that any range covers. Lines along an edge that two bodies share
would count for both: a line at the very rim of a body counts as covered by nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from .bounds_hats import Way

Floats = NDArray[np.float64]

LINES = 48
"""Lines across the part, and as many ranges of positions for each way to lie."""
CONVEX = 1e-9
"""The share of its area by which a body may differ from its hull and still be taken for convex (its hull is then not used)."""
RIM = 1e-6
"""mm from the rim of a body at which a line is said to be on it."""
NEARLY = 1e-6
"""The share by which what is covered is taken less, for a body that is convex but for rounding."""
HAIR = 1e-9
"""The share by which lengths on the cloth are taken longer, for rounding."""


def most_by_lines(ways: Sequence[Way], reached: BaseGeometry) -> int | None:
    """The most copies of one panel that may lie in these ways on what they reach; None where nothing is found so (a body
    that is not convex)."""
    if not ways or any(not _is_convex(way.body) for way in ways):
        return None
    upright = _most(ways, reached)
    turned = [
        Way(way.panel, affinity.rotate(way.body, 90, origin=(0, 0)), affinity.rotate(way.positions, 90, origin=(0, 0)))
        for way in ways
    ]
    level = _most(turned, affinity.rotate(reached, 90, origin=(0, 0)))
    return min((most for most in (upright, level) if most is not None), default=None)


def _is_convex(body: Polygon) -> bool:
    return not body.is_empty and not body.interiors and bool(body.convex_hull.area - body.area <= CONVEX * body.area)


def _most(ways: Sequence[Way], reached: BaseGeometry) -> int | None:
    """The bound by upright lines."""
    left, low, right, high = reached.bounds
    at = left + (right - left) * (np.arange(LINES) + 0.5) / LINES
    lengths = np.array([reached.intersection(LineString([(x, low - 1), (x, high + 1)])).length for x in at]) * (1 + HAIR)
    covered = np.concatenate([_least_covered(way, at) for way in ways])
    weights = _weights(lengths, covered)
    if weights is None:
        return None
    least = float((covered @ weights).min())
    return int(lengths @ weights / least + HAIR) if least > 0 else None


def _least_covered(way: Way, at: Floats) -> Floats:
    """(ranges, lines): the least of each line that a copy covers, wherever in the range its reference point is."""
    x0, _, x1, _ = way.positions.bounds
    ends = np.linspace(x0, x1, LINES + 1)
    where, chord = _chords(way.body)

    def cut(offset: Floats) -> Floats:
        inside = (offset > where[0] + RIM) & (offset < where[-1] - RIM)
        return np.where(inside, np.interp(offset, where, chord), 0.0)

    there = cut(at[None, :] - ends[:, None])
    return np.minimum(there[:-1], there[1:]) * (1 - NEARLY)


def _chords(body: Polygon) -> tuple[Floats, Floats]:
    """The length that an upright line cuts off a convex body, at its corners; between them it is linear."""
    corners = np.unique(shapely.get_coordinates(body)[:, 0])
    _, low, _, high = body.bounds
    lines = shapely.linestrings([[(x, low - 1), (x, high + 1)] for x in corners])
    return corners, np.asarray(shapely.length(shapely.intersection(body, lines)), np.float64)


def _weights(lengths: Floats, covered: Floats) -> Floats | None:
    """Weights of the lines with which every range covers 1 and all lines together count least."""
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("GLOP")
    if solver is None:
        return None
    solver.SetSolverSpecificParametersAsString("max_deterministic_time: 1.0")
    infinity = solver.infinity()
    size = float(covered.max(initial=0.0))
    if size <= 0:
        return None
    weights = [solver.NumVar(0.0, infinity, "") for _ in lengths]
    objective = solver.Objective()
    for weight, length in zip(weights, lengths, strict=True):
        objective.SetCoefficient(weight, float(length) / size)
    objective.SetMinimization()
    for row in np.unique(np.round(covered / size, 9), axis=0):
        constraint = solver.Constraint(1.0, infinity)
        for n in np.flatnonzero(row):
            constraint.SetCoefficient(weights[n], float(row[n]))
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return None
    return np.array([max(0.0, weight.solution_value()) for weight in weights])
