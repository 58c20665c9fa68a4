"""A remnant split by hand, torn or cut along lines: each part is a remnant of its own, and the book knows what it came of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import LineString, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry
from shapely.ops import split as split_by_line
from sqlalchemy import select

from nesting import Ring

from . import telling
from .amounts import booked_area, share_out
from .book import Posting, post
from .cutting import OFFCUTS, keeper_of
from .given import initials
from .refusals import BadOutline, Refused
from .remnants import Remnant, must_be_free, remnant_of, row_of
from .settling import cloth_in
from .tables import LineRow, RemnantRow
from .tags import tags_for
from .words import Account, Event, FaultKind, RemnantState
from .workroom import Workroom

LEAST_PART = 100.0
"""mm²: a part below 1 cm² is a crumb, and goes to the rag bag: no tag could be pinned to it (common practice, no source)."""
MOST_PARTS = 100


@dataclass(frozen=True, slots=True)
class Split:
    """What splitting did: the remnant as it was, its parts, and the number of the entry."""

    remnant: Remnant
    parts: tuple[Remnant, ...]
    entry: int


def across(at: float) -> Ring:
    """The line of a cut straight across the grain, `at` mm from the left."""
    return ((at, 0.0), (at, 1.0))


def along(at: float) -> Ring:
    """The line of a cut straight along the grain, `at` mm from the near edge."""
    return ((0.0, at), (1.0, at))


def split(workroom: Workroom, tag: str, lines: Sequence[Ring], *, by: str, note: str = "") -> Split:
    """Split a remnant along lines, in mm from its near left corner, grain from left to right, right side up.

    A line of two points or more is drawn out straight beyond its ends as far as the cloth goes. Area and mass are shared out
    among the parts to the last unit. The parts are confirmed: someone has them in hand.
    Raises Held, WrongState; BadOutline for a line that divides nothing; Refused for no line and without initials; Unknown.
    """
    who = initials(by, "splitting a remnant")
    with workroom.writing() as session:
        row = row_of(session, tag)
        must_be_free(row, to="split")
        shape = cloth_in(row.outline, [fault.shape for fault in row.faults if fault.kind is FaultKind.HOLE])
        pieces = _pieces(shape, [_as_drawn(row, line, number) for number, line in enumerate(lines, 1)])
        kept = [piece for piece in pieces if piece.area >= LEAST_PART]
        _must_divide(row, kept, len(lines))
        crumbs = sum(booked_area(piece.area) for piece in pieces if piece.area < LEAST_PART)
        areas = share_out(row.area, [*(booked_area(piece.area) for piece in kept), crumbs])
        masses = share_out(row.mass, areas)
        like = session.scalars(select(RemnantRow.tag).where(RemnantRow.tag.startswith(row.tag, autoescape=True)))
        tags = tags_for(row.tag, len(kept), set(like))
        parts = []
        for name, piece, area, mass in zip(tags, kept, areas, masses, strict=False):
            part = keeper_of(row, piece)
            part.tag, part.area, part.mass = name, area, mass
            part.logged_at = part.confirmed_at = workroom.now()
            part.confirmed_by = who
            session.add(part)
            parts.append(part)
        row.state = RemnantState.CUT
        session.flush()
        entry = post(
            session,
            Posting(at=workroom.now(), event=Event.SPLIT, by=who, note=note.strip()),
            _lines(row, parts, (areas[-1], masses[-1])),
        )
        return Split(remnant_of(row), tuple(remnant_of(part) for part in parts), entry.id)


def _as_drawn(row: RemnantRow, line: Ring, number: int) -> LineString:
    """A line in the remnant's own coordinates, drawn out beyond it. Raises BadOutline."""
    where = f"cut {number}"
    points = [(float(x), float(y)) for x, y in line]
    if not all(math.isfinite(value) for point in points for value in point):
        raise BadOutline("its points are no numbers", where=where, expected="measures")
    points = [point for i, point in enumerate(points) if i == 0 or point != points[i - 1]]
    if len(points) < 2:
        raise BadOutline("a line needs two points", where=where, expected="where the cut begins and where it ends")
    left, low, right, high = row.outline.bounds
    far = 2 * math.hypot(right - left, high - low) + max(abs(value) for point in points for value in point)
    drawn = [_beyond(points[1], points[0], far), *points[1:-1], _beyond(points[-2], points[-1], far)]
    found = translate(LineString(drawn), left, low)
    if not found.is_simple:
        raise BadOutline("it crosses itself", where=where, expected="a line that does not")
    return found


def _beyond(before: tuple[float, float], end: tuple[float, float], far: float) -> tuple[float, float]:
    """The point that far past the end of a line."""
    long = math.dist(before, end)
    return end[0] + (end[0] - before[0]) / long * far, end[1] + (end[1] - before[1]) / long * far


def _pieces(shape: BaseGeometry, lines: Sequence[LineString]) -> list[Polygon]:
    """The shape divided along every line, from left to right, then from the near edge."""
    pieces = [shape]
    for line in lines:
        pieces = [part for piece in pieces for part in split_by_line(piece, line).geoms if isinstance(part, Polygon)]
    return sorted(pieces, key=lambda piece: (round(piece.bounds[0], 3), round(piece.bounds[1], 3)))


def _must_divide(row: RemnantRow, kept: Sequence[Polygon], lines: int) -> None:
    if not lines:
        raise Refused("no cut is told", where=row.tag, expected="where it is cut: at least one line")
    if len(kept) < 2:
        raise BadOutline(
            f"the cut does not divide {row.tag}",
            where="cut",
            expected=f"a line across its {telling.size(row.length, row.width)}, measured from its near left corner",
        )
    if len(kept) > MOST_PARTS:
        raise Refused(f"{len(kept)} parts", where="cut", expected=f"at most {MOST_PARTS} parts")


def _lines(row: RemnantRow, parts: Sequence[RemnantRow], crumbs: tuple[int, int]) -> list[LineRow]:
    of_it = {"cloth_id": row.cloth_id, "remnant_id": row.id}
    return [
        LineRow(account=Account.BIN, detail="", area=-row.area, mass=-row.mass, **of_it),
        *(
            LineRow(
                account=Account.BIN, detail="part", cloth_id=row.cloth_id, remnant_id=part.id, area=part.area, mass=part.mass
            )
            for part in parts
        ),
        LineRow(account=Account.RAG_BAG, detail=OFFCUTS, area=crumbs[0], mass=crumbs[1], **of_it),
    ]
