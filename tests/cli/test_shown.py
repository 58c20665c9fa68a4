"""Measures as they are shown: what the workroom chose, to its step, and back again."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli import shown, units
from cli.shown import Shown, as_told
from cli.units import UnitFault

INCH = Fraction("25.4")


def test_every_sixteenth_up_to_ten_yards_goes_round_exactly() -> None:
    for sixteenths in range(1, 16 * 360 + 1):
        mm = Fraction(sixteenths, 16) * INCH
        assert units.length(f"{shown.inches(mm)} in") == mm
        assert units.length(Shown("in").length(float(mm))) == mm
        assert units.length(Shown("yd").length(float(mm))) == mm


@given(st.sampled_from([1, 2, 4, 8, 16, 32, 64]), st.integers(1, 64 * 400))
def test_other_divisions_of_the_inch_go_round_too(parts: int, count: int) -> None:
    mm = Fraction(count, parts) * INCH
    assert units.length(Shown("in", INCH / parts).length(float(mm))) == mm


@given(st.sampled_from(["mm", "cm", "m"]), st.integers(1, 99_999))
def test_whole_millimetres_go_round_exactly(unit: str, mm: int) -> None:
    written = Shown(unit).length(mm)
    assert units.length(written) == mm


@given(st.floats(0.01, 1e5), st.sampled_from(["mm", "cm", "m", "in", "yd"]))
def test_nothing_is_out_by_more_than_half_a_step(mm: float, unit: str) -> None:
    chosen = Shown(unit)
    written = chosen.length(mm)
    back = Fraction(0) if written.split()[0].replace(".", "").strip("0") == "" else units.length(written)
    assert abs(back - Fraction(mm)) <= chosen.step / 2


@pytest.mark.parametrize(
    ("told", "length", "weight"),
    [
        ("mm", "1156 mm", "86.2 g"),
        ("cm", "115.6 cm", "86.2 g"),
        ("m", "1.156 m", "86.2 g"),
        ("in", "45 1/2 in", "3.04 oz"),
        ("yd", "1 yd 9 1/2 in", "3.04 oz"),
        ("in to 1/8", "45 1/2 in", "3.04 oz"),
        ("IN to 1 in, g", "46 in", "86.2 g"),
        ("mm to 5", "1155 mm", "86.2 g"),
        ("cm to 5 mm, oz", "115.5 cm", "3.04 oz"),
        ("mm to 0.5", "1155.5 mm", "86.2 g"),
    ],
)
def test_the_workrooms_choice(told: str, length: str, weight: str) -> None:
    assert as_told(told).length(1155.7) == length
    assert as_told(told).mass(86.25) == weight


@pytest.mark.parametrize("told", ["ell", "", "in to 1/7", "mm to nothing", "in, lb", "in to 1/8 g", "mm to 0"])
def test_what_is_no_choice(told: str) -> None:
    with pytest.raises(UnitFault):
        as_told(told)


def test_a_whole_yard_and_lengths_below_nothing() -> None:
    assert Shown("yd").length(914.4) == "1 yd"
    assert Shown("yd").length(914.0) == "1 yd"
    assert Shown("yd").length(900) == "35 7/16 in"
    assert Shown("in").number(-3.175) == "−1/8"
    assert Shown().number(-3.2) == "−3"


# The international yard and pound agreement of 1959: the inch is 25.4 mm and the pound 453.59237 g, exactly.
LENGTHS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": INCH,
    '"': INCH,
    "inches": INCH,
    "ft": 12 * INCH,
    "yd": 36 * INCH,
    "yards": 36 * INCH,
}
MASSES = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction("453.59237"),
    "oz": Fraction("453.59237") / 16,
}
VULGAR = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅛": Fraction(1, 8), "⅝": Fraction(5, 8)}


def a_number(dice: random.Random) -> tuple[str, Fraction]:
    """A number as a person may write it, and what it is."""
    whole, under = dice.randint(1, 400), dice.choice([2, 3, 4, 5, 8, 12, 16, 32, 48, 64])
    over, digits = dice.randint(1, under - 1), dice.randint(1, 2)
    sign = dice.choice(list(VULGAR))
    part = dice.randint(1, 10**digits - 1)
    return dice.choice(
        [
            (str(whole), Fraction(whole)),
            (f"{whole} {over}/{under}", whole + Fraction(over, under)),
            (f"{whole}-{over}/{under}", whole + Fraction(over, under)),
            (f"{over}/{under}", Fraction(over, under)),
            (f"{whole}{sign}", whole + VULGAR[sign]),
            (f"{whole}{dice.choice('.,')}{part:0{digits}d}", whole + Fraction(part, 10**digits)),
        ]
    )


def a_measure(dice: random.Random, factors: dict[str, Fraction]) -> tuple[str, Fraction]:
    """One term, the sum of two, or a share of one."""
    (number, value), unit = a_number(dice), dice.choice(list(factors))
    text, amount = f"{number}{dice.choice(['', ' '])}{unit}", value * factors[unit]
    shape = dice.randrange(4)
    if shape == 0:
        under = dice.randint(2, 48)
        over = dice.randint(1, under - 1)
        return f"{over}/{under} of {text}", Fraction(over, under) * amount
    if shape == 1:
        (second, more), other = a_number(dice), dice.choice(list(factors))
        return f"{text} {second} {other}", amount + more * factors[other]
    return text, amount


def test_ten_thousand_expressions_against_fractions_and_the_legal_factors() -> None:
    dice = random.Random(1959)
    for _ in range(10_000):
        read, factors = dice.choice([(units.length, LENGTHS), (units.mass, MASSES)])
        text, exact = a_measure(dice, factors)
        if exact <= 1_000_000:
            assert read(text) == exact, text
