"""A tapered panel, 107.42 mm long with straight ends of 92.075 and 61.383 mm, on a strip of 116 mm (warp) × 1456 mm (weft)
with a margin of 3 mm: head to foot more go in than one way, both counts are proved, and one too many is blamed on the nap.

The counts by elementary arithmetic, 1450 mm being clear: head to foot each panel takes half the sum of its ends and half their
difference is lost once, (1450 − 15.3) / 76.7 = 18.7; one way each takes its wide end, 1450 / 92.075 = 15.7.
"""

from __future__ import annotations

import math

import pytest

from nesting import Case, Cause, Panel, Sheet, examine, solve, why_short
from nesting.bounds import bound_copies

LONG, WIDE, NARROW = 107.42, 92.075, 61.383
PANEL = ((0.0, -WIDE / 2), (LONG, -NARROW / 2), (LONG, NARROW / 2), (0.0, WIDE / 2))
STRIP = ((0.0, 0.0), (116.0, 0.0), (116.0, 1456.0), (0.0, 1456.0))


def case(copies: int, gap: float, *, nap: bool = False, one_way: bool = False) -> Case:
    panel = Panel("panel", PANEL, copies, turns=(0.0,) if one_way else (0.0, 180.0))
    return Case((panel,), (Sheet("strip", STRIP, turns=(0.0,) if nap else None),), gap=gap, edge=3.0)


def by_arithmetic(gap: float, *, one_way: bool) -> int:
    """Panels side against side across 1450 mm, `gap` square to their sides between two."""
    slope = math.hypot(LONG, (WIDE - NARROW) / 2) / LONG
    if one_way:
        return int((1450 + gap) // (WIDE + gap))
    return int((1450 - (WIDE - NARROW) / 2 + gap * slope) // ((WIDE + NARROW) / 2 + gap * slope))


@pytest.mark.parametrize("gap", [pytest.param(0.0, marks=pytest.mark.slow), 3.0])
@pytest.mark.parametrize(("one_way", "most"), [(False, 18), (True, 15)])
def test_both_counts_are_reached_and_proved(gap: float, one_way: bool, most: int) -> None:
    assert by_arithmetic(gap, one_way=one_way) == most
    asked = case(25, gap, one_way=one_way)
    found = solve(asked, rounds=20)
    assert not examine(asked, found).faults
    assert (found.placed, bound_copies(asked, 1.0, found=most).most) == (most, most)


@pytest.mark.parametrize("nap", [True, False])
def test_one_more_than_one_way_allows_is_blamed_on_the_nap(nap: bool) -> None:
    asked = case(16, 3.0, nap=nap, one_way=not nap)
    said = why_short(asked, solve(asked, rounds=10))
    assert (said.cause, said.proved, said.bound) == (Cause.TURN, True, 15)
    assert said.turned is not None
    assert said.turned.placed == 16


def test_one_more_than_both_ways_allow_is_not() -> None:
    asked = case(19, 3.0)
    said = why_short(asked, solve(asked, rounds=10))
    assert (said.cause, said.proved, said.bound) == (Cause.BOUND, True, 18)
