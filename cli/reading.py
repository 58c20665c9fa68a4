"""What is typed after an option, read into what the stash takes; what cannot be read is refused with the option's name.

The functions named `a_…` are given to Typer as readers of options and arguments.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import typer

from . import units
from .saying import note

if TYPE_CHECKING:
    from nesting import Ring

Choice = TypeVar("Choice", bound=StrEnum)


class Unreadable(typer.BadParameter):
    """What was typed cannot be read: what was wrong, what was expected. Typer adds where."""

    def __init__(self, what: str, expected: str, where: str = "", next: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.expected = expected
        self.where = where
        self.next = next


def _reader(read: Callable[[str], Fraction], bare: str) -> Callable[[str | float], float]:
    def parse(text: str | float) -> float:
        if not isinstance(text, str):  # Typer hands defaults to their reader too
            return text
        try:
            amount = float(read(text))
        except units.UnitFault as fault:
            raise Unreadable(fault.what, fault.expected) from None
        if bare and amount and units.is_bare(text):
            note(f"Numbers without a unit were taken as {bare}.")
        return amount

    return parse


a_length = _reader(units.length, "mm")
a_margin = _reader(units.margin, "mm")
a_mass = _reader(units.mass, "g")
a_cloth_weight = _reader(units.cloth_weight, "g/m²")
an_area = _reader(units.area, "mm²")
an_angle = _reader(units.angle, "")


def _whole(least: int) -> Callable[[str | int], int]:
    def parse(text: str | int) -> int:
        if not isinstance(text, str):
            return text
        if not re.fullmatch(r"[0-9]{1,9}", text.strip()) or int(text) < least:
            raise Unreadable(f"{text!r} is not a whole number from {least} up", f"a whole number such as {least + 2}")
        return int(text)

    return parse


a_number = _whole(1)
a_count = _whole(0)


def seconds(text: str | float) -> float:
    """How long to look, in seconds."""
    if not isinstance(text, str):
        return text
    said = re.fullmatch(r"([0-9]{1,5}(?:[.,][0-9]{1,3})?)\s*(?:s|sec|seconds)?", text.strip())
    amount = float(said[1].replace(",", ".")) if said else 0.0
    if not 0 < amount <= 86_400:
        raise Unreadable(f"{text!r} is not a time to look for", "seconds, more than 0 and up to 86400 (a day)")
    return amount


def of_option(read: Callable[[str | float], float], text: str, where: str) -> float:
    """A measure that is only part of what an option says."""
    try:
        return read(text)
    except Unreadable as fault:
        raise Unreadable(fault.what, fault.expected, where) from None


def a_size(text: str, where: str = "") -> tuple[float, float]:
    """Two lengths with an x between them."""
    try:
        first, second = units.size(text)
    except units.UnitFault as fault:
        raise Unreadable(fault.what, fault.expected, where) from None
    if not re.search(r"[^\W\dxX]|[\"″”']", text.lower().replace("by", "")):
        note("Numbers without a unit were taken as mm.")
    return float(first), float(second)


def a_ring(text: str, where: str = "") -> Ring:
    """Corners, one after the other."""
    try:
        ring = tuple((float(x), float(y)) for x, y in units.points(text))
    except units.UnitFault as fault:
        raise Unreadable(fault.what, fault.expected, where) from None
    if not re.search(r"[^\W\d]|[\"″”']", text):
        note("Numbers without a unit were taken as mm.")
    return ring


def allowances(text: str, where: str = "--allowance") -> float | tuple[float, ...]:
    """One allowance for all edges, or one for each with semicolons between."""
    try:
        each = tuple(a_margin(part.strip()) for part in text.split(";"))
    except Unreadable as fault:
        raise Unreadable(fault.what, f"{units.MARGIN.expected}; one for each edge: 1/4 in; 1/4 in; 15; 0", where) from None
    return each[0] if len(each) == 1 else each


def one_of(kinds: type[Choice], text: str, where: str) -> Choice:
    """The word of `kinds` that was typed, whatever its capitals."""
    try:
        return kinds(" ".join(text.lower().replace("-", " ").replace("_", " ").split()))
    except ValueError:
        try:
            return kinds(text.lower().strip())
        except ValueError:
            raise Unreadable(f"{text!r} is none of them", f"one of: {', '.join(kinds)}", where) from None


def shares(texts: Iterable[str], where: str) -> dict[str, float]:
    """Fibres and their percentages: `55% linen, 45% cotton`; one fibre alone is all of it."""
    expected = "fibres with their percentages, such as linen or 55% linen, 45% cotton"
    made: dict[str, float] = {}
    parts = [
        part.strip() for text in texts for part in re.split(r",(?=\s*\D|\s*\d+(?:[.,]\d+)?\s*%)|;|\+", text) if part.strip()
    ]
    if not parts:
        raise Unreadable("no fibre was named", expected, where)
    for part in parts:
        percent = re.search(r"(\d+(?:[.,]\d+)?)\s*%?", part)
        name = " ".join(re.sub(r"\d+(?:[.,]\d+)?\s*%?", " ", part).split()).lower()
        if not name or (percent is None and len(parts) > 1):
            raise Unreadable(f"{part!r} is not a fibre with its percentage", expected, where)
        if name in made:
            raise Unreadable(f"{name!r} is named twice", expected, where)
        made[name] = float(percent[1].replace(",", ".")) if percent else 100.0
    return made


def numbers(texts: Iterable[str], where: str) -> tuple[int, ...]:
    """Panel numbers: `3`, `3,4` or `5-8`."""
    said: list[int] = []
    for part in (part.strip() for text in texts for part in re.split(r"[,;\s]+", text) if part.strip()):
        span = re.fullmatch(r"(\d{1,6})(?:[-–](\d{1,6}))?", part)
        if span is None or (span[2] and int(span[2]) < int(span[1])):
            raise Unreadable(f"{part!r} is not a panel's number", "numbers from the lay, such as 3 or 3,4 or 5-8", where)
        said.extend(range(int(span[1]), int(span[2] or span[1]) + 1))
    return tuple(said)


def picture_file(text: Path, write_over: bool, where: str = "--picture") -> Path:
    """A file to write a picture to, refused before any work is done if it cannot be one."""
    from .page import KINDS

    if text.suffix.lower() not in KINDS:
        raise Unreadable(f"{str(text)!r} does not end in a kind of picture", f"a name that ends in {', '.join(KINDS)}", where)
    return a_new_file(text, write_over, where)


def a_new_file(text: Path, write_over: bool, where: str) -> Path:
    """A file to write, refused before any work is done if it cannot be one, or is there already and not to be written over."""
    if text.is_dir() or not text.parent.is_dir():
        raise Unreadable(
            f"{str(text)!r} cannot be written: there is no such folder", "a file in a folder that is there", where
        )
    if text.exists() and not write_over:
        raise Unreadable(f"{str(text)!r} is there already", "another name, or --write-over to write over it", where)
    return text


def yes_or_no(text: str) -> bool:
    """Yes or no, as people and other programs write it."""
    said = text.strip().lower()
    if said in ("yes", "y", "true", "on", "1"):
        return True
    if said in ("no", "n", "false", "off", "0"):
        return False
    raise Unreadable(f"{text!r} is neither yes nor no", "yes or no")


def a_date(text: str) -> date:
    """A day: `2026-03-02`, today or yesterday."""
    said = text.strip().lower()
    if said in ("today", "yesterday"):
        return date.today() - timedelta(days=said == "yesterday")
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise Unreadable(f"{text!r} is not a day", "year, month and day, 2026-03-02, or today or yesterday") from None


def an_age(text: str) -> date:
    """The day that long ago: `10 days`, `6 months`, `2 years`; or a day."""
    said = re.fullmatch(r"(\d{1,5})\s*(day|week|month|year)s?", text.strip().lower())
    if said is None:
        try:
            return a_date(text)
        except Unreadable:
            raise Unreadable(f"{text!r} is not an age", "10 days, 3 weeks, 6 months, 2 years, or a day: 2026-03-02") from None
    days = {"day": 1.0, "week": 7.0, "month": 365.2425 / 12, "year": 365.2425}[said[2]]  # the mean Gregorian year
    try:
        return date.today() - timedelta(days=round(int(said[1]) * days))
    except OverflowError:
        raise Unreadable(f"{text!r} ago there was no calendar", "an age such as 2 years") from None


def a_day_to_come(text: str, where: str = "") -> date:
    """A day to come: `2026-12-09`, today, tomorrow, or so long from today: `10 days`, `3 weeks`, `2 months`."""
    said = text.strip().lower()
    ahead = re.fullmatch(r"(\d{1,4})\s*(day|week|month)s?", said)
    if said in ("today", "tomorrow"):
        return date.today() + timedelta(days=said == "tomorrow")
    if ahead:
        return date.today() + timedelta(
            days=round(int(ahead[1]) * {"day": 1.0, "week": 7.0, "month": 365.2425 / 12}[ahead[2]])
        )
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise Unreadable(f"{text!r} is not a day to come", "2026-12-09, today, tomorrow, 10 days or 3 weeks", where) from None


def a_price(text: str | int) -> int:
    """An amount of money in whole cents."""
    if not isinstance(text, str):
        return text
    try:
        return units.cents(text)
    except units.UnitFault as fault:
        raise Unreadable(fault.what, fault.expected) from None


def a_percentage(text: str | float) -> float:
    """Percent, with or without the sign."""
    if not isinstance(text, str):
        return text
    said = re.fullmatch(r"(\d{1,3}(?:[.,]\d{1,4})?)\s*%?", text.strip())
    amount = float(said[1].replace(",", ".")) if said else 101.0
    if amount > 100:
        raise Unreadable(f"{text!r} is not a percentage", "0 to 100, such as 6%")
    return amount


@dataclass(frozen=True)
class Weighed:
    """Pieces of cloth that were weighed together: how many, of what size, and what they weigh (mm, g)."""

    pieces: int
    length: float
    width: float
    mass: float


def a_weighed_piece(text: str, where: str) -> Weighed:
    """`40cm x 30cm: 22.2 g`, or several at once, `4 of 20cm x 20cm: 29 g`."""
    expected = "a size and what it weighs, 40cm x 30cm: 22.2 g, or several at once, 4 of 20cm x 20cm: 29 g"
    said = re.fullmatch(r"\s*(?:(\d{1,3})\s+of\s+)?([^:]+):([^:]+)", text)
    if said is None or said[1] == "0":
        raise Unreadable(f"{text!r} is not a weighed piece", expected, where)
    length, width = a_size(said[2], where)
    return Weighed(int(said[1] or 1), length, width, of_option(a_mass, said[3], where))
