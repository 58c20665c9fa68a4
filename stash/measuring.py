"""Measuring a remnant again: a rough one in full, a keeper that came out smaller, one that was measured wrongly."""

from __future__ import annotations

from dataclasses import dataclass

from .amounts import booked_mass
from .before import before_of
from .book import Posting, post
from .given import initials
from .outlines import Measured
from .remnants import NewFault, NewRemnant, Remnant, must_be_free, remnant_of, row_of
from .settling import settled
from .tables import LineRow, RemnantBeforeRow, RemnantRow
from .words import Account, Event, Face, GrainBy, Nap
from .workroom import Workroom

FROM_TAPE = ("rough", "way", "within", "area_within", "told")
FROM_OUTLINE = ("outline", "area", "length", "width", "rect_length", "rect_width", *FROM_TAPE)
FROM_LYING = ("one_way", "grain_angle", "face_up", "nap", "grain_by", "bar_x", "bar_y")
"""What of a remnant its measures say: columns of its row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """A remnant as it is measured now, in the same words as when it is logged. `faults`: all that it has; `mass`: g, if it was
    weighed now."""

    outline: Measured
    grain_angle: float = 0.0
    face_up: Face = Face.RIGHT
    nap: Nap | None = None
    faults: tuple[NewFault, ...] = ()
    mass: float | None = None
    grain_by: GrainBy = GrainBy.LAID
    told: str = ""
    bar_left: float | None = None
    bar_near: float | None = None
    skew: float | None = None


def measure_again(workroom: Workroom, tag: str, measures: Measures, *, by: str, note: str = "") -> Remnant:
    """Put new measures in the place of the old, which are kept beside the entry (which is made even where nothing differs).

    The difference in area is *re-measured*. The mass stays if it was weighed, follows the area if it was not, and is the new
    one if it is weighed now. The remnant is confirmed by it, and lays tried on it must be tried again.
    Raises Held, WrongState for one that is not in the bin; BadOutline; Refused without initials; Unknown.
    """
    who = initials(by, "measuring again")
    with workroom.writing() as session:
        row = row_of(session, tag)
        must_be_free(row, to="measure again", even_apart=True)
        new = settled(as_if_new(row, measures), row.cloth)
        before = before_of(row, workroom.now())
        for name in (*FROM_OUTLINE, *FROM_LYING):
            setattr(row, name, getattr(new, name))
        row.skew = row.skew if new.skew is None else new.skew  # where it was not looked at it is as it was
        row.faults, row.edges = list(new.faults), list(new.edges)
        row.mass = _mass(before, row, measures.mass)
        row.weighed = row.weighed or measures.mass is not None
        row.revision += 1
        row.confirmed_at, row.confirmed_by = workroom.now(), who
        more = {"area": row.area - before.area, "mass": row.mass - before.mass}
        of_it = {"cloth_id": row.cloth_id, "remnant_id": row.id, "detail": ""}
        lines = [
            LineRow(account=Account.BIN, **more, **of_it),
            LineRow(account=Account.RE_MEASURED, **{name: -amount for name, amount in more.items()}, **of_it),
        ]
        posting = Posting(at=workroom.now(), event=Event.MEASURED_AGAIN, by=who, note=note.strip())
        before.entry_id = post(session, posting, lines, even_if_nothing_moves=True).id
        session.add(before)
        session.flush()
        return remnant_of(row)


def as_if_new(row: RemnantRow, measures: Measures) -> NewRemnant:
    """The measures as they would be told of a remnant that is logged."""
    return NewRemnant(
        tag=row.tag,
        cloth=row.cloth.name,
        outline=measures.outline,
        grain_angle=measures.grain_angle,
        face_up=measures.face_up,
        nap=measures.nap,
        faults=measures.faults,
        mass=measures.mass,
        grain_by=measures.grain_by,
        told=measures.told,
        bar_left=measures.bar_left,
        bar_near=measures.bar_near,
        skew=measures.skew,
    )


def _mass(before: RemnantBeforeRow, row: RemnantRow, weighed_now: float | None) -> int:
    """The booked mass by the new measures, mg."""
    if weighed_now is not None:
        return booked_mass(weighed_now)
    if row.weighed:
        return before.mass
    return (before.mass * row.area + before.area // 2) // before.area
