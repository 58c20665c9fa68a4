"""An outline by sides and diagonals: it fits them all, and a wrong one is found out."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from nesting import Ring, ring_of
from stash.refusals import Refused
from stash.tape import Tape
from stash.tie_fitting import is_rigid
from stash.tying import LETTERS, tie
from stash.words import EdgeKind, Way

from .shapes import stars

QUAD = {"AB": 420.0, "BC": 311.0, "CD": 386.0, "DA": 290.0, "AC": 506.0, "BD": 498.0}
FIVE: Ring = ((0.0, 0.0), (400.0, 20.0), (520.0, 260.0), (250.0, 420.0), (-60.0, 250.0))
TIES_OF_FIVE = ("AB", "BC", "CD", "DE", "EA", "AC", "AD", "BD", "CE")


def between(ring: Ring, name: str) -> float:
    return math.dist(*(ring[LETTERS.index(letter)] for letter in name))


def read(ring: Ring, names: tuple[str, ...] | list[str]) -> dict[str, float]:
    """Readings to whole mm, as off a tape."""
    return {name: float(round(between(ring, name))) for name in names}


def every_pair(count: int) -> list[str]:
    return [LETTERS[a] + LETTERS[b] for a, b in combinations(range(count), 2)]


def test_sides_and_both_diagonals_of_four_corners() -> None:
    found = tie(QUAD)
    assert Polygon(found.measured.ring).area == pytest.approx(0.121e6, abs=500)
    assert found.spare == 1
    assert max(abs(each.off) for each in found.ties) < 0.2
    assert found.measured.way is Way.TIES
    assert found.measured.within is not None
    assert 0.4 < found.measured.within < 1.2


def test_with_one_spare_reading_one_is_wrong_and_none_is_named() -> None:
    with pytest.raises(Refused) as refusal:
        tie(QUAD | {"BD": 489.0})
    assert refusal.value.what == "one is wrong"
    assert not any(name in str(refusal.value) for name in QUAD)


def test_without_a_spare_reading_nothing_is_noticed() -> None:
    assert tie({name: length for name, length in QUAD.items() if name != "BD"}).spare == 0


@pytest.mark.parametrize(("name", "told"), [("AC", 590.0), ("AD", 498.0), ("CD", 341.0), ("BD", 472.0), ("CE", 680.0)])
def test_with_two_spare_readings_the_misread_one_is_named(name: str, told: float) -> None:
    readings = read(FIVE, TIES_OF_FIVE)
    assert tie(readings).spare == 2
    with pytest.raises(Refused, match=f"one is wrong, likeliest {name}: {name} is read as {told:g} mm") as refusal:
        tie(readings | {name: told})
    assert f"the others make it {readings[name]:.0f} mm" in refusal.value.what
    assert refusal.value.next.startswith(f"Read {name} again")


def test_readings_that_cannot_be_told_apart_are_all_named() -> None:
    """B hangs by three ties: a wrong one of them leaves two, which agree whatever they are."""
    with pytest.raises(Refused, match=r"likeliest (AB|BC|BD) or (AB|BC|BD) or (AB|BC|BD):"):
        tie(read(FIVE, TIES_OF_FIVE) | {"BD": 436.0})


def test_two_wrong_ones_are_not_blamed_on_one() -> None:
    with pytest.raises(Refused, match="more than one is wrong"):
        tie(read(FIVE, every_pair(5)) | {"AC": 540.0, "BE": 380.0})


@settings(max_examples=15)
@given(shape=stars(least=80))
def test_every_reading_gives_the_outline_back(shape: Polygon) -> None:
    """Also with inward corners: all diagonals leave only one outline."""
    ring = ring_of(shape)
    exact = {name: between(ring, name) for name in every_pair(len(ring))}
    found = tie(exact, tape=Tape(0.1))
    assert {name: between(found.measured.ring, name) for name in exact} == pytest.approx(exact, abs=1e-3)
    assert Polygon(found.measured.ring).exterior.is_ccw
    assert found.measured.ring[0] == (0.0, 0.0)
    assert found.measured.ring[1][1] == 0.0
    mirrored = tie(exact, tape=Tape(0.1), clockwise=True)
    assert not Polygon(mirrored.measured.ring).exterior.is_ccw


@settings(max_examples=5)
@given(shape=stars(least=100), data=st.data())
def test_a_misread_digit_is_named_where_every_diagonal_was_read(shape: Polygon, data: st.DataObject) -> None:
    ring = ring_of(shape)[:6]
    if not Polygon(ring).is_valid or len(ring) < 5:
        return
    exact = {name: between(ring, name) for name in every_pair(len(ring))}
    name = data.draw(st.sampled_from(sorted(exact)))
    with pytest.raises(Refused) as refusal:
        tie(exact | {name: exact[name] + data.draw(st.sampled_from([30, 60]))})
    assert name in refusal.value.what or "cannot be" in refusal.value.what


def test_an_inward_corner_is_taken_only_where_it_is_said_or_must_be() -> None:
    arrow = ((0.0, 0.0), (300.0, 0.0), (100.0, 60.0), (60.0, 280.0))  # C points inwards
    exact = {name: between(arrow, name) for name in ("AB", "BC", "CD", "DA", "BD")}
    assert tie(exact).or_else == ("C",)
    said = tie(exact, inward=["C"])
    assert said.measured.ring[2] == pytest.approx((100, 60), abs=1e-3)
    with pytest.raises(Refused, match="no outline with A inward") as refusal:
        tie(exact, inward=["A"])
    assert "C inward" in refusal.value.expected
    assert tie(exact | {"AC": between(arrow, "AC")}).measured.ring[2] == pytest.approx((100, 60), abs=1e-3)


def test_an_impossible_triangle_is_named() -> None:
    with pytest.raises(Refused, match="the triangle ABC cannot be: AC is 806 mm, and BC and AB together only 731 mm"):
        tie(QUAD | {"AC": 806.0})


@pytest.mark.parametrize(
    ("readings", "why", "then"),
    [
        ({"AB": 420, "BC": 311, "CD": 386, "DA": 290}, "4 readings do not fix 4 corners", "Measure AC too"),
        (read(FIVE, ["AB", "BC", "CD", "DE", "EA"]), "5 readings do not fix 5 corners", "Measure AC, BD too"),
        (read(FIVE, ["AB", "BC", "CD", "DA", "AC", "BD", "AE"]), "tied to the others too loosely", "Measure DE too"),
        ({"AB": 420}, "2 corners make no outline", ""),
        ({"AB": 420, "BD": 300, "AD": 300}, "no reading goes to C", ""),
        ({"AB": 420, "BA": 300}, "BA is told twice", ""),
        ({"AA": 420}, "'AA' is not a side", ""),
        ({"A1": 420}, "'A1' is not a side", ""),
        ({"AB": -1, "BC": 2, "CA": 2}, "AB is -1", ""),
    ],
)
def test_too_few_or_ill_chosen_readings(readings: dict[str, float], why: str, then: str) -> None:
    with pytest.raises(Refused, match=why) as refusal:
        tie(readings)
    assert then in refusal.value.next


def test_a_reading_that_is_said_to_help_does() -> None:
    assert not is_rigid([(0, 1), (1, 2), (2, 3), (0, 3)], 4)
    assert is_rigid([(0, 1), (1, 2), (2, 3), (0, 3), (0, 2)], 4)


def test_edges_are_told_side_by_side() -> None:
    found = tie(QUAD, ["cut", "selvedge", "cut", "cut"])  # type: ignore[list-item]
    assert found.measured.sides == ((found.measured.ring[1:3], EdgeKind.SELVEDGE),)
