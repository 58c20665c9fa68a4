"""The choice of sheets, held against plain enumeration of small bins."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.choose import Chooser
from nesting.offers import Choice, LinearCut, Offer

from .enumerate_bins import best_choice, fillings, least_costs

AREAS = st.lists(st.integers(10, 60).map(lambda a: a + 0.5), min_size=1, max_size=3)


@st.composite
def bins(draw: st.DrawFn) -> tuple[list[float], list[int], list[Offer]]:
    areas = draw(AREAS)
    panels = len(areas)
    demand = draw(st.lists(st.integers(0, 5), min_size=panels, max_size=panels))
    offers = []
    for i in range(draw(st.integers(1, 5))):
        cuts: tuple[LinearCut, ...] = ()
        if draw(st.booleans()):
            weights = tuple(draw(st.integers(0, 4)) / 2 for _ in areas)
            cuts = (LinearCut(weights, draw(st.integers(1, 6)) + 0.25),)
        offers.append(
            Offer(
                id=f"s{i}",
                plies=draw(st.sampled_from([1, 1, 1, 2, 4])),
                cost=float(draw(st.sampled_from([0, 1, 1, 2, 3.75, 5, 8]))),
                most=tuple(draw(st.integers(0, 3)) for _ in areas),
                area=float(draw(st.integers(0, 200))),
                cuts=cuts,
            )
        )
    return areas, demand, offers


def keeps_limits(areas: list[float], demand: list[int], offers: list[Offer], choice: Choice) -> None:
    """The choice is one that the offers allow, and its figures are its own."""
    copies = [0] * len(areas)
    for s, counts in choice.picks:
        assert counts in set(fillings(areas, demand, offers[s]))
        copies = [c + offers[s].plies * n for c, n in zip(copies, counts, strict=True)]
    assert tuple(copies) == choice.copies
    assert all(c <= d for c, d in zip(copies, demand, strict=True))
    assert choice.cost == pytest.approx(sum(offers[s].cost for s, _ in choice.picks))
    assert [s for s, _ in choice.picks] == sorted({s for s, _ in choice.picks})


@settings(max_examples=120, deadline=None)
@given(bins())
def test_most_copies_then_least_cost_as_enumeration_says(case: tuple[list[float], list[int], list[Offer]]) -> None:
    areas, demand, offers = case
    most, cost = best_choice(areas, demand, offers)
    choice = Chooser(areas, demand, offers).choose()
    assert choice is not None
    keeps_limits(areas, demand, offers, choice)
    assert (choice.placed, choice.settled) == (most, True)
    assert choice.cost == pytest.approx(cost, abs=1e-5)


@settings(max_examples=80, deadline=None)
@given(bins(), st.integers(0, 10), st.sampled_from([0.0, 1e-4, 1.0]))
def test_what_is_proved_is_never_beaten(case: tuple[list[float], list[int], list[Offer]], copies: int, effort: float) -> None:
    areas, demand, offers = case
    costs = least_costs(areas, demand, offers)
    chooser = Chooser(areas, demand, offers)
    limits = chooser.prove(effort)
    assert limits.most_copies >= max(costs)
    limits = chooser.prove(effort, copies=copies)
    dearest = min((cost for k, cost in costs.items() if k >= limits.copies), default=float("inf"))
    assert limits.least_cost <= dearest * (1 + 1e-9) + 1e-9
    if effort == 1.0:
        assert limits.most_copies == max(costs)
        assert limits.least_cost == pytest.approx(dearest, abs=1e-5)


@settings(max_examples=60, deadline=None)
@given(bins(), st.data())
def test_picks_that_failed_do_not_come_again(case: tuple[list[float], list[int], list[Offer]], data: st.DataObject) -> None:
    areas, demand, offers = case
    chooser = Chooser(areas, demand, offers)
    forbidden: dict[int, list[tuple[int, ...]]] = {}
    for s in range(len(offers)):
        counts = data.draw(st.tuples(*(st.integers(0, 2) for _ in areas)))
        if any(counts):
            forbidden[s] = [counts]
            chooser.forbid(s, counts)
    most, cost = best_choice(areas, demand, offers, forbidden)
    choice = chooser.choose()
    assert choice is not None
    keeps_limits(areas, demand, offers, choice)
    assert choice.placed == most
    assert choice.cost == pytest.approx(cost, abs=1e-5)
    assert chooser.prove().most_copies == best_choice(areas, demand, offers)[0]  # a failed fill proves nothing


def many_sheets(count: int, seed: int) -> tuple[list[float], list[int], list[Offer]]:
    rng = random.Random(seed)
    areas, demand = [40.0, 25.0, 11.0], [16, 8, 6]
    offers = []
    for i in range(count):
        area = rng.uniform(20, 260)
        most = tuple(int(area * rng.uniform(0.6, 0.95) / a) for a in areas)
        offers.append(Offer(f"s{i}", 1, area * rng.uniform(1.0, 1.2), most, area * 0.95))
    return areas, demand, offers


def test_leaving_sheets_out_loses_nothing() -> None:
    """One panel over more sheets than can be enumerated: settled as a plain knapsack over all of them says."""
    rng = random.Random(5)
    demand = 12
    offers = [Offer(f"s{i}", 1, rng.uniform(5, 50), (rng.randint(0, 4),), 1e9) for i in range(300)]
    cheapest = [0.0] + [float("inf")] * demand
    for offer in offers:
        for k in range(demand, 0, -1):
            cheapest[k] = min(cheapest[k], offer.cost + cheapest[max(0, k - offer.most[0])])
    choice = Chooser([1.0], [demand], offers).choose()
    assert choice is not None
    assert choice.settled
    assert choice.cost == pytest.approx(cheapest[demand], rel=1e-6)


@pytest.mark.slow
def test_many_sheets_and_panels_keep_found_above_proved() -> None:
    areas, demand, offers = many_sheets(400, 3)
    chooser = Chooser(areas, demand, offers)
    first, later = chooser.choose(0.05), chooser.choose(0.5)
    limits = chooser.prove(0.2)
    assert first is not None
    assert later is not None
    for choice in (first, later):
        keeps_limits(areas, demand, offers, choice)
        assert choice.placed == limits.most_copies == sum(demand)
        assert choice.cost >= limits.least_cost
    assert later.cost <= 1.05 * limits.least_cost


def test_same_seed_same_choice() -> None:
    areas, demand, offers = many_sheets(120, 4)
    assert Chooser(areas, demand, offers, seed=2).choose(0.1) == Chooser(areas, demand, offers, seed=2).choose(0.1)


def test_only_cheaper_choices_when_asked() -> None:
    areas, demand, offers = many_sheets(30, 1)
    chooser = Chooser(areas, demand, offers)
    best = chooser.choose(2.0)
    assert best is not None
    cheaper = chooser.choose(2.0, hint=best, below=best.cost * 1.3)
    assert cheaper is not None
    assert cheaper.cost < best.cost * 1.3
    assert cheaper.placed >= best.placed
    assert chooser.choose(2.0, hint=best, below=chooser.prove(2.0).least_cost) is None


def test_timid_choices_ask_no_more_than_fills_have_achieved() -> None:
    offers = [Offer("small", 1, 10.0, (4, 4), 400.0), Offer("large", 1, 30.0, (9, 9), 900.0)]
    chooser = Chooser([50.0, 50.0], [4, 0], offers)
    chooser.achieve(0, (2, 0))
    bold, timid = chooser.choose(boldness=1.0), chooser.choose(boldness=0.0)
    assert bold is not None
    assert timid is not None
    assert bold.picks == ((0, (4, 0)),)
    assert timid.picks == ((1, (4, 0)),)
    half = chooser.choose(boldness=0.5)  # 2 + (4 − 2) / 2 = 3 on the small one
    assert half is not None
    assert half.cost == 30.0


def test_timid_mixtures_share_the_room_or_repeat_what_was_laid() -> None:
    chooser = Chooser([1.0, 1.0], [4, 4], [Offer("s", 1, 1.0, (8, 8), 100.0)])
    chooser.achieve(0, (4, 0))
    chooser.achieve(0, (0, 2))
    mixed = chooser.choose(boldness=0.0)
    assert mixed is not None
    assert mixed.placed == 4  # n₁/4 + n₂/2 ≤ 1
    chooser.achieve(0, (3, 2))
    mixed = chooser.choose(boldness=0.0)
    assert mixed is not None
    assert mixed.placed >= 5
    chooser.expect_none(0, 0)
    assert chooser.prove().most_copies == 8


def test_what_is_fixed_stays() -> None:
    offers = [Offer("dear", 1, 100.0, (2,), 10.0), Offer("cheap", 1, 1.0, (5,), 10.0)]
    chooser = Chooser([1.0], [5], offers)
    chooser.fix(0, (1,))
    choice = chooser.choose()
    assert choice is not None
    assert dict(choice.picks)[0][0] >= 1
    assert choice.cost == 101.0
    assert chooser.prove().least_cost == pytest.approx(101.0)


@pytest.mark.parametrize("demand", [[0], [3]])
def test_a_bin_without_sheets_or_wishes(demand: list[int]) -> None:
    choice = Chooser([1.0], demand, []).choose()
    assert choice is not None
    assert (choice.picks, choice.cost, choice.placed) == ((), 0.0, 0)
    assert Chooser([1.0], demand, []).prove().most_copies == 0


def test_plies_make_copies_together() -> None:
    """Four plies make four copies at a time: five wanted cannot be made of them alone (never more than wanted)."""
    choice = Chooser([1.0], [5], [Offer("stack", 4, 1.0, (9,), 100.0)]).choose()
    assert choice is not None
    assert (choice.placed, choice.picks) == (4, ((0, (1,)),))


def test_as_many_of_the_best_are_kept_as_can_be_touched() -> None:
    """Nine copies: two sheets of four and one of one. One sheet that is better than another must not put it out of question,
    since both may be needed; a plain sweep takes three sheets of four, so it does not hide the fault."""
    small = [Offer(f"s{i}", 1, 1.3 + 0.001 * i, (1,), 50.0) for i in range(30)]
    good = [Offer(f"g{i}", 1, 5.0 + 0.001 * i, (4,), 50.0) for i in range(30)]
    choice = Chooser([10.0], [9], small + good).choose()
    assert choice is not None
    assert choice.placed == 9
    assert choice.picks == ((0, (1,)), (30, (4,)), (31, (4,)))
