"""What is typed of a pattern piece: allowances and corners edge by edge, notches, joins, measures of a tapered panel."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from . import reading

if TYPE_CHECKING:
    from nesting import Ring
    from stash.drafting import Draft
    from stash.patterns import Join, NewPiece, Notch

T = TypeVar("T")

ALLOWANCE_EXPECTED = (
    'one for all edges, "1/4 in"; one for each with ; between, "1cm; 1cm; 0; 2cm"; '
    'or some by name, "1cm; wide end: 0; hem: 3cm"'
)
CORNERS_EXPECTED = 'mitre, blunt or folded back: one for all, or by name, "mitre; hem: folded back"'
NOTCH_EXPECTED = 'an edge and how far along it, "left side at 12cm", or "… at 12cm, double"'
JOIN_EXPECTED = 'two points of a line across it and the allowance there, "0,9 31,9 cm: 1cm"'
MARKS = {"single": 1, "double": 2, "triple": 3}


@dataclass(frozen=True)
class EdgeByEdge:
    """Something said of edges: for `every` one, or for `each` in order, and for some by name."""

    every: str | None
    each: tuple[str, ...]
    named: Mapping[str, str]


def edge_by_edge(text: str, expected: str, where: str) -> EdgeByEdge:
    """`1cm`, `1cm; 1cm; 0; 2cm`, or `1cm; hem: 3cm`."""
    plain: list[str] = []
    named: dict[str, str] = {}
    for part in (part.strip() for part in text.split(";")):
        name, colon, what = (bit.strip() for bit in part.rpartition(":"))
        if not colon:
            plain.append(what)
        elif not name or name.casefold() in named:
            raise reading.Unreadable(f"{part!r} cannot be read" if not name else f"{name!r} is told twice", expected, where)
        else:
            named[name.casefold()] = what
    if named and len(plain) > 1:
        raise reading.Unreadable("some edges are told in order and some by name", expected, where)
    return EdgeByEdge(plain[0] if len(plain) == 1 else None, tuple(plain) if len(plain) > 1 else (), named)


def allowances(text: str, names: Sequence[str], where: str = "--allowance") -> tuple[float, ...]:
    """The allowance of each edge, mm."""
    return _of_each(
        text, names, ALLOWANCE_EXPECTED, where, lambda said: reading.of_option(reading.a_margin, said, where), "0 mm"
    )


def _of_each(
    text: str, names: Sequence[str], expected: str, where: str, read: Callable[[str], T], unsaid: str
) -> tuple[T, ...]:
    """What is said of each edge, read. Raises Unreadable for a name that is none of its edges', or a wrong number."""
    said = edge_by_edge(text, expected, where)
    strange = [name for name in said.named if not any(_is(name, edge) for edge in names)]
    if strange:
        raise reading.Unreadable(f"there is no edge {strange[0]!r}", f"one of: {', '.join(names)}", where)
    if said.each and len(said.each) != len(names):
        what = f"{len(said.each)} are told for {len(names)} edges"
        raise reading.Unreadable(what, f"one for all, or one for each in order: {', '.join(names)}", where)
    every = said.each or [said.every or unsaid] * len(names)
    by_name = [next((what for name, what in said.named.items() if _is(name, edge)), None) for edge in names]
    return tuple(read(own or common) for own, common in zip(by_name, every, strict=True))


def _is(said: str, edge: str) -> bool:
    """Whether an edge is meant: "sides" are both sides of a tapered panel."""
    return said == edge.casefold() or (said == "sides" and edge.casefold() in ("left side", "right side"))


def a_notch(text: str) -> Notch:
    """`left side at 12cm`, `hem at 4 in, double`."""
    from stash.patterns import Notch

    said = re.fullmatch(r"\s*(.+?)\s+at\s+(.+?)(?:[\s,]+(single|double|triple))?\s*", text)
    if said is None:
        raise reading.Unreadable(f"{text!r} is not a notch", NOTCH_EXPECTED, "--notch")
    return Notch(said[1], reading.of_option(reading.a_margin, said[2], "--notch"), MARKS[said[3] or "single"])


def a_join(text: str) -> Join:
    """`0,9 31,9 cm: 1cm`."""
    from stash.patterns import Join

    line, colon, width = text.partition(":")
    ends = reading.a_ring(line, "--join") if colon else ()
    if len(ends) != 2:
        raise reading.Unreadable(f"{text!r} is not a line across the piece", JOIN_EXPECTED, "--join")
    return Join((ends[0], ends[1]), reading.of_option(reading.a_margin, width.strip(), "--join"))


@dataclass(frozen=True)
class PieceTold:
    """What was typed of a piece's shape and edges."""

    length: float | None
    wide: float | None
    narrow: float | None
    ends: str
    length_at: str
    drawn: str
    count: int
    points: str | None
    sides: str | None
    allowance: str
    corners: str


def shaped(told: PieceTold, name: str) -> NewPiece:
    """The piece of that shape: a tapered panel, or one told by its corners, and not both."""
    measures = {"--length": told.length, "--wide": told.wide, "--narrow": told.narrow}
    given = [option for option, value in measures.items() if value is not None]
    if told.points is not None:
        if given:
            raise reading.Unreadable(f"a shape by --points has no {', '.join(given)}", "one or the other", "--points")
        return _cornered(told, reading.a_ring(told.points, "--points"), name)
    if told.length is None or told.wide is None or told.narrow is None:
        missing = ", ".join(option for option, value in measures.items() if value is None)
        raise reading.Unreadable(
            f"the shape is not told: {missing} missing", "--length, --wide and --narrow, or --points", "the shape"
        )
    if told.sides is not None:
        raise reading.Unreadable("the edges of a tapered panel have their names", "--points with it", "--sides")
    return _drafted(told, name)


def _cornered(told: PieceTold, ring: Ring, name: str) -> NewPiece:
    from stash.patterns import Finish, NewEdge, NewPiece
    from stash.words import Line

    corners = len(ring) - (len(ring) > 1 and ring[0] == ring[-1])
    names = [f"side {i + 1}" for i in range(corners)]
    if told.sides is not None:
        names = [part.strip() for part in told.sides.split(";")]
        if len(names) != corners:
            raise reading.Unreadable(
                f"{len(names)} names are told for {corners} sides", "a name for each, with ; between", "--sides"
            )
    widths = allowances(told.allowance, names)
    finishes = _of_each(
        told.corners, names, CORNERS_EXPECTED, "--corners", lambda said: reading.one_of(Finish, said, "--corners"), "mitre"
    )
    edges = [NewEdge(*each) for each in zip(names, range(corners), widths, finishes, strict=True)]
    return NewPiece(
        name=name, ring=ring, drawn=reading.one_of(Line, told.drawn, "--drawn"), edges=tuple(edges), count=told.count
    )


def _drafted(told: PieceTold, name: str) -> NewPiece:
    from stash import drafting, patterns
    from stash.patterns import Finish
    from stash.words import Line

    widths = dict(zip(drafting.EDGES, allowances(told.allowance, drafting.EDGES), strict=True))
    if widths["left side"] != widths["right side"]:
        raise reading.Unreadable(
            "its two sides have different allowances", "one for both: they are sewn to each other", "--allowance"
        )
    draft: Draft = drafting.Draft(
        length=told.length or 0.0,
        wide=told.wide or 0.0,
        narrow=told.narrow or 0.0,
        on=reading.one_of(Line, told.drawn, "--drawn"),
        at=reading.one_of(drafting.LengthAt, told.length_at, "--length-at"),
        ends=reading.one_of(drafting.Ends, told.ends, "--ends"),
        sides=widths["left side"],
        wide_end=widths["wide end"],
        narrow_end=widths["narrow end"],
        count=told.count,
    )
    piece = patterns.drafted(draft, name)
    finishes = _of_each(
        told.corners,
        drafting.EDGES,
        CORNERS_EXPECTED,
        "--corners",
        lambda said: reading.one_of(Finish, said, "--corners"),
        "mitre",
    )
    named = dict(zip(drafting.EDGES, finishes, strict=True))
    return replace(piece, edges=tuple(replace(edge, finish=named[edge.name]) for edge in piece.edges))
