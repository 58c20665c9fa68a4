"""A change of a lay as it is typed: `move 3 to 120mm,40mm`, `turn 5`, `take out 7`, `add another 3`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from . import fixing, reading

if TYPE_CHECKING:
    from stash.on_table import Change, Move, PutIn, Spot, Turn

WHERE = "CHANGE"
FORMS = (
    "move 3 to 120mm,40mm",
    "move 3 to N-02 at 5mm,5mm",
    "move 3-5 by 10mm right, 5mm far",
    "turn 3",
    "turn 3 by 90",
    "turn 3 over",
    "take out 3,4",
    "add another 3",
    "add another 3 at 120mm,40mm",
    "add wedge on N-02 at 3mm,78mm, head to foot",
)
EXPECTED = f"one of: {'; '.join(FORMS)}"
NUMBERS = r"(\d[\d\s,–-]*(?:and\s+\d+)?)"
MOVE_TO = re.compile(rf"move\s+{NUMBERS}\s+to\s+(?:(\S.*?)\s+at\s+)?([^,;]+)\s*[,;]\s*([^,;]+?)", re.IGNORECASE)
MOVE_BY = re.compile(rf"move\s+{NUMBERS}\s+by\s+(.+)", re.IGNORECASE)
TURN = re.compile(rf"turn\s+{NUMBERS}(?:\s+(over|head to foot|by\s+.+))?", re.IGNORECASE)
TAKE_OUT = re.compile(rf"(?:take\s+out|take\s+away|leave\s+out)\s+{NUMBERS}", re.IGNORECASE)
ANOTHER = re.compile(
    r"add\s+another\s+(\d+)(?:\s+on\s+(\S.*?))??(?:\s+at\s+([^,;]+)\s*[,;]\s*([^,;]+?))?"
    r"((?:\s*[,;]\s*(?:head to foot|turned over|as drawn))*)",
    re.IGNORECASE,
)
ADD = re.compile(r"add\s+(.+)", re.IGNORECASE)
WAYS = {"right": (1, 0), "left": (-1, 0), "far": (0, 1), "near": (0, -1)}


def change(text: str) -> Change:
    """What one change says. Raises Unreadable."""
    from stash.on_table import TakeOut

    said = " ".join(text.split())
    if out := TAKE_OUT.fullmatch(said):
        return TakeOut(_numbers(out[1]))
    if turn := TURN.fullmatch(said):
        return _turn(*turn.groups())
    if to := MOVE_TO.fullmatch(said):
        return _move_to(*to.groups())
    if by := MOVE_BY.fullmatch(said):
        return _move_by(*by.groups())
    if another := ANOTHER.fullmatch(said):
        return _another(*another.groups())
    if add := ADD.fullmatch(said):
        return _add(add[1])
    raise reading.Unreadable(f"{text!r} is no change that is known", EXPECTED, WHERE)


def _numbers(text: str) -> tuple[int, ...]:
    return reading.numbers([re.sub(r"\s*\band\b\s*", ",", text.strip())], WHERE)


def _spot(tag: str | None, left: str, near: str) -> Spot:
    from stash.on_table import Spot

    left_mm, near_mm = (reading.of_option(reading.a_margin, each, WHERE) for each in (left, near))
    return Spot(left_mm, near_mm, " ".join(tag.split()).upper() if tag else None)


def _move_to(numbers: str, tag: str | None, left: str, near: str) -> Move:
    from stash.on_table import Move

    return Move(_numbers(numbers), to=_spot(tag, left, near))


def _move_by(numbers: str, ways: str) -> Move:
    """So far to the right or left, towards the far edge or the near one."""
    from stash.on_table import Move

    x = y = 0.0
    for part in re.split(r"[,;]|\band\b", ways):
        way = re.fullmatch(rf"\s*(.+?)\s*(?:to the )?({'|'.join(WAYS)})(?:er)?\s*", part, re.IGNORECASE)
        if way is None:
            expected = "how far and which way: 10mm right, 1/2 in left, 5mm far, 5mm near"
            raise reading.Unreadable(f"{part.strip()!r} is no way to move", expected, WHERE)
        length = reading.of_option(reading.a_length, way[1], WHERE)
        across, up = WAYS[way[2].lower()]
        x, y = x + across * length, y + up * length
    return Move(_numbers(numbers), by=(x, y))


def _turn(numbers: str, how: str | None) -> Turn:
    from stash.on_table import Turn

    if how is None or how.lower() == "head to foot":
        return Turn(_numbers(numbers))
    if how.lower() == "over":
        return Turn(_numbers(numbers), by=0.0, over=True)
    return Turn(_numbers(numbers), by=reading.of_option(reading.an_angle, how[2:].strip(), WHERE))


def _another(number: str, tag: str | None, left: str | None, near: str | None, how: str) -> PutIn:
    from stash.on_table import PutIn

    if tag and left is None:
        raise reading.Unreadable("it is not said where on that remnant", f"add another {number} on {tag} at 3mm,78mm", WHERE)
    return PutIn(
        like=int(number),
        at=_spot(tag, left, near) if left and near else None,
        head_to_foot="head to foot" in how.lower(),
        turned_over="turned over" in how.lower(),
    )


def _add(text: str) -> PutIn:
    """A panel of a piece, told as what is fixed is told."""
    from stash.on_table import PutIn, Spot
    from stash.terms import ByHand

    told = fixing.fixed(text, WHERE)
    if not isinstance(told, ByHand):
        raise reading.Unreadable(f"{text!r} cannot be added", EXPECTED, WHERE)
    return PutIn(
        piece=told.piece,
        hand=told.hand,
        at=Spot(told.left, told.near, " ".join(told.tag.split()).upper()),
        head_to_foot=told.head_to_foot,
        turned_over=told.turned_over,
    )


def remnants_of(changes: tuple[Change, ...]) -> tuple[str, ...]:
    """The tags that changes name."""
    from stash.on_table import Move, PutIn

    spots = [how.to if isinstance(how, Move) else how.at for how in changes if isinstance(how, Move | PutIn)]
    return tuple(dict.fromkeys(spot.tag for spot in spots if spot is not None and spot.tag))
