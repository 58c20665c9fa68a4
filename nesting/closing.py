"""What would close a gap: the smallest rectangle on the grain that is found to hold the copies that a lay lacks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .forms import Case, Panel, Sheet, Strip
from .shortfall import Solver

MOST_ROWS = 5
"""Widths that are tried: so many panels side by side, from one up."""
ROUNDS = 3
"""Rounds for each width: a person adds a hand's breadth anyway."""
SLACK = 2e-4
"""The share of itself by which a strip is taken wider, for the hair by which the search draws panels in."""
WHOLE = 1.0
"""mm to which a rectangle is rounded up."""


@dataclass(frozen=True, slots=True)
class Closing:
    """A rectangle that holds some copies with the edges kept from its rim: along the grain, across it (mm)."""

    length: float
    width: float

    @property
    def area(self) -> float:
        return self.length * self.width


def smallest_rectangle(
    panels: Sequence[Panel], *, gap: float = 0.0, edge: float = 0.0, seed: int = 0, solver: Solver | None = None
) -> Closing | None:
    """The rectangle of least area that was found to hold all copies of the panels: there may be a smaller one.

    The panels are laid on strips of several widths. None where no lay was found; raises ValueError without copies.

    >>> square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    >>> smallest_rectangle([Panel("p", square, copies=4)], edge=1.5)
    Closing(length=23.0, width=24.0)
    """
    wanted = tuple(replace(panel, on=None, anchor=None) for panel in panels if panel.copies > 0)
    if not wanted:
        raise ValueError("no copies are wanted")
    if solver is None:
        from .solving import solve

        solver = solve
    narrowest = max(_narrowest(panel) for panel in wanted)
    rows = range(1, min(MOST_ROWS, sum(panel.copies for panel in wanted)) + 1)
    found = []
    for row in rows:
        width = (row * narrowest + (row - 1) * gap) * (1 + SLACK)
        laid = solver(Case(wanted, strip=Strip(width), gap=gap), rounds=ROUNDS, seed=seed)
        if laid.length is not None:
            found.append(Closing(_up(laid.length + 2 * edge), _up(width + 2 * edge)))
    # Of two alike the squarer: it is found in a bin more easily than a long one.
    return min(found, key=lambda one: (round(one.area, 3), max(one.length, one.width)), default=None)


def as_sheet(closing: Closing, name: str) -> Sheet:
    """The rectangle as a sheet, to try it."""
    return Sheet(name, ((0.0, 0.0), (closing.length, 0.0), (closing.length, closing.width), (0.0, closing.width)))


def _up(size: float) -> float:
    return math.ceil(size / WHOLE - 1e-6) * WHOLE


def _narrowest(panel: Panel) -> float:
    """The least width across the grain that the panel takes at one of its turns."""
    from .instance import turns_of
    from .nofit import turned

    ring = np.array(panel.outline)
    return min(float(np.ptp(turned(ring, turn, False), axis=0)[1]) for turn in turns_of(panel))
