"""The lost tag: which remnant is this?"""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stash import Workroom, cloths, losing, outlines
from stash.recognising import FARTHEST, InHand, _compared, which
from stash.refusals import Refused, Unknown

from .scenes import cuffs, cut_all, linen, scrap


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100}, weight=320, colour="red")
    scrap(workroom, "L1", length=400, width=300)
    scrap(workroom, "L2", length=410, width=300)
    scrap(workroom, "L3", length=300, width=180, mass=9.9)
    scrap(workroom, "W1", "red wool", length=400, width=300)
    scrap(workroom, "R1", outline=outlines.rectangle(200, 100, rough=True))


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def tags(found: tuple[object, ...]) -> list[str]:
    return [candidate.remnant.tag for candidate in found]  # type: ignore[attr-defined]


def test_measures_and_weight_together_tell_it(bin_: Workroom) -> None:
    found = which(bin_, InHand(measures=(402, 298), mass=21.4))
    assert tags(found)[0] == "L1"
    assert "W1" not in tags(found)  # as large, but 38 g
    assert math.fsum(candidate.share for candidate in found) == pytest.approx(1)
    assert found[0].why == (
        "length 402 mm, 400 mm on record",
        "width 298 mm, 300 mm on record",
        "weight 21 g, 22 g on record",
    )


def test_the_measures_may_be_either_way_round(bin_: Workroom) -> None:
    as_it_lies = which(bin_, InHand(measures=(402, 298)))
    turned = which(bin_, InHand(measures=(298, 402)))
    assert [(c.remnant.tag, c.share) for c in as_it_lies] == [(c.remnant.tag, c.share) for c in turned]
    assert turned[0].compared[0].given == 402


def test_the_weight_alone_may_do(bin_: Workroom) -> None:
    assert tags(which(bin_, InHand(mass=9.8)))[0] == "L3"
    assert tags(which(bin_, InHand(mass=38)))[0] == "W1"


def test_what_is_sure_narrows_it(bin_: Workroom) -> None:
    assert tags(which(bin_, InHand(measures=(400, 300), colour="red"))) == ["W1"]
    assert tags(which(bin_, InHand(measures=(400, 300), fibre="WO"))) == ["W1"]
    assert tags(which(bin_, InHand(measures=(400, 300), cloth="red wool"))) == ["W1"]
    with pytest.raises(Unknown):
        which(bin_, InHand(measures=(400, 300), cloth="green wool"))


def test_of_a_rough_remnant_only_too_little_tells_against_it(bin_: Workroom) -> None:
    assert "R1" in tags(which(bin_, InHand(measures=(240, 130))))
    assert "R1" not in tags(which(bin_, InHand(measures=(150, 100))))
    found = which(bin_, InHand(measures=(240, 130)))
    assert found[0].why[0] == "length 240 mm, at least 200 mm on record"


def test_a_lost_remnant_is_among_them_and_a_cut_one_is_not(bin_: Workroom) -> None:
    losing.not_there(bin_, "W1", by="MB")
    assert tags(which(bin_, InHand(measures=(400, 300), mass=38))) == ["W1"]
    cuffs(bin_, count=1)
    (gone,) = [sheet.tag for sheet in cut_all(bin_).sheets]
    assert gone not in tags(which(bin_, InHand(measures=(400, 300), mass=21.6)))


def test_none_where_none_is_near(bin_: Workroom) -> None:
    assert which(bin_, InHand(measures=(900, 900))) == ()


def test_at_most_as_many_as_asked(bin_: Workroom) -> None:
    assert len(which(bin_, InHand(measures=(404, 300)), most=1)) == 1


@pytest.mark.parametrize(
    ("in_hand", "why"),
    [
        (InHand(), "nothing about it was measured"),
        (InHand(cloth="blue linen"), "nothing about it was measured"),
        (InHand(measures=(0, 300)), "measure is 0"),
        (InHand(mass=float("nan")), "mass is nan"),
        (InHand(mass=5, fibre="plastic"), "no fibre"),
    ],
)
def test_what_cannot_be_looked_for(bin_: Workroom, in_hand: InHand, why: str) -> None:
    with pytest.raises(Refused, match=why):
        which(bin_, in_hand)


def test_a_cloth_that_was_weighed_says_how_far_a_mass_by_area_may_be_out(bin_: Workroom) -> None:
    loose = which(bin_, InHand(mass=23.5))
    assert "L1" in tags(loose)
    cloths.weigh_again(bin_, "blue linen", 180, within=0.5, by="MB")
    closer = which(bin_, InHand(mass=23.5))
    spread = {c.remnant.tag: c.distance for c in loose}["L1"]
    assert {c.remnant.tag: c.distance for c in closer}["L1"] > spread


def test_a_reading_is_weighed_by_the_normal_law() -> None:
    """Against the standard library's normal distribution."""
    from statistics import NormalDist

    said = _compared("length", 407, 400, 5, at_least=False)
    assert said.spreads == pytest.approx(1.4)
    assert said.log_likelihood == pytest.approx(math.log(NormalDist(400, 5).pdf(407)))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_readings_that_are_out_by_what_is_usual_find_it(bin_: Workroom, data: st.DataObject) -> None:
    """Within two spreads on every reading, W1 (which nothing else is like in weight and size) is always first."""
    length = data.draw(st.floats(390, 410))
    width = data.draw(st.floats(292, 308))
    mass = data.draw(st.floats(34, 43))
    assert tags(which(bin_, InHand(measures=(length, width), mass=mass)))[0] == "W1"
    assert FARTHEST == 4
