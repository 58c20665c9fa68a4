"""Stripes and checks from the remnant to the lay: two measurements, an anchor, every panel on its bar."""

from __future__ import annotations

import math
from typing import Any

import pytest
from shapely import Point, affinity

from stash import (
    Workroom,
    asking,
    cutting,
    jobs,
    lays,
    matching,
    measuring,
    mending,
    outlines,
    patterns,
    proving,
    remnants,
    seeking,
)
from stash.jobs import NewJobPiece
from stash.measuring import Measures
from stash.offering import Offer, looked_over
from stash.patterns import Anchor, NewPiece, Notch
from stash.refusals import Held, NothingQualifies, Refused
from stash.seeking import Effort
from stash.unmatched import matching_loss
from stash.words import Face, Hand, Nap

from .scenes import linen, scrap

EFFORT = Effort(seconds=0.0)
ON_THE_BAR = 0.05
# A tapered panel, 200 mm long, whose hem is its wide end: the notch lies in the middle of it.
WEDGE = ((0.0, 0.0), (200.0, 12.0), (200.0, 68.0), (0.0, 80.0))


def striped(workroom: Workroom, **said: Any) -> None:
    linen(workroom, **({"repeat_across": 50.0, "bar": "the dark one"} | said))


def wedges(workroom: Workroom, count: int = 4, **said: Any) -> None:
    given: dict[str, Any] = {"name": "wedge", "ring": WEDGE, "allowance": 10.0, "notches": (Notch("side 4", 40.0),)}
    given["anchor"] = Anchor(edge="side 4", along=40.0)
    patterns.add(workroom, "cushion", [NewPiece(**(given | said))])
    jobs.add(workroom, "cushion", [NewJobPiece(pattern="cushion", piece="wedge", count=count)])


def laid(workroom: Workroom, job: str = "cushion") -> lays.Lay:
    asked = asking.ask(workroom, job)
    return lays.record(workroom, asked, seeking.seek(asked, EFFORT).result, by="MB")


def off_the_bar(workroom: Workroom, lay: lays.Lay) -> float:
    """How far the worst anchor lies off a bar of its remnant, from the piece as it is drawn and the remnant as it is kept."""
    worst = 0.0
    for sheet in lay.sheets:
        for panel in sheet.panels:
            piece = patterns.piece(workroom, "cushion", panel.piece)
            assert piece.anchor is not None
            x, y = piece.anchor.point or (0.0, 0.0)
            spot = Point(x, -y if panel.hand is Hand.RIGHT else y)
            spot = affinity.scale(spot, 1, -1, origin=(0, 0)) if panel.placement.flipped else spot
            spot = affinity.rotate(spot, panel.placement.turn, origin=(0, 0))
            spot = affinity.translate(spot, panel.placement.x, panel.placement.y)
            half = 0.5 if piece.anchor.between else 0.0
            for at, bar, repeat in (
                (spot.x, sheet.remnant.bar_x, sheet.remnant.repeat_along),
                (spot.y, sheet.remnant.bar_y, sheet.remnant.repeat_across),
            ):
                if repeat:
                    assert bar is not None
                    steps = (at - bar) / repeat - half
                    worst = max(worst, abs(steps - round(steps)) * repeat)
    return worst


@pytest.mark.parametrize("between", [True, pytest.param(False, marks=pytest.mark.slow)])
def test_with_a_repeat_of_50_mm_weft_wise_every_anchor_lies_on_its_bar(workroom: Workroom, between: bool) -> None:
    striped(workroom)
    scrap(workroom, "L1", length=480, width=290, bar_near=13.0)
    scrap(workroom, "L2", length=230, width=210, bar_near=44.5)
    wedges(workroom, count=6, left_and_right=True, anchor=Anchor(edge="side 4", along=40.0, between=between))
    lay = laid(workroom)
    assert len(lay.panels) >= 4
    assert {panel.hand for panel in lay.panels} == set(Hand)
    assert off_the_bar(workroom, lay) <= ON_THE_BAR


def test_a_check_holds_both_ways(workroom: Workroom) -> None:
    striped(workroom, repeat_along=30.0)
    scrap(workroom, "L1", length=520, width=330, bar_near=13.0, bar_left=4.0)
    wedges(workroom, anchor=Anchor())
    lay = laid(workroom)
    assert len(lay.panels) >= 2
    assert off_the_bar(workroom, lay) <= ON_THE_BAR


def test_a_remnant_measured_askew_wrong_side_up_and_against_the_nap_has_its_bars_where_they_are(workroom: Workroom) -> None:
    """A rectangle that lay turned by 90°, wrong side up, its nap against the arrow: where its bar was measured is followed by
    hand. 300 mm along the grain, 200 across; as it lay its grain ran upwards, and left of the arrow is the near edge."""
    striped(workroom, repeat_along=60.0)
    outline = outlines.by_points(((0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 300.0)))
    said: dict[str, Any] = {"grain_angle": 90.0, "bar_left": 25.0, "bar_near": 12.0}
    plain = scrap(workroom, "L1", outline=outline, **said)
    assert (plain.bar_x, plain.bar_y) == pytest.approx((25.0, 12.0))
    wrong = scrap(workroom, "L2", outline=outline, face_up=Face.WRONG, **said)
    assert (wrong.bar_x, wrong.bar_y) == pytest.approx((25.0, 200.0 - 12.0))
    against = scrap(workroom, "L3", outline=outline, nap=Nap.AGAINST, **said)
    assert (against.bar_x, against.bar_y) == pytest.approx((300.0 - 25.0, 200.0 - 12.0))


def test_a_remnant_whose_bars_are_not_measured_is_passed_over_with_the_reason(workroom: Workroom) -> None:
    striped(workroom)
    scrap(workroom, "L1")
    wedges(workroom)
    with pytest.raises(NothingQualifies, match="where its bars lie is not measured"):
        asking.ask(workroom, "cushion")
    assert asking.ask(workroom, "cushion", matched=False).case.panels[0].anchor is None
    matching.measure_bars(workroom, "L1", near=10.0, by="MB")
    assert asking.ask(workroom, "cushion").case.sheets[0].repeat == (0.0, 50.0)


def test_measuring_bars_is_noted_and_lays_must_be_tried_again(workroom: Workroom) -> None:
    striped(workroom)
    scrap(workroom, "L1", length=480, width=290, bar_near=13.0)
    wedges(workroom, count=2)
    lay = laid(workroom)
    _, examined = proving.prove(workroom, lay.number)
    assert examined.faults == ()
    assert examined.off_repeat is not None
    assert examined.off_repeat <= ON_THE_BAR
    lays.chalk(workroom, lay.number, by="MB")
    with pytest.raises(Held):
        matching.measure_bars(workroom, "L1", near=10.0, by="MB")
    with pytest.raises(Held):
        mending.mend_cloth(workroom, "blue linen", by="MB", why="wrong", repeat_across=40.0)
    lays.rub_out(workroom, lay.number, by="MB")
    found = matching.measure_bars(workroom, "L1", near=10.0, repeat_across=49.0, by="MB")
    assert (found.repeat_across, found.bar_y, found.revision) == (49.0, 10.0, 2)
    _, examined = proving.prove(workroom, lay.number)
    assert any("misses the repeat across" in fault.what for fault in examined.faults)
    assert [(m.what, m.after) for m in mending.every(workroom)] == [
        ("bars", "every 49 mm across the grain, one 10 mm from its near edge")
    ]


@pytest.mark.parametrize(
    "said", [{}, {"left": 5.0}, {"left": 5.0, "near": 5.0}, {"near": -1.0}, {"near": math.nan}, {"near": 999.0}]
)
def test_measurements_that_do_not_go_with_the_repeat_are_refused(workroom: Workroom, said: dict[str, float]) -> None:
    striped(workroom)
    scrap(workroom, "L1")
    with pytest.raises(Refused):
        matching.measure_bars(workroom, "L1", by="MB", **said)


def test_plain_cloth_has_no_bars(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    with pytest.raises(Refused, match="has no stripe or check"):
        matching.measure_bars(workroom, "L1", near=5.0, by="MB")


@pytest.mark.slow
def test_keepers_have_their_parents_bars_and_measuring_again_forgets_them(workroom: Workroom) -> None:
    striped(workroom)
    scrap(workroom, "L1", length=480, width=290, bar_near=13.0)
    wedges(workroom, count=1)
    lay = laid(workroom)
    lays.chalk(workroom, lay.number, by="MB")
    keeper = cutting.cut(workroom, lay.number, by="MB").sheets[0].keepers[0]
    assert (keeper.repeat_across, keeper.bar_y) == (50.0, 13.0)
    again = measuring.measure_again(workroom, keeper.tag, Measures(outline=outlines.rectangle(200, 150)), by="MB")
    assert again.bar_y is None
    told = measuring.measure_again(workroom, keeper.tag, Measures(outline=outlines.rectangle(200, 150), bar_near=8.0), by="MB")
    assert told.bar_y == 8.0
    assert remnants.look_at(workroom, keeper.tag).repeat_across == 50.0


def test_what_matching_costs_is_stated_against_the_same_lay_without(workroom: Workroom) -> None:
    """Squares of 80 mm, 5 mm apart on a repeat of 50: they come to lie 100 apart, two instead of three on 260 mm."""
    striped(workroom)
    scrap(workroom, "L1", length=90, width=260, bar_near=13.0)
    square = ((0.0, 0.0), (80.0, 0.0), (80.0, 80.0), (0.0, 80.0))
    wedges(workroom, count=3, ring=square, allowance=0.0, notches=(), anchor=Anchor())
    asked = asking.ask(workroom, "cushion")
    seen = looked_over(workroom, [Offer(asked, seeking.seek(asked, EFFORT))])[0]
    assert seen.offer.found.result.placed == 2
    loss = matching_loss(workroom, seen, EFFORT)
    assert loss is not None
    assert (loss.panels, loss.nothing) == (1, False)
    plain = asking.ask(workroom, "cushion", matched=False)
    free = looked_over(workroom, [Offer(plain, seeking.seek(plain, EFFORT))])[0]
    assert matching_loss(workroom, free, EFFORT) is None


def test_an_anchor_off_the_piece_is_refused(workroom: Workroom) -> None:
    with pytest.raises(Refused, match="lies off the piece"):
        wedges(workroom, anchor=Anchor(point=(900.0, 40.0)))


def test_a_job_may_leave_its_stripes_unmatched(workroom: Workroom) -> None:
    striped(workroom)
    scrap(workroom, "L1")
    wedges(workroom)
    mending.mend_job(workroom, "cushion", by="MB", why="patchwork", matched=False)
    assert asking.ask(workroom, "cushion").case.panels[0].anchor is None
