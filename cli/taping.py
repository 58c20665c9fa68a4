"""Outlines by tape as they are written: a walk, ties between corners, the grain; and how well the readings agree, in words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from . import reading, units
from .sketch import LETTERS

if TYPE_CHECKING:
    from stash.outlines import Measured
    from stash.tape import Tape
    from stash.tying import Tied
    from stash.walking import Walked
    from stash.words import EdgeKind, GrainBy

    from .shown import Shown

WALK_EXPECTED = (
    'each side and the turn after it, "42cm, left 93, 31cm, left 85, …": left or right, and how many degrees '
    "(none: a square corner)"
)
TIES_EXPECTED = 'two letters and a length each, "AB 42, BC 31.1, CD 38.6, DA 29, AC 50.6 cm"; an inward corner: "D inward"'
GRAIN_EXPECTED = 'selvedge, a side (side 2, or AB), a pulled thread ("thread 10,5 40,7 cm"), or an angle such as 12'
SQUARE = 90.0


def walked(text: str, edges: EdgeKind | Sequence[EdgeKind], tape: Tape, shown: Shown) -> tuple[Measured, str]:
    """The outline of a walk, and how it closed in words."""
    from stash import walking

    sides, turns = a_walk(text)
    found = walking.walk(sides, turns, edges, tape)
    return found.measured, _how_it_closed(found, shown)


def tied(
    text: str, edges: EdgeKind | Sequence[EdgeKind], tape: Tape, shown: Shown, *, clockwise: bool
) -> tuple[Measured, str]:
    """The outline of ties, and how they agree in words."""
    from stash import tying

    readings, inward = some_ties(text)
    found = tying.tie(readings, edges, tape, inward=inward, clockwise=clockwise)
    return found.measured, _how_they_agree(found, shown)


def a_walk(text: str, where: str = "--walk") -> tuple[list[float], list[float]]:
    """Sides in mm, and turns in degrees (left above 0): `42cm, left 93, 31cm, right 20, …`."""
    sides: list[str] = []
    turns: list[float] = []
    for part in _parts(text):
        turn = re.fullmatch(r"(left|right)\b\s*(.*)", part, re.IGNORECASE)
        if turn is None and len(sides) == len(turns):
            sides.append(part)
        elif turn is not None and len(turns) < len(sides):
            by = reading.of_option(reading.an_angle, turn[2], where) if turn[2] else SQUARE
            turns.append(by if turn[1].lower() == "left" else -by)
        else:
            what = f"no turn was told after side {len(sides)}" if turn is None else f"no side was told before {part!r}"
            raise reading.Unreadable(what, WALK_EXPECTED, where)
    if not sides:
        raise reading.Unreadable("no side was told", WALK_EXPECTED, where)
    return _lengths(sides, where), turns


def some_ties(text: str, where: str = "--ties") -> tuple[dict[str, float], list[str]]:
    """Lengths in mm by the letters of their ends, and the corners that are said to point inwards."""
    names: list[str] = []
    lengths: list[str] = []
    inward: list[str] = []
    for part in _parts(text):
        said = re.fullmatch(r"([A-Za-z]{2})(?![A-Za-z])\s*[:=]?\s*(\S.*)", part)
        points_in = re.fullmatch(r"([A-Za-z])\s+inwards?", part)
        if points_in is not None:
            inward.append(points_in[1].upper())
        elif said is not None:
            if said[1].upper() in names or said[1].upper()[::-1] in names:
                raise reading.Unreadable(f"{said[1].upper()} is told twice", TIES_EXPECTED, where)
            names.append(said[1].upper())
            lengths.append(said[2])
        else:
            raise reading.Unreadable(f"{part!r} is not a side or a diagonal with its length", TIES_EXPECTED, where)
    if not names:
        raise reading.Unreadable("no side or diagonal was told", TIES_EXPECTED, where)
    return dict(zip(names, _lengths(lengths, where), strict=True)), inward


def a_grain(text: str, measured: Measured) -> tuple[float, GrainBy]:
    """The angle of the grain (degrees, counter-clockwise from the outline's x), and what showed it."""
    from stash import graining
    from stash.words import GrainBy

    said = " ".join(text.split())
    side = re.fullmatch(r"(?:(?:along )?side )?(\d{1,2})|(?:(?:along )?side )?([A-Za-z])([A-Za-z])", said)
    thread = re.fullmatch(r"(?:a |the )?(?:pulled )?thread:?\s+(.+)", said, re.IGNORECASE)
    if not said:
        return 0.0, GrainBy.LAID
    if said.lower() in ("selvedge", "the selvedge"):
        return graining.by_selvedge(measured), GrainBy.SELVEDGE
    if thread is not None:
        ends = reading.a_ring(thread[1], "--grain")
        if len(ends) != 2:
            raise reading.Unreadable(f"{thread[1]!r} is not two points", GRAIN_EXPECTED, "--grain")
        return graining.by_thread(*ends), GrainBy.THREAD
    if side is not None and (side[2] or "side" in said.lower()):
        return graining.by_side(measured, _side_number(side, len(measured.ring))), GrainBy.SIDE
    try:
        return reading.an_angle(said), GrainBy.ANGLE
    except reading.Unreadable:
        raise reading.Unreadable(f"{text!r} does not say which way the grain runs", GRAIN_EXPECTED, "--grain") from None


def _side_number(said: re.Match[str], count: int) -> int:
    """The number of a side that is told by its number, or by the letters of its ends."""
    if said[1]:
        return int(said[1])
    first, last = (LETTERS.index(said[i].upper()) for i in (2, 3))
    for start, end in ((first, last), (last, first)):
        if start < count and end == (start + 1) % count:
            return start + 1
    raise reading.Unreadable(f"there is no side {said[2].upper()}{said[3].upper()}", GRAIN_EXPECTED, "--grain")


def _parts(text: str) -> list[str]:
    """What stands between commas (with a space after them, since a decimal comma has none) or semicolons."""
    return [part.strip() for part in re.split(r"\s*;\s*|,\s+|,(?=\s*[A-Za-z])|(?<=[A-Za-z\"″]),", text) if part.strip()]


def _lengths(texts: Sequence[str], where: str) -> list[float]:
    """Lengths in mm; a unit after the last alone counts for all."""
    *first, last = texts
    if first and all(units.is_bare(text) for text in first) and not units.is_bare(last):
        unit = re.sub(r"^[0-9.,/\s-]+", "", last)
        texts = [*(f"{text} {unit}" for text in first), last]
    elif len({units.is_bare(text) for text in texts}) > 1:
        bare = next(text for text in texts if units.is_bare(text))
        raise reading.Unreadable(
            f"{bare!r} has no unit, and others have", "a unit after each length, or after the last", where
        )
    return [reading.of_option(reading.a_length, text, where) for text in texts]


def _how_it_closed(found: Walked, shown: Shown) -> str:
    """The closing error, and what was done with it."""
    turned = f"; its turns were {abs(found.turned):.1f}° out" if found.turned is not None and abs(found.turned) >= 0.05 else ""
    ratio = f" (1 : {found.round / found.closing:.0f})" if found.closing >= 0.5 else ""
    spread = ", spread over its sides" if found.closing >= 0.05 else ""
    ended = shown.fine(round(found.closing, 1))
    return f"The walk of {shown.length(found.round)} ended {ended} from where it began{ratio}{spread}{turned}."


def _how_they_agree(found: Tied, shown: Shown) -> str:
    """The residuals, and what no reading checks."""
    if not found.spare:
        said = "No reading is to spare: one that is misread would not be noticed; another diagonal would show it."
    else:
        worst = max(found.ties, key=lambda tie: abs(tie.off))
        off = shown.fine(round(abs(worst.off), 1))
        said = f"The readings agree, {worst.name} the worst by {off}, with {found.spare} to spare."
        if found.spare == 1:
            said += " One more would show which is wrong if one is."
    if found.or_else:
        corners = " or ".join(found.or_else)
        said += (
            f' They would fit as well with {corners} inward: look at the drawing (--look), and say so ("{corners} inward").'
        )
    return said


def how_sure(measured: Measured, shown: Shown) -> str:
    """What an outline may be out by: `corners within ± 0.7 mm, area ± 3 cm²`."""
    if measured.within is None or measured.area_within is None:
        return ""
    return f"corners within ± {shown.fine(round(measured.within, 1))}, area ± {shown.area(measured.area_within)}"
