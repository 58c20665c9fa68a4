"""How a remnant is told on one line: its outline, the bites out of it, its holes and flaws."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from . import reading

if TYPE_CHECKING:
    from stash.outlines import CornerBite, EdgeBite, Measured
    from stash.remnants import NewFault
    from stash.words import EdgeKind

BITE_EXPECTED = (
    'a corner and a size, "far right: 8cm x 5cm" (or … slanted), or a side, where it begins and a size, '
    '"far at 20cm: 10cm x 5cm"; '
    "corners are near left, near right, far right, far left; sides are near, right, far, left"
)
FAULT_EXPECTED = (
    'a kind and where, "stain: 4cm at 10cm,12cm" or "hole: 10,10 30,10 20,30" or a tear of two points, "hole: 0,50 60,55"; '
    "kinds are hole, thin, stain, fade, shine, needle holes, crease"
)


def measured(size: str | None, bites: Sequence[str], points: str | None, edges: str, rough: bool) -> Measured:
    """The outline that the options describe: a rectangle, one with bites, or corners."""
    from stash import outlines
    from stash.words import EdgeKind

    kinds = [reading.one_of(EdgeKind, part, "--edges") for part in edges.split(";")]
    edge: EdgeKind | list[EdgeKind] = kinds[0] if len(kinds) == 1 else kinds
    if (size is None) == (points is None):
        what = "the outline is told twice" if size is not None else "the outline is not told"
        raise reading.Unreadable(what, "either --size (a rectangle) or --points (corners)", "--size, --points")
    if size is None:
        if bites or rough:
            raise reading.Unreadable("corners have neither bites nor --rough", "--size with them", "--points")
        return outlines.by_points(reading.a_ring(points or "", "--points"), edge)
    length, width = reading.a_size(size, "--size")
    if bites and rough:
        raise reading.Unreadable("a rough rectangle has no bites", "one or the other", "--bite")
    if bites:
        return outlines.bitten(length, width, [a_bite(text) for text in bites], edge)
    return outlines.rectangle(length, width, edge, rough=rough)


def a_bite(text: str) -> CornerBite | EdgeBite:
    """`far right: 8cm x 5cm`, `far right: 8cm x 5cm slanted` or `far at 20cm: 10cm x 5cm`."""
    from stash.outlines import Border, Corner, CornerBite, EdgeBite

    where, colon, what = text.partition(":")
    slanted = re.search(r"\s+slanted\s*$", what)
    if not colon:
        raise reading.Unreadable(f"{text!r} cannot be read", BITE_EXPECTED, "--bite")
    length, width = reading.a_size(what[: slanted.start()] if slanted else what, "--bite")
    side, at, start = where.lower().partition(" at ")
    words = " ".join(side.split())
    if at and words in list(Border) and not slanted:
        return EdgeBite(Border(words), reading.of_option(reading.a_margin, start, "--bite"), length, width)
    if not at and words in list(Corner):
        return CornerBite(Corner(words), length, width, slanted is not None)
    raise reading.Unreadable(f"{where.strip()!r} is no corner or side", BITE_EXPECTED, "--bite")


def a_fault(text: str) -> NewFault:
    """`stain: 4cm at 10cm,12cm`, `hole: 10,10 30,10 20,30`, `stain on the wrong face: …`."""
    from stash import outlines
    from stash.remnants import NewFault
    from stash.words import Face, FaultKind

    head, colon, where = text.partition(":")
    if not colon:
        raise reading.Unreadable(f"{text!r} cannot be read", FAULT_EXPECTED, "--fault")
    word, on, face = head.partition(" on ")
    kind = reading.one_of(FaultKind, word, "--fault")
    side = reading.one_of(Face, re.sub(r"\bthe\b|\bface\b", "", face), "--fault") if on else Face.BOTH
    across, at, centre = where.partition(" at ")
    if not at:
        return NewFault(kind, reading.a_ring(where, "--fault"), side)
    middle = reading.a_ring(centre, "--fault")
    if len(middle) != 1:
        raise reading.Unreadable(f"{centre.strip()!r} is not one point", FAULT_EXPECTED, "--fault")
    width = reading.of_option(reading.a_length, across, "--fault")
    return NewFault(kind, outlines.round_spot(*middle[0], width), side)
