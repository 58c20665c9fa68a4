"""How a piece may lie on the cloth there is: grain, hands, nap and uneven stripes, against what a seamstress would lay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from shapely import Polygon, affinity

from nesting import Case, Panel, Placement, Result, Sheet, examine, may_be_turned, solve
from stash import Workroom, asking, jobs, patterns
from stash.jobs import NewJobPiece
from stash.lying import ONE_WAY, ONE_WAY_AT_ANY_GRAIN, Asks, Ground, panel_of
from stash.refusals import CannotBeDone
from stash.tables import PieceRow
from stash.words import Grain, Hand

from .scenes import linen, scrap

STRIP = ((0.0, 0.0), (200.0, 0.0), (200.0, 60.0), (0.0, 60.0))
SQUARE = ((0.0, 0.0), (250.0, 0.0), (250.0, 250.0), (0.0, 250.0))
FLAG = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0))


def piece(ring: Sequence[tuple[float, float]] = STRIP, **said: Any) -> PieceRow:
    shape = Polygon(ring)
    return PieceRow(
        **{"name": "strip", "cut_line": shape, "sewing_line": shape, "one_way": False, "off_grain": 0.0, "anchor": None}
        | {"grain": Grain.WARP_WISE}
        | said
    )


def lying(hand: Hand | None = None, *, ground: Ground | None = None, asks: Asks | None = None, **said: Any) -> Panel:
    return panel_of(piece(**said), str(hand or "strip"), hand, ground or Ground(), asks or Asks(), 20)


def most(*panels: Panel) -> Result:
    return solve(Case(panels, (Sheet("s", SQUARE),)), rounds=2)


@pytest.mark.slow
def test_strips_on_a_square_four_on_the_grain_two_on_one_bias_and_no_pair_of_opposite_ones() -> None:
    """250 × 250 mm, strips of 200 × 60, no margin: what was asked."""
    on_the_grain = most(lying())
    assert (on_the_grain.placed, on_the_grain.proved) == (4, True)
    one_bias = most(lying(grain=Grain.BIAS))
    assert (one_bias.placed, one_bias.proved) == (2, True)
    assert {round(p.turn) % 180 for p in one_bias.placements} == {45}
    left, right = (lying(hand, grain=Grain.BIAS) for hand in Hand)
    pair = Case((replace(left, copies=1), replace(right, copies=1)), (Sheet("s", SQUARE),))
    found = solve(pair, rounds=2)
    assert (found.placed, found.bound, found.proved) == (1, 1, True)
    assert not _opposite_ones_fit()


def test_at_once_four_strips_on_the_grain_two_on_one_bias_and_one_of_a_pair() -> None:
    counts = [solve(Case((panel,), (Sheet("s", SQUARE),)), seconds=0).placed for panel in (lying(), lying(grain=Grain.BIAS))]
    hands = tuple(replace(lying(hand, grain=Grain.BIAS), copies=1) for hand in Hand)
    assert (*counts, solve(Case(hands, (Sheet("s", SQUARE),)), seconds=0).placed) == (4, 2, 1)


def _opposite_ones_fit() -> bool:
    """A plain look: a strip at 45° and one at −45°, each wherever it lies on the square, 1 mm apart."""
    square = Polygon(SQUARE)
    places = []
    for turn in (45, -45):
        strip = affinity.rotate(Polygon(STRIP), turn, origin=(0, 0))
        x0, y0, x1, y1 = strip.bounds
        room_x, room_y = 250 - (x1 - x0), 250 - (y1 - y0)
        steps = [(k * room_x / 8, j * room_y / 8) for k in range(9) for j in range(9)]
        at_corner = affinity.translate(strip, -x0, -y0)
        places.append([affinity.translate(at_corner, dx, dy).buffer(-0.01) for dx, dy in steps])
    assert all(square.covers(strip) for several in places for strip in several)
    return any(not a.intersects(b) for a in places[0] for b in places[1])


@pytest.mark.parametrize("grain", Grain)
def test_the_right_hand_lies_as_the_left_mirrored_across_the_grain(grain: Grain) -> None:
    left, right = lying(Hand.LEFT, grain=grain, ring=FLAG), lying(Hand.RIGHT, grain=grain, ring=FLAG)
    for turn in left.turns:
        laid = affinity.rotate(Polygon(left.outline), turn, origin=(0, 0))
        mirror = affinity.scale(laid, 1, -1, origin=(0, 0))
        mates = [affinity.rotate(Polygon(right.outline), other, origin=(0, 0)) for other in right.turns]
        assert min(mate.symmetric_difference(mirror).area for mate in mates) < 1e-6


@pytest.mark.parametrize(
    ("grain", "angles"),
    [
        (Grain.WARP_WISE, {0, 180}),
        (Grain.WEFT_WISE, {90, 270}),
        (Grain.BIAS, {45, 225}),
        (Grain.EITHER_BIAS, {45, 135, 225, 315}),
    ],
)
def test_the_grain_line_lies_on_the_cloth_as_it_is_said(grain: Grain, angles: set[int]) -> None:
    panel = lying(grain=grain, off_grain=2.0)
    assert {round(turn) for turn in panel.turns} == angles
    assert panel.off_grain == 2.0


def test_free_is_any_angle() -> None:
    panel = lying(grain=Grain.FREE)
    assert all(may_be_turned(turn, panel) for turn in range(0, 360, 3))


@pytest.mark.parametrize("grain", Grain)
def test_on_cloth_with_a_nap_a_piece_lies_one_way_of_each_two(grain: Grain) -> None:
    ground = Ground(one_way=True)
    allowed = ONE_WAY if grain is Grain.WARP_WISE else ONE_WAY_AT_ANY_GRAIN
    sheet = Sheet("s", SQUARE, turns=allowed)
    panel = lying(grain=grain, ground=ground)
    for turn in range(360):
        both = may_be_turned(turn, panel, sheet) and may_be_turned(turn + 180, panel, sheet)
        # What may lie at any angle has half of them: along the nap within a right angle, and a little beyond.
        assert not both or (grain is Grain.FREE and abs(math.cos(math.radians(turn))) < 0.39)


def test_on_one_way_cloth_left_and_right_mirror_each_other_weft_wise_too() -> None:
    left, right = (lying(hand, grain=Grain.WEFT_WISE, ground=Ground(one_way=True)) for hand in Hand)
    assert (left.turns, right.turns) == ((90.0,), (270.0,))


STRIPED = Ground(repeats=((0.0, 50.0),))
UNEVEN = Ground(repeats=((0.0, 50.0),), uneven_across=True)


def test_even_stripes_leave_both_ways_and_uneven_ones_one() -> None:
    assert lying(ground=STRIPED).turns == (0.0, 180.0)
    assert lying(ground=UNEVEN).turns == (0.0,)
    assert lying(ground=UNEVEN, asks=Asks(matched=False)).turns == (0.0, 180.0)


@pytest.mark.parametrize(("asks", "turns"), [(Asks(), (180.0,)), (Asks(mirrored=False), (0.0,))])
def test_on_an_uneven_stripe_the_right_hand_is_turned_to_mirror_the_left(asks: Asks, turns: tuple[float, ...]) -> None:
    """The stripe is written out as bars at uneven places; what each hand shows is read along its own width."""
    anchor = {"at": [0.0, 20.0], "between": False}
    left, right = (lying(hand, ground=UNEVEN, asks=asks, ring=FLAG, anchor=anchor) for hand in Hand)
    assert (left.turns, right.turns) == ((0.0,), turns)

    def shows(panel: Panel, turn: float) -> list[float]:
        """Where bars fall on the panel, from its anchor, in the left hand's own y: bars at 0, 10 and 15 of every 50."""
        assert panel.anchor is not None
        sign = 1 if turn == 0 else -1
        found = [sign * (50 * k + bar) for k in (-1, 0, 1) for bar in (0, 10, 15)]
        return sorted(-y if panel is right else y for y in found)

    near = [y for y in shows(left, 0.0) if abs(y) < 40]
    other = [y for y in shows(right, turns[0]) if abs(y) < 40]
    assert (near == other) is asks.mirrored


def test_what_cannot_be_mirrored_is_refused_in_words() -> None:
    ground = Ground(repeats=((0.0, 50.0),), uneven_across=True, one_way=True)
    with pytest.raises(CannotBeDone, match="cannot mirror each other"):
        lying(Hand.RIGHT, ground=ground)


def test_a_matched_panel_lies_true_and_its_anchor_is_mirrored_with_it() -> None:
    anchor = {"at": [30.0, 20.0], "between": False}
    left, right = (lying(hand, ground=STRIPED, off_grain=3.0, anchor=anchor) for hand in Hand)
    assert (left.anchor, right.anchor) == ((30.0, 20.0), (30.0, -20.0))
    assert left.off_grain == 0.0
    assert lying(ground=Ground(), anchor=anchor, off_grain=3.0).anchor is None


@pytest.mark.parametrize("grain", [Grain.WARP_WISE, Grain.WEFT_WISE, Grain.BIAS])
@pytest.mark.parametrize("hand", [None, *Hand])
def test_between_two_bars_is_half_a_repeat_off_at_every_turn(grain: Grain, hand: Hand | None) -> None:
    anchor = {"at": [30.0, 20.0], "between": True}
    panel = lying(hand, grain=grain, ground=Ground(repeats=((40.0, 50.0),)), anchor=anchor)
    assert panel.anchor is not None
    plain = (30.0, -20.0 if hand is Hand.RIGHT else 20.0)
    for turn in panel.turns:
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        dx, dy = panel.anchor[0] - plain[0], panel.anchor[1] - plain[1]
        off = (cos * dx - sin * dy, sin * dx + cos * dy)
        assert [round(abs(each), 6) for each in off] == [20.0, 25.0]


def test_a_job_asks_for_its_pieces_as_they_lie(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    pieces = [
        patterns.NewPiece(name=name, ring=FLAG, grain=grain, left_and_right=hands)
        for name, grain, hands in (("tie", Grain.BIAS, True), ("band", Grain.WEFT_WISE, False), ("bag", Grain.FREE, False))
    ]
    patterns.add(workroom, "apron", pieces)
    jobs.add(workroom, "apron", [NewJobPiece(pattern="apron", piece=p.name, count=2) for p in pieces])
    panels = {panel.id: panel for panel in asking.ask(workroom, "apron").case.panels}
    assert {name: panel.turns for name, panel in panels.items() if name != "bag"} == {
        "tie, left": (45.0, 225.0),
        "tie, right": (315.0, 135.0),
        "band": (90.0, 270.0),
    }
    assert panels["bag"].off_grain == 22.5


def test_a_bias_sign_that_is_swapped_is_found_out() -> None:
    panel = lying(grain=Grain.BIAS)
    case = Case((panel,), (Sheet("s", SQUARE),))
    swapped = Result((Placement("s", panel.id, 60.0, 190.0, 315.0),), placed=1)
    assert [fault.what for fault in examine(case, swapped).faults] == ["is turned by 315: 'strip' allows 45, 225"]
