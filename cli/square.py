"""Cloth that is out of square, in words."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from . import reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.lays import Lay

EXPECTED = "how far a weft thread runs off over a width, and to which side: 12mm over 40cm right; or degrees: 1.7 degrees left"
RUNS_OFF = re.compile(r"(.+?)\s+over\s+(.+?)(?:\s*,?\s+(left|right))?", re.IGNORECASE)
DEGREES = re.compile(r"([\d.,]+)\s*(?:°|degrees?)(?:\s*,?\s+(left|right))?", re.IGNORECASE)
NEXT = "Pull it square, damp and press it, and measure it again before it is chalked: what is cut from it as it is will twist."


def a_skew(text: str | float) -> float:
    """Degrees by which the weft is out of square, above 0 to the right (of a thread's far end). Raises Unreadable.

    >>> round(a_skew("12mm over 40cm"), 2), a_skew("1.5 degrees left")
    (1.72, -1.5)
    """
    if isinstance(text, int | float):
        return float(text)
    said = text.strip()
    if found := DEGREES.fullmatch(said):
        return _to_side(reading.an_angle(found[1]), found[2])
    found = RUNS_OFF.fullmatch(said)
    if found is None:
        raise reading.Unreadable(f"{text!r} cannot be read", EXPECTED)
    off, width = reading.a_margin(found[1]), reading.a_length(found[2])
    return _to_side(math.degrees(math.atan2(off, width)), found[3])


def _to_side(degrees: float, side: str | None) -> float:
    return -degrees if side is not None and side.lower() == "left" else degrees


def in_words(skew: float | None) -> str:
    """What a remnant's squareness is, "" where nobody has looked.

    >>> in_words(1.7184), in_words(0.0)
    ('no, by 1.7° to the right: a weft thread runs off by 3.0 % of the width', 'yes')
    """
    if skew is None:
        return ""
    if abs(skew) < 0.05:
        return "yes"
    off = 100 * math.tan(math.radians(abs(skew)))
    side = "right" if skew > 0 else "left"
    return f"no, by {abs(skew):.1f}° to the {side}: a weft thread runs off by {off:.1f} % of the width"


def warn_of(voice: Voice, tag: str, skew: float | None) -> None:
    """Say that a remnant is out of square by more than is tolerated."""
    from stash.squareness import is_skewed

    if is_skewed(skew):
        voice.aside(f"Mind: {tag} is out of square {in_words(skew).removeprefix('no, ')}. {NEXT}")


def warn(voice: Voice, lay: Lay) -> None:
    """The same of all remnants of a lay."""
    from stash.squareness import out_of_square

    for one in out_of_square(lay):
        warn_of(voice, one.tag, one.skew)
