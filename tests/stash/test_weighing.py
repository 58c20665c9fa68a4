"""A cloth's weight from a weighed piece: what it is, how far it can be trusted, what is refused."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash import Workroom, cloths
from stash.refusals import Refused, Unknown
from stash.remnants import get
from stash.weighing import LEAST_PIECE, WORST, weigh_piece
from stash.words import Account

from .scenes import linen, scrap


def test_a_small_piece_on_a_kitchen_scale_is_no_weighing() -> None:
    """10 × 10 cm of 200 g/m² is 2 g; a kitchen scale shows whole grams, and may be out by half of one: ±25 %."""
    with pytest.raises(Refused, match="out by 25 %") as refusal:
        weigh_piece(2, 100, 100, scale=0.5)
    assert refusal.value.next.startswith("Weigh at least 530 cm²")


def test_what_the_refusal_asks_for_is_enough() -> None:
    """530 cm² of it, 10.4 g: within 5 %; 10 % less is not."""
    assert weigh_piece(10.6, 530, 100, scale=0.5).share <= WORST
    with pytest.raises(Refused):
        weigh_piece(9.36, 468, 100, scale=0.5)


def test_the_weight_is_mass_by_area() -> None:
    """BS 2471 and ASTM D3776: mass ÷ area. 0.25 m² of 45 g is 180 g/m²."""
    said = weigh_piece(45, 500, 500, scale=0.5)
    assert said.weight == pytest.approx(180)
    assert said.within == pytest.approx(180 * math.sqrt((0.5 / 45) ** 2 + 2 * (1 / 500) ** 2))


def test_pieces_are_weighed_together() -> None:
    alone = weigh_piece(21.6, 400, 300, scale=0.5)
    four = weigh_piece(86.4, 400, 300, scale=0.5, pieces=4)
    assert four.weight == pytest.approx(alone.weight)
    assert four.within < alone.within


def test_less_than_astm_weighs_is_refused_however_fine_the_scale() -> None:
    """ASTM D3776-20, option C: a piece of at least 100 cm²."""
    assert LEAST_PIECE == 10_000
    assert weigh_piece(1.8, 100, 100, scale=0.001).weight == pytest.approx(180)
    with pytest.raises(Refused, match="99 cm² of cloth is too little"):
        weigh_piece(1.782, 100, 99, scale=0.001)


@given(
    mass=st.floats(5, 500),
    length=st.floats(200, 2000),
    width=st.floats(200, 2000),
    scale=st.floats(0.01, 1),
    tape=st.floats(0, 3),
)
def test_the_ends_of_what_is_said_hold_the_likely_truths(
    mass: float, length: float, width: float, scale: float, tape: float
) -> None:
    """Against plain differences, one reading out at a time (JCGM 100, 5.1.3): their squares sum to that of what is said."""
    try:
        said = weigh_piece(mass, length, width, scale=scale, tape=tape)
    except Refused:
        return

    def weight(m: float, a: float, b: float) -> Fraction:
        return Fraction(m) / (Fraction(a) * Fraction(b)) * 1_000_000

    step = Fraction(1, 10**6)
    middle = weight(mass, length, width)
    slopes = (
        (weight(mass + step, length, width) - middle) / step,  # type: ignore[arg-type]
        (weight(mass, length + step, width) - middle) / step,  # type: ignore[arg-type]
        (weight(mass, length, width + step) - middle) / step,  # type: ignore[arg-type]
    )
    expected = math.hypot(*(float(slope) * out for slope, out in zip(slopes, (scale, tape, tape), strict=True)))
    assert said.within == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"mass": 0}, "mass is 0"),
        ({"length": -1}, "length is -1"),
        ({"width": float("nan")}, "width is nan"),
        ({"scale": 0}, "scale may be out by is 0"),
        ({"tape": -1}, "tape may be out by is -1"),
        ({"pieces": 0}, "pieces is 0"),
        ({"mass": 5000}, "20000 g/m²"),
        ({"tape": 40}, "out by 11 %"),
    ],
)
def test_weighings_that_are_none(told: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        weigh_piece(**({"mass": 45, "length": 500, "width": 500, "scale": 0.5} | told))  # type: ignore[arg-type]


def test_a_weight_put_right_books_masses_by_area_anew(workroom: Workroom) -> None:
    linen(workroom, weight=18.0)
    scrap(workroom, "L1")
    scrap(workroom, "L2", mass=20.0)
    done = cloths.weigh_again(workroom, "blue linen", 180.0, within=4.0, by="MB", note="a nought was missing")
    assert (done.cloth.weight, done.cloth.weight_within, done.remnants) == (180.0, 4.0, ("L1",))
    assert done.mass == pytest.approx(21.6 - 2.16)
    assert (get(workroom, "L1").mass, get(workroom, "L2").mass) == (21.6, 20.0)
    from stash import book

    (entry,) = book.entries(workroom, limit=1)
    assert (entry.number, entry.event, entry.note) == (done.entry, "weighed again", "a nought was missing")
    assert {(line.account, line.mass) for line in entry.lines} == {(Account.BIN, 19_440), (Account.RE_MEASURED, -19_440)}


def test_a_cloth_without_remnants_is_weighed_without_an_entry(workroom: Workroom) -> None:
    linen(workroom)
    assert cloths.weigh_again(workroom, "blue linen", 185, by="MB").entry is None


def test_keepers_of_a_weighed_remnant_keep_their_share_of_its_mass(workroom: Workroom) -> None:
    from .scenes import cuffs, cut_all

    linen(workroom)
    scrap(workroom, mass=30.0)
    cuffs(workroom, count=1)
    keeper = cut_all(workroom).sheets[0].keepers[0]
    assert cloths.weigh_again(workroom, "blue linen", 185, by="MB").remnants == ()
    assert get(workroom, keeper.tag).mass == keeper.mass


@pytest.mark.parametrize(
    ("weight", "within", "by", "kind", "why"),
    [
        (180.0, None, "MB", Refused, "180 g/m² already"),
        (0.0, None, "MB", Refused, "weight is 0"),
        (170.0, 171.0, "MB", Refused, "give or take is 171"),
        (170.0, None, " ", Refused, "initials"),
    ],
)
def test_weights_that_are_not_put_right(
    workroom: Workroom, weight: float, within: float | None, by: str, kind: type[Refused], why: str
) -> None:
    linen(workroom)
    with pytest.raises(kind, match=why):
        cloths.weigh_again(workroom, "blue linen", weight, within=within, by=by)
    assert cloths.get(workroom, "blue linen").weight == 180


def test_an_unknown_cloth_is_not_weighed(workroom: Workroom) -> None:
    with pytest.raises(Unknown):
        cloths.weigh_again(workroom, "blue linen", 180, by="MB")
