"""Drafting a tapered panel from its measures, so that panels sewn side by side make a smooth ring.

The gore of a cone is an annular sector: its ends are arcs about the point where its straight sides meet, and every corner is a
right angle (elementary geometry of a developable cone). It is the *sewing lines* that must be so. Trued on the cut lines
instead, the arcs run about a point farther off, by an allowance / sin(half the panel's angle), and the joined edge has a kink.
A length at the centre of a trued panel is that of the finished panel, from the middle of one arc to the middle of the other.

The wide end lies at x = 0, the narrow one at +x; half the angle between the sides is `half`, in radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from nesting import Ring

from . import telling
from .edges import WIDEST_ALLOWANCE, NewEdge
from .given import a_count, a_figure
from .refusals import Refused
from .words import Line

ARC_WITHIN = 0.1
"""mm by which the straight pieces of a trued end may leave their arc: a tenth of a chalk line."""
MOST_IN_A_RING = 360
EDGES = ("right side", "narrow end", "left side", "wide end")


class LengthAt(StrEnum):
    """Where the length of a tapered panel is measured."""

    CENTRE = "centre"
    SIDE = "side"


class Ends(StrEnum):
    """The ends of a tapered panel: arcs that are square to its sewn sides, or straight."""

    TRUED = "trued"
    STRAIGHT = "straight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """The measures of a tapered panel, mm.

    `length` is taken `at` its centre or its side; `wide` and `narrow`, the widths of its ends, are chords. All three are `on`
    the cut line or the sewing line. `sides`, `wide_end`, `narrow_end`: the allowances. `count`: how many are sewn into a ring.
    """

    length: float
    wide: float
    narrow: float
    on: Line = Line.SEWING
    at: LengthAt = LengthAt.CENTRE
    ends: Ends = Ends.TRUED
    sides: float = 0.0
    wide_end: float = 0.0
    narrow_end: float = 0.0
    count: int = 1

    def looked_over(self) -> Draft:
        """The same, each measure a figure. Raises Refused."""
        figures = {
            what: a_figure(getattr(self, what), f"{what} of the panel", unit="mm") for what in ("length", "wide", "narrow")
        }
        widths = {
            what: a_figure(getattr(self, what), f"allowance: {what}", unit="mm", above=False, most=WIDEST_ALLOWANCE)
            for what in ("sides", "wide_end", "narrow_end")
        }
        a_count(self.count, "count of panels", least=1, most=MOST_IN_A_RING)
        if figures["wide"] < figures["narrow"]:
            raise Refused(
                f"the wide end is {telling.fine(figures['wide'])} and the narrow one {telling.fine(figures['narrow'])}",
                where="tapered panel",
                expected="a wide end that is no narrower than the other",
                next="Give them the other way round",
            )
        changed: dict[str, Any] = {**figures, **widths}
        return replace(self, **changed, on=Line(self.on), at=LengthAt(self.at), ends=Ends(self.ends))


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel's sewing line: half its angle (radians); its ends' chords; its ends' radii about the point where its sewn sides
    meet, None for straight ends and for sides that do not meet; its lengths at the centre and at the side, mm."""

    half: float
    wide: float
    narrow: float
    radii: tuple[float, float] | None
    centre: float
    side: float


def panel(draft: Draft) -> Panel:
    """The sewing line of a draft. Raises Refused for measures that no panel has."""
    draft = draft.looked_over()
    found = _trued(draft) if draft.ends is Ends.TRUED and draft.wide > draft.narrow else _straight(draft)
    if min(found.wide, found.narrow, found.centre) <= 0:
        raise Refused(
            "the allowances leave nothing to sew",
            where="tapered panel",
            expected="allowances that suit the piece",
            next="Look at the allowance's unit, and at which line the widths are on",
        )
    return found


def ring_of(found: Panel) -> Ring:
    """The sewing line of a panel, against the clock from the wide end's right corner.

    A trued end is a run of straight pieces that touch its arc, the first and the last of them half as long, so that they leave
    the corners square to the sides exactly.
    """
    if found.radii is None:
        return (
            (0.0, -found.wide / 2),
            (found.centre, -found.narrow / 2),
            (found.centre, found.narrow / 2),
            (0.0, found.wide / 2),
        )
    outer, inner = found.radii
    narrow = [(outer - x, y) for x, y in touching_arc(inner, found.half)]
    wide = [(outer - x, y) for x, y in touching_arc(outer, found.half)]
    return (wide[0], *narrow, *reversed(wide[1:]))


def edges_of(found: Panel) -> tuple[NewEdge, ...]:
    """The edges of the ring that `ring_of` gives, by the names of a tapered panel."""
    count = 2 if found.radii is None else len(touching_arc(found.radii[1], found.half))
    return tuple(NewEdge(name, start) for name, start in zip(EDGES, (0, 1, count, count + 1), strict=True))


def touching_arc(radius: float, half: float) -> list[tuple[float, float]]:
    """Corners of straight pieces that touch an arc about (0, 0) from −half to +half, its ends and its middle among the places
    where they do; ARC_WITHIN mm outside it at most."""
    reach = math.acos(radius / (radius + ARC_WITHIN))
    pieces = 2 * max(1, math.ceil(half / (2 * reach)))
    step = half / pieces
    angles = [-half + step * (2 * i + 1) for i in range(pieces)]
    between = [(radius / math.cos(step) * math.cos(a), radius / math.cos(step) * math.sin(a)) for a in angles]
    ends = [(radius * math.cos(a), radius * math.sin(a)) for a in (-half, half)]
    return [ends[0], *between, ends[1]]


def tapered(length: float, wide: float, narrow: float, *, trued: bool = False) -> Ring:
    """A panel with straight sides, `length` (mm, at its centre) along the grain, `wide` at x = 0, `narrow` at the other end
    (chords, mm), whichever is the wider; its ends straight or trued.

    Raises Refused for measures that are none, and for ends too unlike to be trued over that length.

    >>> tapered(100, 60, 40)
    ((0.0, -30.0), (100.0, -20.0), (100.0, 20.0), (0.0, 30.0))
    """
    wide, narrow = (a_figure(chord, f"{what} end", unit="mm") for chord, what in ((wide, "wide"), (narrow, "narrow")))
    turned = wide < narrow
    ends = Ends.TRUED if trued else Ends.STRAIGHT
    found = panel(Draft(length=length, wide=max(wide, narrow), narrow=min(wide, narrow), ends=ends))
    ring = ring_of(found)
    if not turned:
        return ring
    flipped = tuple((found.centre - x, -y) for x, y in ring)
    first = min(range(len(flipped)), key=lambda i: (round(flipped[i][0], 6), flipped[i][1]))
    return flipped[first:] + flipped[:first]


def resized(draft: Draft, end: str, *, width: float | None = None, longer: float | None = None) -> Draft:
    """A panel made bigger or smaller from one end only ("wide end" or "narrow end"), trued again; the sewn chord of its other
    end stays as it was.

    `width`: the new chord of that end on the sewing line, the length left as it is. `longer`: by how much to lengthen it at
    that end (below 0: shorten), the sides running on as they do. The draft that comes back is on the sewing line.
    Raises Refused.
    """
    was = panel(draft)
    trued = was.radii is not None
    length = was.side if trued else was.centre
    if (width is None) == (longer is None):
        raise Refused(
            "one end is changed one way", where="panel", expected="a new width for it, or how much longer it is to be"
        )
    if end not in ("wide end", "narrow end"):
        raise Refused(f"{end!r} is no end of a tapered panel", where="panel", expected="wide end, or narrow end")
    ends = {"wide end": was.wide, "narrow end": was.narrow}
    if width is not None:
        ends[end] = a_figure(width, f"the new width of the {end}", unit="mm")
    else:
        by = a_figure(longer or 0.0, "how much longer", unit="mm", least=-length, above=True)
        spread = (was.wide - was.narrow) / length
        ends[end] += by * spread * (1 if end == "wide end" else -1)
        length += by
    new = replace(draft, length=length, wide=ends["wide end"], narrow=ends["narrow end"], on=Line.SEWING, at=LengthAt.CENTRE)
    panel(new)
    return new.looked_over()


def without_allowances(draft: Draft) -> Draft:
    """The same measures on the one line that they are on, whatever lies inside it."""
    return replace(draft, on=Line.SEWING, sides=0.0, wide_end=0.0, narrow_end=0.0)


def to_json(draft: Draft) -> dict[str, Any]:
    """A draft as it is kept."""
    kept: dict[str, Any] = {name: getattr(draft, name) for name in Draft.__dataclass_fields__}
    return {name: str(value) if isinstance(value, StrEnum) else value for name, value in kept.items()}


def from_json(kept: dict[str, Any]) -> Draft:
    """A draft that was kept."""
    return Draft(**kept).looked_over()


def sine_of_half(draft: Draft, length: float) -> float:
    """The sine of half the angle between the sides, from two chords `length` apart along them. Raises Refused."""
    sine = (draft.wide - draft.narrow) / (2 * length)
    if sine >= 1:
        raise Refused(
            f"ends of {telling.fine(draft.wide)} and {telling.fine(draft.narrow)} are too unlike for "
            f"{telling.fine(draft.length)} of length",
            where="tapered panel",
            expected=f"ends that differ by less than {telling.fine(2 * draft.length)}",
        )
    return sine


def _trued(draft: Draft) -> Panel:
    """A panel whose ends are arcs about the point where its sewn sides meet.

    Beyond the sewn corner the allowances run straight on, so that a corner of the cut line lies an allowance beside the sewn
    side, as far along it as its end's cut arc: half a cut chord is ρ sin a + s cos a, and lengths at the side and at the
    centre are one.
    """
    half = math.asin(sine_of_half(draft, draft.length))
    beside = draft.sides if draft.on is Line.CUT else 0.0
    wide, narrow = ((chord / 2 - beside * math.cos(half)) / math.sin(half) for chord in (draft.wide, draft.narrow))
    if draft.on is Line.CUT:
        wide, narrow = wide - draft.wide_end, narrow + draft.narrow_end
    length = wide - narrow
    return Panel(half, 2 * wide * math.sin(half), 2 * narrow * math.sin(half), (wide, narrow), length, length)


def _straight(draft: Draft) -> Panel:
    """A panel with straight ends, square to its centre."""
    if draft.at is LengthAt.SIDE:
        half = math.asin(sine_of_half(draft, draft.length))
    else:
        half = math.atan((draft.wide - draft.narrow) / (2 * draft.length))
    centre = draft.length * math.cos(half) if draft.at is LengthAt.SIDE else draft.length
    wide, narrow = draft.wide, draft.narrow
    if draft.on is Line.CUT:
        less = 2 * draft.sides / math.cos(half)
        wide -= less + 2 * draft.wide_end * math.tan(half)
        narrow -= less - 2 * draft.narrow_end * math.tan(half)
        centre -= draft.wide_end + draft.narrow_end
    return Panel(half, wide, narrow, None, centre, centre / math.cos(half))
