"""The keepers that a cut gave, looked at by hand: confirmed, measured again (`measuring`), put into an envelope
(`envelopes.put_away`) or thrown away (`leaving`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from .given import initials
from .plans import row_of as lay_row_of
from .refusals import Refused, WrongState
from .remnants import Remnant, RemnantTold, place_row_of, remnant_of, row_of, told_of
from .tables import EntryRow, LineRow, RemnantRow
from .tags import tags_for
from .words import Event, RemnantState
from .workroom import Workroom

KEPT = (RemnantState.IN_BIN, RemnantState.HELD)


def waiting(workroom: Workroom, *, lay: int | None = None) -> tuple[RemnantTold, ...]:
    """The keepers in the bin that nobody has looked at since they were computed, by tag; of one cut lay if asked. Raises
    Unknown."""
    asked = select(RemnantRow).where(RemnantRow.confirmed_at.is_(None), RemnantRow.state.in_(KEPT)).order_by(RemnantRow.tag)
    with workroom.reading() as session:
        if lay is not None:
            asked = asked.where(RemnantRow.id.in_(_given_by(session, lay)))
        return tuple(told_of(row) for row in session.scalars(asked))


def of_lay(workroom: Workroom, lay: int) -> tuple[RemnantTold, ...]:
    """The keepers that a cut lay gave and that are still in the bin, by tag. Raises Unknown."""
    with workroom.reading() as session:
        asked = select(RemnantRow).where(RemnantRow.state.in_(KEPT), RemnantRow.id.in_(_given_by(session, lay)))
        return tuple(told_of(row) for row in session.scalars(asked.order_by(RemnantRow.tag)))


def _given_by(session: Session, lay: int) -> Select[Any]:
    """The ids of the remnants that the entry of a lay's cut names."""
    lines = select(LineRow.remnant_id).join(EntryRow, LineRow.entry_id == EntryRow.id)
    return lines.where(EntryRow.lay_id == lay_row_of(session, lay).id, EntryRow.event == Event.CUT)


def confirm(workroom: Workroom, tags: Sequence[str], *, by: str, place: str | None = None) -> tuple[Remnant, ...]:
    """These are as the book says, and are put away, at `place` if it is said. For all of a lay's, give the tags of
    `waiting`. Raises WrongState for one that is confirmed already or not in the bin, Unknown; Refused for none, and without
    initials."""
    who = initials(by, "confirming keepers")
    if not tags:
        raise Refused("no keeper is named", where="keepers", expected="the tags of those that came out as computed")
    with workroom.writing() as session:
        rows = [row_of(session, tag) for tag in dict.fromkeys(tags)]
        where = None if place is None else place_row_of(session, place)
        for row in rows:
            if row.state not in KEPT or row.confirmed_at is not None:
                stands = "confirmed already" if row.state in KEPT else str(row.state)
                raise WrongState(f"{row.tag} is {stands}", where="keepers", expected="a keeper that waits to be looked at")
            row.confirmed_at, row.confirmed_by = workroom.now(), who
            row.place = row.place if place is None else where
        session.flush()
        return tuple(remnant_of(row) for row in rows)


def tags_to_come(session: Session, parent: str, how_many: int) -> list[str]:
    """The tags that so many keepers of a remnant will have."""
    like = select(RemnantRow.tag).where(RemnantRow.tag.startswith(parent, autoescape=True))
    return tags_for(parent, how_many, set(session.scalars(like)))
