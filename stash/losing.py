"""A remnant that is not on its shelf, and one that turns up again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from .book import Posting, post
from .given import initials
from .plans import Lay, lay_of
from .plans import row_of as lay_row_of
from .refusals import WrongState
from .remnants import Remnant, place_row_of, remnant_of, row_of
from .tables import LayRow, LaySheetRow, LineRow, RemnantRow
from .words import Account, Event, Fate, LayState, RemnantState
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class NotThere:
    """What came of it. `lay`: the chalked lay that held it, as it stands without it, if one did. `missing`: how many panels
    lay on it, which the job lacks again. `tried`: lays that were only tried on it, and cannot be chalked while it is lost."""

    remnant: Remnant
    lay: Lay | None
    missing: int
    tried: tuple[int, ...]


def not_there(workroom: Workroom, tag: str, *, by: str, note: str = "") -> NotThere:
    """A remnant is not where it should be: it is *lost* in the book from now on.

    A chalked lay that held it keeps its other remnants; its panels on this one are *uncut*, and the job lacks them again. It
    may be cut as it is, or planned again round what is chalked (`asking.ask_round`). If it holds nothing else it is rubbed
    out. Raises WrongState for one that is not in the bin; Refused without initials; Unknown.
    """
    who = initials(by, "saying that a remnant is not there")
    with workroom.writing() as session:
        row = row_of(session, tag)
        if row.state not in (RemnantState.IN_BIN, RemnantState.HELD):
            raise WrongState(f"{row.tag} is {row.state}", where="remnant", expected="a remnant that should be in the bin")
        lay = None if row.held_by_id is None else lay_row_of(session, row.held_by_id, lock=True)
        if lay is not None and lay.state is not LayState.CHALKED:
            lay = None  # a lay that is over cannot hold anything: someone has written into the stash by other ways
        missing = 0 if lay is None else _drop(lay, row, workroom.now(), who)
        row.state, row.held_by_id = RemnantState.LOST, None
        posting = Posting(
            at=workroom.now(), event=Event.LOST, by=who, note=note.strip(), lay_id=None if lay is None else lay.id
        )
        post(session, posting, _moved(row, Account.BIN, Account.LOST))
        on_it = select(LaySheetRow.lay_id).where(LaySheetRow.remnant_id == row.id)
        tried = select(LayRow.id).where(LayRow.state == LayState.TRIED, LayRow.id.in_(on_it)).order_by(LayRow.id)
        return NotThere(remnant_of(row), None if lay is None else lay_of(lay), missing, tuple(session.scalars(tried)))


def found_again(workroom: Workroom, tag: str, *, by: str, place: str | None = None, note: str = "") -> Remnant:
    """A lost remnant turned up: back into the bin, at `place` if it is said. Raises WrongState, Unknown; Refused without
    initials."""
    who = initials(by, "finding a remnant again")
    with workroom.writing() as session:
        row = row_of(session, tag)
        if row.state is not RemnantState.LOST:
            raise WrongState(f"{row.tag} is {row.state}", where="remnant", expected="a lost remnant")
        row.state = RemnantState.IN_BIN
        if place is not None:
            row.place = place_row_of(session, place)
        posting = Posting(at=workroom.now(), event=Event.FOUND_AGAIN, by=who, note=note.strip())
        post(session, posting, _moved(row, Account.LOST, Account.BIN))
        return remnant_of(row)


def _drop(lay: LayRow, row: RemnantRow, at: datetime, who: str) -> int:
    """Take a remnant out of a chalked lay; how many panels lay on it. A lay that has no other is rubbed out."""
    dropped = [panel for panel in lay.panels if panel.remnant_id == row.id]
    for panel in dropped:
        panel.fate = Fate.UNCUT
    if all(panel.fate is Fate.UNCUT for panel in lay.panels):
        lay.state, lay.rubbed_out_at, lay.rubbed_out_by = LayState.RUBBED_OUT, at, who
        lay.note = "\n".join(text for text in (lay.note, f"{row.tag} was not there") if text)
    return len(dropped)


def _moved(row: RemnantRow, out_of: Account, into: Account) -> list[LineRow]:
    """The lines of a whole remnant that goes from one account to another."""
    of_it = {"cloth_id": row.cloth_id, "remnant_id": row.id, "detail": ""}
    return [
        LineRow(account=out_of, area=-row.area, mass=-row.mass, **of_it),
        LineRow(account=into, area=row.area, mass=row.mass, **of_it),
    ]
