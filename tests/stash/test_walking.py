"""An outline by a walk round it: it closes, and what does not is named."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2
from shapely import Polygon

from nesting import Ring, ring_of
from stash.refusals import Refused
from stash.tape import Tape
from stash.walking import MISREAD, walk
from stash.words import EdgeKind, Way

from .shapes import stars

SCRAP: Ring = ((0.0, 0.0), (420.0, 0.0), (400.0, 310.0), (180.0, 240.0), (15.0, 290.0))


def walked(ring: Ring) -> tuple[list[float], list[float]]:
    """The exact sides and turns of an outline."""
    count = len(ring)
    heads = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise([*ring, ring[0]])]
    sides = [math.dist(a, b) for a, b in pairwise([*ring, ring[0]])]
    return sides, [(heads[(i + 1) % count] - heads[i] + 180) % 360 - 180 for i in range(count)]


@given(shape=stars(least=80), with_last=st.booleans(), clockwise=st.booleans())
def test_a_walk_without_a_slip_gives_the_outline_back(shape: Polygon, with_last: bool, clockwise: bool) -> None:
    ring = ring_of(shape)[::-1] if clockwise else ring_of(shape)
    sides, turns = walked(ring)
    found = walk(sides, turns if with_last else turns[:-1])
    assert found.closing == pytest.approx(0, abs=1e-6)
    assert Polygon(found.measured.ring).area == pytest.approx(shape.area)
    assert walked(found.measured.ring)[0] == pytest.approx(sides)
    assert (found.turned is None) is not with_last
    assert found.measured.way is Way.WALK


@given(shape=stars(least=80), slips=st.lists(st.floats(-0.9, 0.9), min_size=9, max_size=9))
def test_bowditch_spreads_what_is_missing_in_proportion_to_the_sides(shape: Polygon, slips: list[float]) -> None:
    """Each corner is moved by the closing error, times the part of the walk that lies behind it; the outline closes."""
    sides, turns = walked(ring_of(shape))
    read = [side + slip for side, slip in zip(sides, slips, strict=False)]
    found = walk(read, turns[:-1])
    x = y = heading = behind = 0.0
    ends = []
    for side, turn in zip(read, turns, strict=True):
        x, y = x + side * math.cos(heading), y + side * math.sin(heading)
        heading += math.radians(turn)
        ends.append((x, y))
    for (x, y), side, corner in zip(ends, read, [*found.measured.ring[1:], (0.0, 0.0)], strict=True):
        behind += side / sum(read)
        assert corner == pytest.approx((x - behind * ends[-1][0], y - behind * ends[-1][1]), abs=1e-6)
    assert found.closing == pytest.approx(math.hypot(*ends[-1]), abs=1e-6)


def test_turns_that_make_too_much_are_shared_out_alike() -> None:
    sides, turns = walked(SCRAP)
    found = walk(sides, [turn + 0.3 for turn in turns])
    assert found.turned == pytest.approx(1.5)
    assert walked(found.measured.ring)[1] == pytest.approx(turns, abs=1e-6)


@pytest.mark.parametrize("side", range(5))
def test_a_side_that_was_misread_is_among_those_named(side: int) -> None:
    sides, turns = walked(SCRAP)
    sides[side] += 100
    with pytest.raises(Refused, match=r"does not close: it ends 100 mm from where it began") as refusal:
        walk(sides, turns)
    assert f"side {side + 1}" in refusal.value.next
    assert "turn after" not in refusal.value.next  # the turns add up: none of them alone can be it


@pytest.mark.parametrize("turn", range(5))
def test_a_turn_that_was_misread_is_named_alone(turn: int) -> None:
    sides, turns = walked(SCRAP)
    turns[turn] -= 20
    with pytest.raises(Refused, match=r"20\.0° too little") as refusal:
        walk(sides, turns)
    assert f"Read the turn after side {turn + 1} again first" in refusal.value.next


def test_two_slips_are_not_blamed_on_one() -> None:
    sides, turns = walked(SCRAP)
    sides[0] += 70
    turns[2] += 30
    with pytest.raises(Refused) as refusal:
        walk(sides, turns)
    assert refusal.value.next.startswith("No one reading alone explains it")


def test_a_coarse_tape_forgives_what_a_fine_one_does_not_and_says_what_it_costs() -> None:
    sides, turns = walked(SCRAP)
    sides[1] += 6
    with pytest.raises(Refused):
        walk(sides, turns, tape=Tape(0.5, 0.2))
    fine, coarse = walk(walked(SCRAP)[0], turns, tape=Tape(0.5, 0.2)), walk(sides, turns, tape=Tape(5, 1))
    assert coarse.measured.within is not None
    assert fine.measured.within is not None
    assert coarse.measured.within > 4 * fine.measured.within
    assert coarse.closing < coarse.expected * 2


def test_edges_are_told_side_by_side() -> None:
    sides, turns = walked(SCRAP)
    found = walk(sides, turns, [EdgeKind.SELVEDGE, *[EdgeKind.CUT] * 4])
    assert found.measured.sides == ((found.measured.ring[:2], EdgeKind.SELVEDGE),)


@pytest.mark.parametrize(
    ("sides", "turns", "why"),
    [
        ([100, 100], [90, 90], "has 2 sides"),
        ([100, 0, 100], [120, 120], "side 2 is 0"),
        ([100, 100, 100], [120], "1 turns are given for 3 sides"),
        ([100, 100, 100], [120, 190, 120], "turn after side 2 is 190"),
        ([100, 100, 100], [60, -60, 20], "goes round nothing"),
        ([100] * 4, [90, 90, -90, -90], "goes round nothing"),
        ([100, 100, 100], [120, float("nan"), 120], "turn after side 2 is nan"),
    ],
)
def test_walks_that_are_none(sides: list[float], turns: list[float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        walk(sides, turns)


def test_the_limits_are_those_of_the_tables() -> None:
    """One in 1,000 (χ², against SciPy's distribution)."""
    for checks, limit in MISREAD.items():
        assert chi2.sf(limit, checks) == pytest.approx(0.001, rel=0.01)
