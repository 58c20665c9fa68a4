"""Units against the legal definitions, against pint, and against plain fractions."""

from __future__ import annotations

import doctest
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli import shown, units
from cli.shown import Shown
from cli.units import Kind, UnitFault


def test_the_examples_in_the_docstrings_run() -> None:
    outcome = doctest.testmod(units)
    assert outcome.attempted > 5
    assert outcome.failed == 0


# The international yard and pound agreement of 1959 (in UK law: Units of Measurement Regulations 1995, schedule): the yard is
# 0.9144 m and the pound 0.45359237 kg, exactly.
@pytest.mark.parametrize(
    ("read", "text", "exact"),
    [
        (units.length, "1 in", "25.4"),
        (units.length, "1 yd", "914.4"),
        (units.length, "1 ft", "304.8"),
        (units.length, "1/4 in", "6.35"),
        (units.length, "1 m", "1000"),
        (units.length, "1 cm", "10"),
        (units.mass, "1 lb", "453.59237"),
        (units.mass, "16 oz", "453.59237"),
        (units.mass, "1 kg", "1000"),
    ],
)
def test_legal_factors_are_exact(read, text: str, exact: str) -> None:  # type: ignore[no-untyped-def]
    assert read(text) == Fraction(exact)


def test_ounces_per_square_yard() -> None:
    """33.9057 g/m²: worked out from the exact units above."""
    assert units.cloth_weight("1 oz/yd2") == Fraction("453.59237") / 16 / Fraction("0.9144") ** 2
    assert float(units.cloth_weight("1 oz/sq yd")) == pytest.approx(33.9057, abs=5e-5)


@pytest.mark.parametrize("kind", [units.LENGTH, units.AREA, units.MASS, units.CLOTH_WEIGHT], ids=lambda kind: kind.name)
def test_the_table_agrees_with_pint(kind: Kind) -> None:
    """Against an outside library: every unit in our table has pint's exact factor."""
    import pint

    registry = pint.UnitRegistry(non_int_type=Fraction)
    spelled = {
        "mm2": "millimeter ** 2",
        "cm2": "centimeter ** 2",
        "in2": "inch ** 2",
        "g/m2": "gram / meter ** 2",
        "oz/yd2": "ounce / yard ** 2",
    }
    for name in kind.everyday:
        theirs = registry.Quantity(Fraction(1), spelled.get(name, name)).to(kind.pint_base).magnitude
        assert Fraction(theirs) == kind.units[name], name


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("412", "412"),
        ("41.2 cm", "412"),
        ("41,2 cm", "412"),
        ("0,125 m", "125"),
        ('3 5/8"', "92.075"),
        ("3-5/8 in", "92.075"),
        ("3⅝ in", "92.075"),
        ("5/8 inch", "15.875"),
        ("½ yd", "457.2"),
        ("1 yd 9 in", "1143"),
        ("2'3\"", "685.8"),
        ("29in", "736.6"),
        ("1.5 Yards", "1371.6"),
        ("5 thou", "0.127"),
    ],
)
def test_lengths_as_people_write_them(text: str, mm: str) -> None:
    assert units.length(text) == Fraction(mm)


def test_a_share_of_a_measure() -> None:
    """*Common practice, no source*: a panel drafted as shares of one measure, here 29 in."""
    assert units.length("7/48 of 29in") == Fraction(7, 48) * 29 * Fraction("25.4")
    assert units.length("1/8 of 29 in") == Fraction("92.075")
    assert units.length("1/12 of 29 in") == Fraction(29, 12) * Fraction("25.4")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing was written"),
        ("   ", "nothing was written"),
        ("about a foot", "cannot be read"),
        ("-30", "less than nothing"),
        ("0", "nothing at all"),
        ("1,250", "read two ways: write 1250 or 1.250"),
        ("5 kg", "'kg' is not a unit of length"),
        ("5 hours", "'hours' is not a unit of length"),
        ("5 gurgles", "there is no unit 'gurgles'"),
        ("5 cm cm", "cannot be read"),
        ("5 6", "without its unit"),
        ("5 cm 6", "without its unit"),
        ("1/0 in", "something / 0"),
        ("nan", "cannot be read"),
        ("inf", "cannot be read"),
        ("1e3", "without its unit"),
        ("5 %", "cannot be read"),
        ("5 km", "more than 1,000,000 mm"),
        ("9" * 5000, "too long to be a measure"),
        ("__import__('os')", "cannot be read"),
        ("٣ cm", "cannot be read"),
    ],
)
def test_what_is_no_length_is_refused_plainly(text: str, says: str) -> None:
    with pytest.raises(UnitFault) as refusal:
        units.length(text)
    assert says in str(refusal.value)
    assert "expected" in str(refusal.value)


def test_a_weight_of_cloth_needs_its_area() -> None:
    with pytest.raises(UnitFault, match="'oz' is not a unit of weight of cloth; expected one of g/m2, oz/yd2"):
        units.cloth_weight("8 oz")


def test_only_places_and_angles_may_be_negative() -> None:
    assert units.coordinate("-3 cm") == -30
    assert units.coordinate("0") == 0
    assert units.angle("-12.5°") == Fraction("-12.5")
    with pytest.raises(UnitFault):
        units.mass("-3 g")


def test_a_bare_number_is_known_as_one() -> None:
    assert units.is_bare("41,2")
    assert units.is_bare("3 1/2")
    assert not units.is_bare("3 1/2 in")
    assert not units.is_bare("1/2 of 3")


UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    '"': Fraction("25.4"),
    "yd": Fraction("914.4"),
}


@given(
    whole=st.integers(0, 999),
    over=st.integers(1, 63),
    under=st.sampled_from([2, 3, 4, 8, 12, 16, 32, 48, 64]),
    unit=st.sampled_from(sorted(UNITS)),
    join=st.sampled_from([" ", "-", " - "]),
    gap=st.sampled_from(["", " "]),
)
def test_mixed_fractions_are_exact(whole: int, over: int, under: int, unit: str, join: str, gap: str) -> None:
    assert units.length(f"{whole}{join}{over}/{under}{gap}{unit}") == (whole + Fraction(over, under)) * UNITS[unit]


@given(
    digits=st.integers(1, 39_000),
    places=st.integers(0, 4),
    mark=st.sampled_from(".,"),
    unit=st.sampled_from(["mm", "cm", "in"]),
)
def test_decimals_are_exact(digits: int, places: int, mark: str, unit: str) -> None:
    number = Fraction(digits, 10**places)
    written = f"{digits / 10**places:.{places}f}" if places else str(digits)
    if mark == "," and places == 3 and not written.startswith("0."):
        written += "0"  # three digits after a comma are refused: they can be read two ways
    assert units.length(f"{written.replace('.', mark)} {unit}") == number * UNITS[unit]


@given(st.integers(1, 16 * 2000))
def test_sixteenths_of_an_inch_go_round_exactly(sixteenths: int) -> None:
    mm = Fraction(sixteenths, 16) * Fraction("25.4")
    assert units.length(shown.inches(mm) + " in") == mm
    assert units.length(shown.inches(float(mm)) + " in") == mm


@given(st.text(max_size=80))
def test_no_text_is_anything_but_a_length_or_a_refusal(text: str) -> None:
    try:
        assert 0 < units.length(text) <= units.LONGEST
    except UnitFault:
        return


def test_what_is_shown() -> None:
    assert Shown().size(412, 268.4) == "412 × 268 mm"
    assert Shown("cm").size(412, 268.4) == "41.2 × 26.8 cm"
    assert Shown("in").size(92.075, 25.4) == "3 5/8 × 1 in"
    assert Shown("in").area(914.4**2) == "1.000 yd²"
    assert Shown("in").cloth_weight(33.9057) == "1.0 oz/yd²"
    with pytest.raises(UnitFault, match="one of mm, cm, m, in, yd"):
        Shown("ell")


def test_two_measures() -> None:
    assert units.size("62cm x 40cm") == (620, 400)
    assert units.size("620 × 400") == (620, 400)
    assert units.size("24 1/2 x 16 in") == (Fraction("24.5") * Fraction("25.4"), 16 * Fraction("25.4"))
    assert units.size("1 yd by 9 in") == (Fraction("914.4"), Fraction("228.6"))
    for wrong in ("62cm", "62 x 40 x 3", "", "62 x", "62 cm x -4 cm", "62 cm x 40"):
        with pytest.raises(UnitFault):
            units.size(wrong)


def test_corners() -> None:
    assert units.points("0,0 31cm,0 -1cm,2.5cm") == ((0, 0), (310, 0), (-10, 25))
    assert units.points("0;0 31,5;0 31,5;18 cm") == ((0, 0), (315, 0), (315, 180))
    assert units.points("0,0 3-1/2in,0") == ((0, 0), (Fraction("88.9"), 0))
    for wrong, says in [
        ("", "no corner"),
        ("0,0 5", "corner 2 is '5'"),
        ("0,0 a,5", "corner 2: 'a' cannot be read"),
        ("1,2,3", "corner 1"),
        ("0,0 31cm,0 31,18", "corner 3: .* without a unit"),
    ]:
        with pytest.raises(UnitFault, match=says):
            units.points(wrong)


def test_areas() -> None:
    assert units.area("100 cm2") == units.area("100 sq cm") == units.area("10000") == 10_000
    assert units.area("1 in²") == Fraction("25.4") ** 2
    assert units.length("1ft2in") == 14 * Fraction("25.4")
    with pytest.raises(UnitFault, match="'cm' is not a unit of area"):
        units.area("100 cm")
    with pytest.raises(UnitFault, match="'cm2' is not a unit of length"):
        units.length("100 cm2")


def test_a_margin_may_be_nothing() -> None:
    assert units.margin("0") == 0
    with pytest.raises(UnitFault, match="less than nothing"):
        units.margin("-1")
