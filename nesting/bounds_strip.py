"""Proved lower bounds on the length of a strip.

Two quick ones: the area of all panels over the width, and the panel that is longest at its shortest. And one that takes
longer: where a sheet of some length can be proved unable to hold all panels (`bounds.bound_copies`), every lay is longer.
"""

from __future__ import annotations

import math
from dataclasses import replace

from shapely.geometry import Polygon

from .bounds import area_offer, body_areas, bound_copies
from .bounds_program import Watch
from .forms import Case, Sheet
from .instance import Instance

ROUNDING = 1e-9
FIRST_STEP, LEAST_STEP = 1 / 4, 1 / 40
"""Steps upwards from the bound in hand, as shares of what lies between it and the length found."""


def quick_least_length(instance: Instance) -> float:
    """No strip is shorter than the area over the width, nor than the panel that is shortest at its best turn, mm.

    The area is of what a panel keeps others out of, half the gap round it: that may lie beyond the strip's own rims. What the
    examination lets pass is left out, so a lay that fills its strip may be longer than this by a hair.
    """
    case = instance.case
    assert case.strip is not None
    beyond = case.gap + 2 * instance.lie
    bodies = math.fsum(a * p.copies for a, p in zip(body_areas(case), case.panels, strict=True))
    area = bodies / (case.strip.width + beyond) - beyond
    longest = max(min(2 * float(instance.half[s, 0]) for s in shapes) for shapes in instance.of_panel)
    return max(area, longest) * (1 - ROUNDING)


def full_length(case: Case) -> float:
    """The length of a strip without any waste, mm."""
    assert case.strip is not None
    return math.fsum(Polygon(p.outline).area * p.copies for p in case.panels) / case.strip.width


def least_length(case: Case, low: float, found: float, effort: float = 1.0, watch: Watch | None = None) -> float:
    """A length that no lay of all panels is shorter than, mm; at least `low`, which is proved, and less than `found`.

    found: the length of a lay in hand. effort: about a second of work for each unit and question; about eight are asked.
    """
    step = FIRST_STEP
    while step >= LEAST_STEP:
        length = low + step * (found - low)
        if length < found * (1 - 1e-6) and not _could_hold_all(case, length, effort, watch):
            low = length
        else:
            step /= 2
    return low


def _could_hold_all(case: Case, length: float, effort: float, watch: Watch | None) -> bool:
    """Whether all panels could lie within that length, for all that is proved."""
    assert case.strip is not None
    width = case.strip.width
    sheet = Sheet("strip", ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))
    whole = replace(case, strip=None, sheets=(sheet,), edge=0.0)
    wanted = sum(panel.copies for panel in case.panels)
    if sum(area_offer(whole, 0, body_areas(whole)).most) < wanted:
        return False
    return bound_copies(whole, effort, found=wanted - 1, watch=watch).most >= wanted
