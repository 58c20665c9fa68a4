"""What a person gives, looked over before it is kept: names, tags, initials, figures."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date, datetime
from difflib import get_close_matches

from . import telling
from .refusals import Refused, Unknown

LONGEST_NAME = 80
LONGEST_REASON = 200
LONGEST_TAG = 40
LONGEST_INITIALS = 40
TAG = re.compile(r"[A-Z0-9](?:[A-Z0-9 ./-]*[A-Z0-9])?")
TAG_WORDS = "letters and digits, with spaces, dots, slashes or dashes between them, such as L7 or WOOL-12"
DEAREST = 100_000_000
"""Cents: a million. Above it, cents and whole coins were mistaken."""
FIRST_DAY = date(1800, 1, 1)
LARGEST = 1e7
"""mm, g/m² and the like above this are slips of the hand, or of the unit."""


def key_of(name: str) -> str:
    """A name as it is compared: capitals and spacing do not matter.

    >>> key_of("  Blue  Linen ")
    'blue linen'
    """
    return " ".join(name.split()).casefold()


def a_name(given: str, what: str) -> str:
    """A name with its spacing tidied. Raises Refused for an empty or overlong one, or one with unprintable characters."""
    name = " ".join(given.split())
    if not name:
        raise Refused(f"the {what} has no name", where=what, expected=f"a name of up to {LONGEST_NAME} letters")
    if len(name) > LONGEST_NAME or not name.isprintable():
        why = "cannot be printed" if not name.isprintable() else f"is {len(name)} letters long"
        raise Refused(f"the {what}'s name {why}", where=what, expected=f"a name of up to {LONGEST_NAME} letters")
    return name


def a_reason(given: str, what: str) -> str:
    """A reason, which must be given and fit one line. Raises Refused."""
    reason = " ".join(given.split())
    if not reason or len(reason) > LONGEST_REASON or not reason.isprintable():
        raise Refused(f"{what} needs a reason", where="reason", expected=f"a few words, up to {LONGEST_REASON} letters")
    return reason


def a_description(given: str, what: str) -> str:
    """A short description (colour, weave, place …), which may be empty."""
    return a_name(given, what) if given.strip() else ""


def a_tag(given: str) -> str:
    """A tag as it is chalked: capitals. Raises Refused for one that could not be chalked and read again.

    >>> a_tag(" l7 ")
    'L7'
    """
    tag = " ".join(given.split()).upper()
    if not tag or len(tag) > LONGEST_TAG or not given.isascii() or not TAG.fullmatch(tag):
        said = f"{given!r:.60} is no tag" if given.strip() else "the tag is empty"
        raise Refused(said, where="tag", expected=f"{TAG_WORDS}, up to {LONGEST_TAG} of them")
    return tag


def initials(given: str, what: str) -> str:
    """Whoever does it, by initials or name, who must be said. Raises Refused for none."""
    who = " ".join(given.split())
    if not who or len(who) > LONGEST_INITIALS or not who.isprintable():
        raise Refused(f"{what} needs the initials of whoever does it", where="initials", expected="initials such as MB")
    return who


def a_figure(given: float, what: str, *, unit: str, least: float = 0.0, above: bool = True, most: float = LARGEST) -> float:
    """A number that is finite, above `least` (or at least that, if not `above`) and at most `most`. Raises Refused.

    What it is told in follows from its `unit`: mm, mm², g and g/m² as the reader has chosen, any other as it stands.
    """
    try:
        value = float(given)
    except (TypeError, ValueError, OverflowError):
        value = math.nan
    if math.isfinite(value) and value <= most and (value > least if above else value >= least):
        return value
    said = telling.figure(value, unit) if abs(value) <= LARGEST else f"{given!s:.30}"
    low = f"{'above' if above else 'from'} {telling.figure(least, unit) if least else 0}"
    raise Refused(f"{what} is {said}", where=what, expected=f"a figure {low} up to {telling.figure(most, unit)}")


def cents(given: int | None, what: str) -> int | None:
    """A price in whole cents, None for none that is known. Raises Refused."""
    return None if given is None else a_count(given, what, most=DEAREST)


def a_day(given: date, what: str, today: date) -> date:
    """A day that is not to come. Raises Refused."""
    if not isinstance(given, date) or isinstance(given, datetime):
        raise Refused(f"{what} is {given!s:.30}", where=what, expected="a day, such as 2026-03-02")
    if not FIRST_DAY <= given <= today:
        raise Refused(f"{what} is {given}", where=what, expected=f"a day from {FIRST_DAY} to today, {today}")
    return given


def a_count(given: int, what: str, *, least: int = 0, most: int = 10_000) -> int:
    """A whole number. Raises Refused."""
    if isinstance(given, bool) or not isinstance(given, int) or not least <= given <= most:
        raise Refused(f"{what} is {given!s:.30}", where=what, expected=f"a whole number from {least} to {most}")
    return given


def unknown(what: str, given: str, known: Iterable[str], *, listed: str) -> Unknown:
    """The refusal of a name that is not there, with the names most like it. `listed`: the command that shows them all."""
    names = list(known)
    by_key = {key_of(name): name for name in names}
    close = tuple(by_key[key] for key in get_close_matches(key_of(given), by_key, n=3, cutoff=0.6))
    expected = f"one of: {', '.join(close)}" if close else (f"one that `{listed}` shows" if names else "")
    next_step = "" if names else f"There is no {what} yet"
    return Unknown(f"there is no {what} {given!r:.60}", where=what, expected=expected, next=next_step, close=close)
