"""The engine's door: what it gives is allowed, repeats itself, and is never less than a plain fill."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting import Case, Flaw, Panel, Placement, Result, Sheet, Strip, examine, solve
from tests.nesting.row_fill import row_fill
from tests.nesting.shapes import GORE, HOOK, SCRAP, box_ring

HOLED = Sheet(
    "holed", SCRAP, holes=(((150.0, 100.0), (190.0, 100.0), (170.0, 140.0)),), flaws=(Flaw(((300.0, 60.0), (340.0, 110.0))),)
)
CASES = {
    "one panel": Case((Panel("gore", GORE, 14),), (Sheet("scrap", SCRAP),)),
    "gap, edge, hole, tear": Case((Panel("gore", GORE, 14),), (HOLED,), gap=2.0, edge=4.0),
    "one way and two hands": Case((Panel("hook", HOOK, 20, turns=(0.0,), flip=True),), (Sheet("scrap", SCRAP),), gap=1.0),
    "two panels, two sheets": Case(
        (Panel("gore", GORE, 6), Panel("hook", HOOK, 9, on=("b",))), (Sheet("a", SCRAP), Sheet("b", box_ring(400, 300)))
    ),
    "a stack": Case(
        (Panel("gore", GORE, 17),), (Sheet("stack", box_ring(330, 210), plies=4), Sheet("single", SCRAP)), gap=2.0
    ),
    "one-way cloth": Case((Panel("gore", GORE, 9),), (Sheet("s", SCRAP, turns=(180.0,)),)),
    "off grain": Case((Panel("hook", HOOK, 9, off_grain=5.0),), (Sheet("s", SCRAP),)),
    "stripes": Case(
        (Panel("gore", GORE, 9, anchor=(0.0, 0.0)),),
        (Sheet("s", box_ring(500, 400), repeat=(0.0, 50.0), repeat_at=(0.0, 10.0)),),
    ),
    "checks on a scrap": Case(
        (Panel("gore", GORE, 9, anchor=(5.0, 0.0)),), (Sheet("s", SCRAP, repeat=(30.0, 20.0), repeat_at=(3.0, 7.0)),)
    ),
    "a flaw that one may hold": Case(
        (Panel("gore", GORE, 4), Panel("hook", HOOK, 9)),
        (Sheet("s", SCRAP, flaws=(Flaw(((60.0, 60.0), (300.0, 60.0), (300.0, 200.0)), frozenset({"hook"})),)),),
    ),
    "some fixed": Case(
        (Panel("gore", GORE, 12),), (Sheet("s", SCRAP),), fixed=(Placement("s", "gore", 200.0, 150.0, 180.0, False),)
    ),
    "strip": Case((Panel("gore", GORE, 6), Panel("hook", HOOK, 6)), strip=Strip(200.0)),
    "strip with gap": Case((Panel("gore", GORE, 6), Panel("hook", HOOK, 6)), strip=Strip(200.0), gap=3.0),
}


@pytest.mark.parametrize("name", CASES)
def test_every_lay_is_allowed(name: str) -> None:
    case = CASES[name]
    lays: list[Result] = []
    found = solve(case, rounds=4, seed=1, workers=2, on_better=lays.append)
    assert [str(f) for f in examine(case, found).faults] == []
    assert found.placements
    for lay in lays:
        assert not examine(case, lay).faults
    measures = [lay.length if case.strip else -lay.placed for lay in lays]
    assert measures == sorted(measures, reverse=True)  # each better than the one before


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [n for n in CASES if CASES[n].sheets and "fixed" not in n and n not in ("stripes", "checks on a scrap")]
)
def test_never_fewer_than_row_by_row(name: str) -> None:
    case = CASES[name]
    plies = {s.id: s.plies for s in case.sheets}
    rows = sum(plies[p.sheet] for p in row_fill(case))
    assert solve(case, rounds=0).placed >= rows


@pytest.mark.parametrize("name", ["gap, edge, hole, tear", "two panels, two sheets", "strip"])
def test_the_same_seed_workers_and_rounds_give_the_same_lay(name: str) -> None:
    one, two = (solve(CASES[name], rounds=6, seed=3, workers=2) for _ in range(2))
    assert one == two
    assert one.rounds == two.rounds


def test_what_is_fixed_is_in_the_lay_to_the_last_digit() -> None:
    case = CASES["some fixed"]
    assert case.fixed[0] in solve(case, rounds=2, seed=1).placements


def test_it_stops_when_told_to_and_the_first_lay_is_there() -> None:
    found = solve(CASES["one panel"], seconds=60, stop=lambda: True)
    assert found.rounds == 0
    assert found.placed > 0


def test_bound_and_proof_where_areas_settle_it() -> None:
    case = Case((Panel("square", box_ring(10, 10), 9),), (Sheet("s", box_ring(30, 20)),))
    found = solve(case, seconds=1)
    assert (found.placed, found.bound, found.proved, found.complete) == (6, 6, True, False)


def test_more_copies_than_a_sheet_holds_of_a_panel_that_does_not_fit_at_all() -> None:
    case = Case(
        (Panel("long", box_ring(400, 10), 3, turns=(0.0,)), Panel("square", box_ring(10, 10), 2)),
        (Sheet("s", box_ring(300, 50)),),
    )
    found = solve(case, rounds=2)
    assert found.placed == 2
    assert not found.complete


def test_a_panel_wider_than_the_strip_is_named() -> None:
    case = Case((Panel("wide", box_ring(10, 300), 1, turns=(0.0,)),), strip=Strip(200.0))
    with pytest.raises(ValueError, match="wide"):
        solve(case, rounds=1)


def test_a_panel_just_as_wide_as_the_strip_and_a_sheet_just_as_large_as_its_panel() -> None:
    strip = solve(Case((Panel("full", box_ring(30, 200), 3, turns=(0.0,)),), strip=Strip(200.0)), rounds=3)
    assert strip.length == pytest.approx(90, abs=0.05)
    sheet = solve(Case((Panel("full", HOOK, 2, turns=(0.0,)),), (Sheet("s", HOOK),)), rounds=1)
    assert sheet.placed == 1


def test_longer_search_is_never_worse() -> None:
    case = CASES["strip"]
    short, long = (solve(case, rounds=r, seed=2).length for r in (0, 8))
    assert short is not None
    assert long is not None
    assert long <= short


def test_far_from_the_origin_is_as_good_as_near() -> None:
    case = CASES["one panel"]
    far = tuple((x + 90_000.0, y - 70_000.0) for x, y in SCRAP)
    moved = replace(case, sheets=(Sheet("scrap", far),))
    assert solve(moved, rounds=0).placed == solve(case, rounds=0).placed


def test_a_panel_with_a_needle_that_fits_its_sheet_exactly() -> None:
    """A sharp corner draws back farther than the rest when a hair is taken off all round: the room must know it."""
    needle = ((0.0, 0.0), (458.0, 43.0), (0.0, 86.0))
    speck = box_ring(30.0, 30.0)
    case = Case((Panel("needle", needle, 3, turns=(0.0,)), Panel("speck", speck, 4)), (Sheet("s", box_ring(460, 400)),))
    found = solve(case, rounds=4, seed=1)
    assert not examine(case, found).faults
    assert found.placed == 7
