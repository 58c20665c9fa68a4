"""How a remnant is told on one line: its outline, the bites out of it, its holes and flaws."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from . import reading

if TYPE_CHECKING:
    from stash.outlines import CornerBite, EdgeBite, Measured
    from stash.remnants import NewFault
    from stash.words import EdgeKind, GrainBy

    from .shown import Shown

BITE_EXPECTED = (
    'a corner and a size, "far right: 8cm x 5cm" (or … slanted), or a side, where it begins and a size, '
    '"far at 20cm: 10cm x 5cm" (or … pointed); '
    "corners are near left, near right, far right, far left; sides are near, right, far, left"
)
FAULT_EXPECTED = (
    'a kind and where, "stain: 4cm at 10cm,12cm" or "hole: 10,10 30,10 20,30" or a tear of two points, "hole: 0,50 60,55"; '
    "kinds are hole, thin, stain, fade, shine, needle holes, crease; "
    'and "; may lie nowhere" (allowances, hidden pieces, not the front, anywhere) where it is worse or better than others'
)


@dataclass(frozen=True)
class OutlineTold:
    """What was typed of an outline: in one of the ways, its edges, its grain, how near it was read (mm, degrees)."""

    size: str | None = None
    bites: tuple[str, ...] = ()
    points: str | None = None
    walk: str | None = None
    ties: str | None = None
    clockwise: bool = False
    rough: bool = False
    edges: str = "cut"
    grain: str = ""
    tape: float = 1.0
    turns: float = 1.0

    @property
    def way(self) -> str | None:
        """The option that tells the outline, None where none does. Raises Unreadable where several do."""
        ways = {"--size": self.size, "--points": self.points, "--walk": self.walk, "--ties": self.ties}
        given = [name for name, value in ways.items() if value is not None]
        if len(given) > 1:
            raise reading.Unreadable("the outline is told twice", f"one of {', '.join(ways)}", ", ".join(given))
        return given[0] if given else None

    @property
    def said(self) -> str:
        """The readings as they were told, to be kept beside the outline."""
        bites = [f"; {bite}" for bite in self.bites]
        told = "".join([self.size or self.points or self.walk or self.ties or "", *bites])
        return " ".join(told.split()) + (", lettered with the clock" if self.ties and self.clockwise else "")


@dataclass(frozen=True)
class Understood:
    """An outline as it was understood: with its grain, and what is to be said of how well the readings agree."""

    measured: Measured
    grain_angle: float
    grain_by: GrainBy
    agreement: str = ""


def understood(told: OutlineTold, shown: Shown) -> Understood:
    """The outline that was told, its grain, and how well its readings agree."""
    from .taping import a_grain

    measured, agreement = _outline(told, shown)
    angle, by = a_grain(told.grain, measured)
    return Understood(measured, angle, by, agreement)


def _outline(told: OutlineTold, shown: Shown) -> tuple[Measured, str]:
    from stash import outlines
    from stash.tape import Tape
    from stash.words import EdgeKind

    from . import taping

    kinds = [reading.one_of(EdgeKind, part, "--edges") for part in told.edges.split(";")]
    edge: EdgeKind | list[EdgeKind] = kinds[0] if len(kinds) == 1 else kinds
    tape = Tape(told.tape, told.turns)
    way = told.way
    if way is None:
        raise reading.Unreadable(
            "the outline is not told", "--size (a rectangle), --points, --walk or --ties (any other outline)", "the outline"
        )
    if way != "--size" and (told.bites or told.rough):
        raise reading.Unreadable("only a rectangle has bites or is --rough", "--size with them", way)
    if told.clockwise and way != "--ties":
        raise reading.Unreadable("only letters run with the clock", "--ties with it", "--clockwise")
    if told.points is not None:
        return outlines.by_points(reading.a_ring(told.points, "--points"), edge, tape), ""
    if told.walk is not None:
        return taping.walked(told.walk, edge, tape, shown)
    if told.ties is not None:
        return taping.tied(told.ties, edge, tape, shown, clockwise=told.clockwise)
    length, width = reading.a_size(told.size or "", "--size")
    if told.bites and told.rough:
        raise reading.Unreadable("a rough rectangle has no bites", "one or the other", "--bite")
    if told.bites:
        return outlines.bitten(length, width, [a_bite(text) for text in told.bites], edge, tape), ""
    return outlines.rectangle(length, width, edge, rough=told.rough, tape=tape), ""


def a_bite(text: str) -> CornerBite | EdgeBite:
    """`far right: 8cm x 5cm` (or … slanted), or `far at 20cm: 10cm x 5cm` (or … pointed)."""
    from stash.outlines import Border, Corner, CornerBite, EdgeBite

    where, colon, what = text.partition(":")
    shape = re.search(r"\s+(slanted|pointed)\s*$", what)
    if not colon:
        raise reading.Unreadable(f"{text!r} cannot be read", BITE_EXPECTED, "--bite")
    length, width = reading.a_size(what[: shape.start()] if shape else what, "--bite")
    slanted, pointed = shape is not None and shape[1] == "slanted", shape is not None and shape[1] == "pointed"
    side, at, start = where.lower().partition(" at ")
    words = " ".join(side.split())
    if at and words in list(Border) and not slanted:
        return EdgeBite(Border(words), reading.of_option(reading.a_margin, start, "--bite"), length, width, pointed)
    if not at and words in list(Corner) and not pointed:
        return CornerBite(Corner(words), length, width, slanted)
    raise reading.Unreadable(f"{where.strip()!r} is no corner or side", BITE_EXPECTED, "--bite")


def a_fault(text: str) -> NewFault:
    """`stain: 4cm at 10cm,12cm`, `hole: 10,10 30,10 20,30`, `stain on the wrong face: …`, `stain: …; may lie nowhere`."""
    from stash import outlines
    from stash.remnants import NewFault
    from stash.words import Face, FaultKind, MayLie

    text, semicolon, said = text.partition(";")
    may_lie = reading.one_of(MayLie, re.sub(r"^\s*may lie\b", "", said), "--fault") if semicolon else None
    head, colon, where = text.partition(":")
    if not colon:
        raise reading.Unreadable(f"{text!r} cannot be read", FAULT_EXPECTED, "--fault")
    word, on, face = head.partition(" on ")
    kind = reading.one_of(FaultKind, word, "--fault")
    side = reading.one_of(Face, re.sub(r"\bthe\b|\bface\b", "", face), "--fault") if on else Face.BOTH
    across, at, centre = where.partition(" at ")
    if not at:
        return NewFault(kind, reading.a_ring(where, "--fault"), side, may_lie)
    middle = reading.a_ring(centre, "--fault")
    if len(middle) != 1:
        raise reading.Unreadable(f"{centre.strip()!r} is not one point", FAULT_EXPECTED, "--fault")
    width = reading.of_option(reading.a_length, across, "--fault")
    return NewFault(kind, outlines.round_spot(*middle[0], width), side, may_lie)
