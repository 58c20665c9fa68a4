"""Remnants of one cloth sewn together into one: a remnant of its own, that knows what it was made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from . import telling
from .amounts import booked_mass, square_mm
from .book import Posting, post
from .given import a_tag, initials
from .measuring import Measures
from .refusals import BadOutline, Refused
from .remnants import NewRemnant, Remnant, must_be_free, remnant_of, row_of, tag_must_be_free
from .settling import settled
from .tables import LineRow, RemnantJoinedRow, RemnantRow
from .words import Account, Event, RemnantState
from .workroom import Workroom

SEAMS = "seams"
"""What of *re-measured* lies in the seams: it is there and weighed, and no panel can be cut from it."""
MORE = 1.02
"""A joined outline may be this much larger than its parts together before it is refused: a tape's ± on each of them."""
LESS = 0.25
"""It has at least this share of them: what lies in seams is less, and what was trimmed off is split off first."""


@dataclass(frozen=True, slots=True)
class Joined:
    """What joining made, of what, and the number of the entry."""

    remnant: Remnant
    parts: tuple[str, ...]
    entry: int


def join(workroom: Workroom, tag: str, parts: Sequence[str], measures: Measures, *, by: str, note: str = "") -> Joined:
    """Say that remnants were sewn together: `tag` and `measures` are the new one's, told as when a remnant is logged.

    The difference in area, what lies in the seams, is *re-measured*; the mass is that of the parts unless it is weighed now.
    A seam is told as a fault (needle holes), so that no panel is laid across it.
    Raises Held, WrongState; Taken; Refused for fewer than two, one named twice, another cloth, and without initials;
    BadOutline for an outline larger than the parts together, or less than a quarter of them; Unknown.
    """
    who, name = initials(by, "joining remnants"), a_tag(tag)
    with workroom.writing() as session:
        rows = _must_go_together(session, parts)
        tag_must_be_free(session, name)
        row = settled(_as_if_new(name, rows[0], measures), rows[0].cloth)
        area, mass = sum(part.area for part in rows), sum(part.mass for part in rows)
        if row.area > area * MORE and not any(part.rough for part in rows):
            raise BadOutline(
                f"{telling.area(square_mm(row.area))} are more than its parts have together, {telling.area(square_mm(area))}",
                where="outline",
                expected="no more cloth than was sewn together",
                next="Measure the parts again first if one of them is larger than the book says",
            )
        if row.area < area * LESS:
            raise BadOutline(
                f"{telling.area(square_mm(row.area))} are less than a quarter of its parts, {telling.area(square_mm(area))}",
                where="outline",
                expected="all that was sewn together, but for what lies in the seams",
                next="Split off what is trimmed away first: fent bin split",
            )
        row.tag, row.source, row.price = name, None, None
        row.mass = mass if measures.mass is None else booked_mass(measures.mass)
        row.weighed = measures.mass is not None or any(_weighed(part) for part in rows)
        row.place, row.came_on = rows[0].place, min(part.came_on for part in rows)
        row.washed = rows[0].washed if len({part.washed for part in rows}) == 1 else ""
        row.logged_at = row.confirmed_at = workroom.now()
        row.confirmed_by = who
        session.add(row)
        session.flush()
        for part in rows:
            part.state = RemnantState.JOINED
            session.add(RemnantJoinedRow(remnant_id=row.id, part_id=part.id))
        posting = Posting(at=workroom.now(), event=Event.JOINED, by=who, note=note.strip())
        entry = post(session, posting, _lines(row, rows, (area - row.area, mass - row.mass)))
        return Joined(remnant_of(row), tuple(part.tag for part in rows), entry.id)


def _must_go_together(session: Session, parts: Sequence[str]) -> list[RemnantRow]:
    rows = [row_of(session, part) for part in parts]
    if len(rows) < 2:
        raise Refused("fewer than two remnants are named", where="parts", expected="the tags of those that were sewn together")
    for i, row in enumerate(rows):
        if row in rows[:i]:
            raise Refused(f"{row.tag} is named twice", where="parts", expected="each tag once")
        if row.cloth_id != rows[0].cloth_id:
            raise Refused(
                f"{row.tag} is {row.cloth.name}", where="parts", expected=f"remnants of one cloth, {rows[0].cloth.name}"
            )
        must_be_free(row, to="join")
    return rows


def _as_if_new(tag: str, first: RemnantRow, measures: Measures) -> NewRemnant:
    return NewRemnant(
        tag=tag,
        cloth=first.cloth.name,
        outline=measures.outline,
        grain_angle=measures.grain_angle,
        grain_by=measures.grain_by,
        told=measures.told,
        face_up=measures.face_up,
        nap=measures.nap,
        faults=measures.faults,
        mass=measures.mass,
    )


def _weighed(row: RemnantRow) -> bool:
    """Whether its mass is not by its area alone."""
    while not row.weighed and row.parent is not None:
        row = row.parent
    return row.weighed


def _lines(row: RemnantRow, parts: Sequence[RemnantRow], less: tuple[int, int]) -> list[LineRow]:
    cloth = {"cloth_id": row.cloth_id}
    return [
        *(
            LineRow(account=Account.BIN, detail="", remnant_id=part.id, area=-part.area, mass=-part.mass, **cloth)
            for part in parts
        ),
        LineRow(account=Account.BIN, detail="joined", remnant_id=row.id, area=row.area, mass=row.mass, **cloth),
        LineRow(account=Account.RE_MEASURED, detail=SEAMS, remnant_id=row.id, area=less[0], mass=less[1], **cloth),
    ]
