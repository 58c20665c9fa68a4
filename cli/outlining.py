"""The outline of a remnant in questions and answers, with a small drawing of what was understood before it is kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from . import questions, reading, taping, units
from .measuring import OutlineTold, Understood, a_bite, a_fault, understood
from .sketch import LETTERS, sketch

if TYPE_CHECKING:
    from stash.measuring import Measures

    from .saying import Voice

WAYS = ("whole", "bites", "corners", "walk", "ties")
LARGEST = "Its largest rectangle, along the grain x across it: 62x40cm"
RECTANGLE = "The rectangle, along the grain x across it: 62x40cm"
MOST_CORNERS = 26


def measured_again(
    told: OutlineTold,
    voice: Voice,
    *,
    wrong_side_up: bool,
    nap: str | None,
    faults: Sequence[str] | None,
    mass: float | None = None,
) -> tuple[Understood, Measures]:
    """A remnant as it is measured after something was done to it; its outline is asked for where it was not told."""
    from stash.measuring import Measures
    from stash.words import Face, Nap

    if told.way is None and questions.at_a_terminal():
        told = ask_outline(told, voice, rough=False)
    found = understood(told, voice.shown)
    return found, Measures(
        outline=found.measured,
        grain_angle=found.grain_angle,
        grain_by=found.grain_by,
        told=told.said,
        face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
        nap=reading.one_of(Nap, nap, "--nap") if nap is not None else None,
        faults=tuple(a_fault(text) for text in faults or []),
        mass=mass,
    )


def ask_outline(told: OutlineTold, voice: Voice, *, rough: bool = True) -> OutlineTold:
    """Ask for the outline: a rectangle at once (which is the largest in a rough one, if that will do), or first another way of
    telling it; drawn and confirmed, unless it is a plain rectangle."""
    while True:
        asked = _ask(told, rough=rough)
        if asked.rough or (asked.size and not asked.bites):
            return asked
        settled = _agreed(asked, voice)
        if settled is None:
            continue
        draw(settled[1], voice)
        if questions.yes("Is that it", default=True):
            return settled[0]


def draw(found: Understood, voice: Voice) -> None:
    """The outline as it was understood, its sides, what it may be out by and how the readings agree."""
    for line in sketch(found.measured.ring, found.grain_angle, plain=voice.plain):
        voice.aside(line)
    for line in described(found, voice):
        voice.aside(line)


def described(found: Understood, voice: Voice) -> Iterator[str]:
    """An outline in words: its sides, its area, how sure it is."""
    from math import dist

    from stash.outlines import area_of

    ring, shown = found.measured.ring, voice.shown
    ends = [*ring[1:], ring[0]]
    names = [f"{_letter(i)}{_letter((i + 1) % len(ring))}" for i in range(len(ring))]
    sides = (f"{name} {shown.number(dist(*side))}" for name, *side in zip(names, ring, ends, strict=True))
    yield f"{', '.join(sides)} {shown.heading}; {shown.area(area_of(ring))}."
    sure = taping.how_sure(found.measured, shown)
    if sure:
        yield f"By the tape: {sure}."
    if found.agreement:
        yield found.agreement


def _agreed(asked: OutlineTold, voice: Voice) -> tuple[OutlineTold, Understood] | None:
    """What was answered, understood; readings that do not agree are asked for again, one by one. None to begin anew."""
    from stash import Refused

    while True:
        try:
            return asked, understood(asked, voice.shown)
        except Refused as fault:
            voice.aside(f"  {fault.what[:1].upper()}{fault.what[1:]}. {fault.next or f'Expected: {fault.expected}'}.")
        except reading.Unreadable as fault:
            voice.aside(f"  {fault.what[:1].upper()}{fault.what[1:]}. Expected: {fault.expected}.")
        if asked.walk is not None:
            again = questions.ask("Read again: side 2 31cm, or turn 2 left 85 (Enter to begin anew)", _as_reading_of_walk)
            asked = replace(asked, walk=_with_reading(asked.walk, again)) if again else asked
        elif asked.ties is not None:
            again = questions.ask("Read again: AC 50.6cm (Enter to begin anew)", _as_tie_or_none)
            asked = replace(asked, ties=_with_tie(asked.ties, again)) if again else asked
        else:
            again = ""
        if not again:
            return None


def _ask(told: OutlineTold, *, rough: bool) -> OutlineTold:
    if told.rough or told.bites:
        way = "rough" if told.rough else "bites"
    else:
        others = WAYS if rough else WAYS[1:]
        way = questions.ask(f"{LARGEST if rough else RECTANGLE} (or: {', '.join(others)})", _a_size_or_way)
        if way not in WAYS:
            return replace(told, size=way, rough=rough)
    if way == "corners":
        return replace(told, points=questions.ask("Its corners in order, 0,0 31,0 31,18 0,16 cm", _as_corners))
    if way == "walk":
        return _with_grain(replace(told, walk=_ask_walk()))
    if way == "ties":
        return _with_grain(replace(told, ties=_ask_ties()))
    size = questions.ask(LARGEST if way == "rough" else RECTANGLE, _as_size)
    bites = list(told.bites)
    while way == "bites" and (bite := questions.ask(_bite_question(len(bites)), _as_bite)):
        bites.append(bite)
    return replace(told, size=size, bites=tuple(bites), rough=way == "rough")


def _with_grain(told: OutlineTold) -> OutlineTold:
    """Cloth that is walked round or tied in need not lie straight: which way its grain runs is asked."""
    if told.grain:
        return told
    question = "The grain runs along (a side: BC; thread 10,5 40,7 cm; or degrees from AB)"
    return replace(told, grain=questions.ask(question, lambda answer: answer, "AB"))


def _ask_walk() -> str:
    """Side by side, and the turn after each, until the first corner is reached again."""
    said: list[str] = []
    unit = ""
    while True:
        number = len(said) // 2 + 1
        back = " (Enter if you are back at A)" if number > 3 else ""
        side = questions.ask(f"Side {number}, from {_letter(number - 1)}{back}", _as_length_or_none if back else _as_length)
        if not side:
            return ", ".join(said)
        unit = unit or _unit_of(side)
        said.append(_with_unit(side, unit))
        said.append(questions.ask("Then turn, left or right, and how many degrees", _as_turn, "left 90"))


def _ask_ties() -> str:
    """Every side in order, then the diagonals that fix the corners, then as many more as there are."""
    count = questions.ask("How many corners? Letter them in order round it, against the clock", _as_corner_count)
    said: list[str] = []
    unit = ""
    for name in _to_be_read(count):
        length = questions.ask(name, _as_length)
        unit = unit or _unit_of(length)
        said.append(f"{name} {_with_unit(length, unit)}")
    while more := questions.ask("Another diagonal, to show a misread one: BD 49.8cm (Enter for none)", _as_tie_or_none):
        said.append(f"{more[:2]} {_with_unit(more[2:].strip(), unit)}")
    return ", ".join(said)


def _to_be_read(count: int) -> list[str]:
    """The sides, and the diagonals from A, which fix the corners between them."""
    sides = [LETTERS[i] + LETTERS[(i + 1) % count] for i in range(count)]
    fixing = [a + b for a, b in combinations(LETTERS[:count], 2) if a == "A" and a + b not in sides and b + a not in sides]
    return sides + fixing


def _letter(number: int) -> str:
    return LETTERS[number % MOST_CORNERS]


def _unit_of(length: str) -> str:
    """The unit that a length was told with, which counts for those that follow without one."""
    return "" if units.is_bare(length) else re.sub(r"^[0-9.,/\s-]+", "", length).strip()


def _with_unit(length: str, unit: str) -> str:
    return f"{length} {unit}" if unit and units.is_bare(length) else length


def _with_reading(walk: str, again: str) -> str:
    """A walk with one reading in the place of another."""
    what, number, value = again.split(maxsplit=2)
    parts = walk.split(", ")
    at = 2 * (int(number) - 1) + (what == "turn")
    if 0 <= at < len(parts):
        parts[at] = value if what == "turn" else _with_unit(value, _unit_of(parts[0]))
    return ", ".join(parts)


def _with_tie(ties: str, again: str) -> str:
    """Ties with one reading in the place of another, or one more."""
    parts = ties.split(", ")
    unit = _unit_of(parts[0][2:].strip())
    name, value = again[:2].upper(), _with_unit(again[2:].strip(), unit)
    kept = [part for part in parts if part[:2].upper() not in (name, name[::-1])]
    return ", ".join([*kept, f"{name} {value}"])


# --- answers, looked over ------------------------------------------------------------------------------------------------


def _a_size_or_way(answer: str) -> str:
    """A size begins with a figure, a way of telling it with a letter."""
    if not answer:
        raise reading.Unreadable("nothing was answered", f"two measures, or one of: {', '.join(WAYS)}")
    return questions.chosen(answer, WAYS) if answer[:1].isalpha() else _as_size(answer)


def _bite_question(number: int) -> str:
    return "Another bite (Enter for none)" if number else "The bite that is missing, far right: 8cm x 5cm"


def _as_size(answer: str) -> str:
    reading.a_size(answer)
    return answer


def _as_corners(answer: str) -> str:
    reading.a_ring(answer)
    return answer


def _as_bite(answer: str) -> str:
    if answer:
        a_bite(answer)
    return answer


def _as_length(answer: str) -> str:
    """A length, whose unit may be that of the first: nothing is said yet of what a bare number means."""
    try:
        units.length(answer)
    except units.UnitFault as fault:
        raise reading.Unreadable(fault.what, fault.expected) from None
    return answer


def _as_length_or_none(answer: str) -> str:
    return _as_length(answer) if answer else ""


def _as_turn(answer: str) -> str:
    """`left 93`, `right 20`, or a number alone, which is to the left."""
    said = re.fullmatch(r"(left|right|l|r)?\s*(.*)", answer, re.IGNORECASE)
    if said is None or not answer:
        raise reading.Unreadable("nothing was answered", "left or right, and how many degrees: left 93")
    way = "right" if (said[1] or "l").lower().startswith("r") else "left"
    if said[2]:
        reading.an_angle(said[2])
    return f"{way} {said[2] or '90'}"


def _as_corner_count(answer: str) -> int:
    count = reading.a_number(answer)
    if not 3 <= count <= MOST_CORNERS:
        raise reading.Unreadable(f"{count} corners cannot be lettered", f"from 3 to {MOST_CORNERS}")
    return count


def _as_tie_or_none(answer: str) -> str:
    if not answer:
        return ""
    said = re.fullmatch(r"([A-Za-z]{2})(?![A-Za-z])\s*(\S.*)", answer)
    if said is None:
        raise reading.Unreadable(
            f"{answer!r} is not a side or a diagonal with its length", "two letters and a length: BD 49.8cm"
        )
    return f"{said[1].upper()} {_as_length(said[2])}"


def _as_reading_of_walk(answer: str) -> str:
    """`side 2 31cm` or `turn 2 left 85`; nothing to begin anew."""
    if not answer:
        return ""
    said = re.fullmatch(r"(side|turn)\s+(\d{1,2})\s*[:=]?\s*(\S.*)", answer, re.IGNORECASE)
    if said is None:
        raise reading.Unreadable(f"{answer!r} is not a reading", "side 2 31cm, or turn 2 left 85")
    value = _as_length(said[3]) if said[1].lower() == "side" else _as_turn(said[3])
    return f"{said[1].lower()} {said[2]} {value}"
