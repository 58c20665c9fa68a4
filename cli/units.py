"""Lengths, weights, areas, prices and angles as people write them. (`shown` writes them back for people.)

This is the only place that knows any unit but those of the store (mm, mm², g, g/m², degrees). Everything is worked out in
exact fractions, so that `3 5/8"` is 92.075 mm and nothing else; what is returned is a `Fraction`, and becomes a float where
it is handed to the stash.

The handful of units that a workroom writes all day stand in a table here, because loading pint takes most of a second; any
other unit is asked of pint, and the tests hold the table against pint and against the legal definitions.

>>> length('3 5/8"')
Fraction(3683, 40)
>>> length("7/48 of 29in") == Fraction(7, 48) * 29 * Fraction("25.4")
True
>>> float(length("12,5 cm"))
125.0
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

INCH = Fraction("25.4")  # mm, exactly: international yard and pound agreement, 1959
YARD = 36 * INCH  # 914.4 mm
POUND = Fraction("453.59237")  # g, exactly: the same agreement
OUNCE = POUND / 16
OUNCE_PER_SQUARE_YARD = OUNCE / (YARD / 1000) ** 2  # g/m²

LONGEST = 1_000_000  # mm: a kilometre of cloth is a slip of the pen
HEAVIEST = 1_000_000  # g


class UnitFault(ValueError):  # noqa: N818 - a sentence for a person, not an error of the program
    """Something written as a measure that cannot be read as one. Says what was wrong and what was expected."""

    def __init__(self, what: str, expected: str) -> None:
        super().__init__(f"{what}; expected {expected}")
        self.what = what
        self.expected = expected


@dataclass(frozen=True)
class Kind:
    """A kind of measure: how it is called, the units written every day, what a bare number means, and an example."""

    name: str
    units: dict[str, Fraction]
    base: str
    pint_base: str
    example: str
    most: int
    least: str = "above 0"  # or "0", or "" for anything

    @property
    def expected(self) -> str:
        return f"{self.name} such as {self.example}"

    @property
    def everyday(self) -> list[str]:
        """One name of each unit in the table."""
        return list({size: name for name, size in reversed(self.units.items())}.values())[::-1]


_INCHES = dict.fromkeys(("in", "inch", "inches", '"', "″", "”", "''"), INCH)
_YARDS = dict.fromkeys(("yd", "yds", "yard", "yards"), YARD)
_FEET = dict.fromkeys(("ft", "foot", "feet", "'", "′", "’"), 12 * INCH)
_METRIC = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
}
LENGTH = Kind(
    "a length",
    {**_METRIC, **_INCHES, **_FEET, **_YARDS},
    base="mm",
    pint_base="millimeter",
    example='412, 41.2 cm, 3 5/8", 3-5/8 in, 7/48 of 29in or 1 yd 9 in (a bare number is mm)',
    most=LONGEST,
)
COORDINATE = Kind("a distance", LENGTH.units, "mm", "millimeter", LENGTH.example, LONGEST, least="")
MARGIN = Kind(
    "a margin", LENGTH.units, "mm", "millimeter", "0, 5, 6.35, 1/4 in or 1.5 cm (a bare number is mm)", LONGEST, least="0"
)
AREA = Kind(
    "an area",
    {
        **dict.fromkeys(("mm2", "mm²", "mm^2", "sq mm"), Fraction(1)),
        **dict.fromkeys(("cm2", "cm²", "cm^2", "sq cm"), Fraction(100)),
        **dict.fromkeys(("in2", "in²", "in^2", "sq in"), INCH**2),
    },
    base="mm²",
    pint_base="millimeter ** 2",
    example="100 cm2 or 16 sq in (a bare number is mm²)",
    most=100_000_000,
    least="0",
)
MASS = Kind(
    "a weight",
    {
        **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), Fraction(1)),
        **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), Fraction(1000)),
        **dict.fromkeys(("mg", "milligram", "milligrams"), Fraction(1, 1000)),
        **dict.fromkeys(("oz", "ounce", "ounces"), OUNCE),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), POUND),
    },
    base="g",
    pint_base="gram",
    example="86 g, 0.25 kg or 3 1/2 oz (a bare number is g)",
    most=HEAVIEST,
)
CLOTH_WEIGHT = Kind(
    "a weight of cloth",
    {
        **dict.fromkeys(("g/m2", "g/m²", "g/m^2", "gsm", "g/sqm", "g/sq m"), Fraction(1)),
        **dict.fromkeys(("oz/yd2", "oz/yd²", "oz/yd^2", "oz/sqyd", "oz/sq yd", "oz/sq yard"), OUNCE_PER_SQUARE_YARD),
    },
    base="g/m²",
    pint_base="gram / meter ** 2",
    example="185 g/m2 or 5 1/2 oz/yd2 (a bare number is g/m²)",
    most=10_000,
)
ANGLE = Kind(
    "an angle",
    dict.fromkeys(("°", "deg", "degree", "degrees"), Fraction(1)),
    base="°",
    pint_base="degree",
    example="12, 12.5° or -3 deg (degrees, counter-clockwise)",
    most=360,
    least="",
)

_LONGEST_TEXT = 60  # characters; also keeps Python from being asked for numbers of thousands of digits
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_DECIMAL = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_NUMBER = rf"(?:[0-9]+(?:\s+|\s*-\s*)[0-9]+/[0-9]+|[0-9]+/[0-9]+|{_DECIMAL})"
_WORD = r"[^\W\d]+"
_SQUARED = rf"(?:sq\s+)?{_WORD}(?:\^?2|²)?"
_UNIT = rf"(?:{_SQUARED}(?:\s*/\s*{_SQUARED})?|''|[\"″”'′’°])"
_TERM = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})?\s*(?=[0-9.,]|$)")
_SHARE = re.compile(rf"^\s*({_NUMBER})\s+of\s+(.+)$", re.IGNORECASE)


def length(text: str) -> Fraction:
    """A length in mm.

    Raises:
        UnitFault: if it is not a length, is nothing or less, or is longer than a kilometre.
    """
    return read(text, LENGTH)


def coordinate(text: str) -> Fraction:
    """A distance from the corner that is measured from, in mm: as a length, but it may be 0 or negative."""
    return read(text, COORDINATE)


def margin(text: str) -> Fraction:
    """An allowance, a gap or a distance kept, in mm: as a length, but it may be 0."""
    return read(text, MARGIN)


def size(text: str, example: str = "62cm x 40cm, 620 x 400 or 24 1/2 in x 16 in") -> tuple[Fraction, Fraction]:
    """Two lengths with an x between them; a unit after the second counts for both (`62 x 40 cm`).

    >>> [int(mm) for mm in size("62 x 40 cm")]
    [620, 400]
    """
    parts = re.split(r"\s*[x×X]\s*|\s+by\s+", text.strip())
    if len(parts) != 2:
        raise UnitFault(f"{text!r} is not two measures", f"two lengths with an x between them, such as {example}")
    first, second = parts
    unit = re.search(rf"({_UNIT})\s*$", _plain(second))
    if is_bare(first) and unit:
        first = f"{first} {unit[1]}"
    elif is_bare(second) and not is_bare(first):
        raise UnitFault(f"{text!r}: {second!r} has no unit, and {first!r} has", f"two lengths such as {example}")
    return length(first), length(second)


def points(text: str) -> tuple[tuple[Fraction, Fraction], ...]:
    """Corners, each an x and a y with a comma between them; a unit at the very end counts for every bare number.

    With decimal commas write a semicolon between x and y instead. Inches with fractions are written with a hyphen (3-1/2in).

    >>> [(int(x), int(y)) for x, y in points("0,0 31,0 31,18 0,16 cm")]
    [(0, 0), (310, 0), (310, 180), (0, 160)]
    """
    expected = 'corners such as "0,0 310,0 310,180 0,160" or "0,0 31,0 31,18 0,16 cm"'
    corners = _plain(text).split()
    unit = corners.pop() if corners and re.fullmatch(_UNIT, corners[-1]) else ""
    between = ";" if ";" in text else ","
    mixed = not unit and any(re.search(rf"[0-9]{_UNIT}$", part) for corner in corners for part in corner.split(between))
    ring = []
    for number, corner in enumerate(corners, start=1):
        parts = corner.split(between)
        if len(parts) != 2:
            raise UnitFault(f"corner {number} is {corner!r}, which is not an x and a y", expected)
        try:
            x, y = (coordinate(f"{part}{unit}" if is_bare(part) else part) for part in parts)
            if mixed and any(is_bare(part) and coordinate(part) for part in parts):
                raise UnitFault(f"{corner!r} has a number without a unit, and others have one", expected)
        except UnitFault as fault:
            raise UnitFault(f"corner {number}: {fault.what}", expected) from None
        ring.append((x, y))
    if not ring:
        raise UnitFault("no corner was written", expected)
    return tuple(ring)


def mass(text: str) -> Fraction:
    """A weight in g."""
    return read(text, MASS)


def cloth_weight(text: str) -> Fraction:
    """Mass per area in g/m².

    >>> round(float(cloth_weight("1 oz/yd2")), 4)
    33.9057
    """
    return read(text, CLOTH_WEIGHT)


def area(text: str) -> Fraction:
    """An area in mm²; it may be 0.

    >>> int(area("100 cm2"))
    10000
    """
    return read(text, AREA)


def angle(text: str) -> Fraction:
    """Degrees, counter-clockwise."""
    return read(text, ANGLE)


def cents(text: str) -> int:
    """An amount of money in whole cents: `12.50`, `12,50` or `12`. The currency is the workroom's, and is not written.

    >>> cents("12,50"), cents("8")
    (1250, 800)
    """
    said = re.fullmatch(r"([0-9]{1,7})(?:[.,]([0-9]{2}))?", text.strip())
    if said is None:
        raise UnitFault(f"{text!r} is not a price", "an amount such as 12.50, without its currency")
    return int(said[1]) * 100 + int(said[2] or 0)


def read(text: str, kind: Kind) -> Fraction:
    """What `text` says, in the base unit of `kind`, exactly.

    Raises:
        UnitFault: with what was wrong and what was expected.
    """
    plain = _plain(text)
    if not plain:
        raise UnitFault("nothing was written", kind.expected)
    if len(plain) > _LONGEST_TEXT:
        raise UnitFault(f"{text[:20]!r}… is too long to be a measure", kind.expected)
    negative = plain[0] in "-−"
    if negative and kind.least:
        raise UnitFault(f"{text!r} is less than nothing", kind.expected)
    amount = _size(plain.lstrip("-−+ ") if negative or plain[0] == "+" else plain, text, kind)
    if amount > kind.most:
        raise UnitFault(f"{text!r} is more than {kind.most:,} {kind.base}, which cannot be meant", kind.expected)
    if amount == 0 and kind.least == "above 0":
        raise UnitFault(f"{text!r} is nothing at all", f"{kind.name} greater than 0")
    return -amount if negative else amount


def is_bare(text: str) -> bool:
    """Whether `text` is a number without a unit, so that a person should be told which unit was taken.

    >>> is_bare("412"), is_bare("41.2 cm")
    (True, False)
    """
    return re.fullmatch(rf"[-−+]?\s*{_NUMBER}", _plain(text)) is not None


def _plain(text: str) -> str:
    """Vulgar fractions and odd spaces written out: `3⅝ in` → `3 5/8 in`."""
    for sign, written in _VULGAR.items():
        text = text.replace(sign, f" {written}")
    return re.sub(r"\s+per\s+", "/", " ".join(text.replace("\N{FRACTION SLASH}", "/").split()))


def _size(plain: str, text: str, kind: Kind) -> Fraction:
    """The sum of the terms (`1 yd 9 in`), or a share of one (`7/48 of 29in`)."""
    share = _SHARE.match(plain)
    if share:
        return _number(share[1], text, kind) * _size(share[2], text, kind)
    terms, end = [], 0
    while end < len(plain):
        term = _TERM.match(plain, end)
        if term is None:
            raise UnitFault(f"{text!r} cannot be read", kind.expected)
        terms.append((_number(term[1], text, kind), term[2]))
        end = term.end()
    if len(terms) > 1 and any(unit is None for _, unit in terms):
        raise UnitFault(f"{text!r} has a number without its unit", kind.expected)
    return sum((number * (_factor(unit, text, kind) if unit else 1) for number, unit in terms), Fraction(0))


def _number(written: str, text: str, kind: Kind) -> Fraction:
    """`3`, `3.5`, `3,5`, `5/8`, `3 5/8` or `3-5/8`."""
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", written):
        one_way, other_way = written.replace(",", ""), written.replace(",", ".")
        raise UnitFault(f"{text!r} can be read two ways: write {one_way} or {other_way}", kind.expected)
    try:
        if "/" in written:
            return sum(map(Fraction, re.split(r"[\s-]+", written)), Fraction(0))
        return Fraction(written.replace(",", "."))
    except ZeroDivisionError:
        raise UnitFault(f"{text!r} has a fraction of nothing (something / 0)", kind.expected) from None


def _factor(unit: str, text: str, kind: Kind) -> Fraction:
    """How many of the base unit one `unit` is."""
    unit = re.sub(r"\s*/\s*", "/", unit)
    known = kind.units.get(unit) or kind.units.get(unit.lower())
    return known if known is not None else _ask_pint(unit, text, kind)


@cache
def _pint_registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


def _ask_pint(unit: str, text: str, kind: Kind) -> Fraction:
    """The same of a unit that is not written every day (`5 thou`, `2 stone`)."""
    import pint

    registry = _pint_registry()
    expected = f"one of {', '.join(kind.everyday)}"
    try:
        one = registry.Quantity(Fraction(1), registry.parse_units(re.sub(r"\^?2|²", "^2", unit)))
        return Fraction(one.to(kind.pint_base).magnitude)
    except pint.DimensionalityError:
        raise UnitFault(f"{text!r}: {unit!r} is not a unit of {kind.name.split(' ', 1)[1]}", expected) from None
    except (pint.PintError, ValueError, AttributeError):
        raise UnitFault(f"{text!r}: there is no unit {unit!r}", expected) from None
