"""Remnants that leave the house: given away, sold, thrown away. They are *gone*, and stay in the book."""

from __future__ import annotations

from dataclasses import dataclass

from .book import Posting, post
from .given import a_description, a_name, initials
from .refusals import Refused
from .remnants import Remnant, must_be_free, remnant_of, row_of
from .settings import a_price
from .tables import LineRow, RemnantRow
from .words import Account, Event, RemnantState
from .workroom import Workroom

GIVEN, SOLD, THROWN = "given", "sold", "thrown"
"""What kind of *out* a line is."""


@dataclass(frozen=True, slots=True)
class Gone:
    """A remnant that left, and the number of the entry."""

    remnant: Remnant
    entry: int


def give_away(workroom: Workroom, tag: str, *, to: str, by: str, note: str = "") -> Gone:
    """Give a remnant away, to whom is said. Raises Held; WrongState for one that is not in the bin, or is in quarantine (what
    is in it would go along); Unknown; Refused without a receiver or initials."""
    whom, who = a_name(to, "receiver"), initials(by, "giving away")
    return _leave(workroom, tag, Event.GIVEN_AWAY, GIVEN, who, note, to="give away", whom=whom)


def sell(workroom: Workroom, tag: str, *, price: int, to: str = "", by: str, note: str = "") -> Gone:
    """Sell a remnant for `price` whole cents, to whom if that is said. Raises as `give_away` does."""
    whom, who = a_description(to, "buyer"), initials(by, "selling")
    if price is None:
        raise Refused("the price is not said", where="price", expected="what it was sold for, such as 12.50")
    return _leave(workroom, tag, Event.SOLD, SOLD, who, note, to="sell", whom=whom, price=price)


def throw_away(workroom: Workroom, tag: str, *, by: str, note: str = "") -> Gone:
    """Throw a remnant out. One in quarantine may be. Raises Held; WrongState for one that is not in the bin; Unknown; Refused
    without initials."""
    who = initials(by, "throwing away")
    return _leave(workroom, tag, Event.THROWN_AWAY, THROWN, who, note, to="throw away", even_apart=True)


def _leave(
    workroom: Workroom,
    tag: str,
    event: Event,
    kind: str,
    who: str,
    note: str,
    *,
    to: str,
    whom: str = "",
    price: int | None = None,
    even_apart: bool = False,
) -> Gone:
    with workroom.writing() as session:
        row = row_of(session, tag)
        must_be_free(row, to=to, even_apart=even_apart)
        row.state = RemnantState.GONE
        paid = a_price(session, price)
        posting = Posting(at=workroom.now(), event=event, by=who, note=note.strip(), price=paid, whom=whom)
        entry = post(session, posting, moved(row, Account.BIN, Account.OUT, kind))
        return Gone(remnant_of(row), entry.id)


def moved(row: RemnantRow, out_of: Account, into: Account, detail: str = "") -> list[LineRow]:
    """The lines of a whole remnant that goes from one account to another; `detail` says which kind of the other."""
    of_it = {"cloth_id": row.cloth_id, "remnant_id": row.id}
    return [
        LineRow(account=out_of, detail="", area=-row.area, mass=-row.mass, **of_it),
        LineRow(account=into, detail=detail, area=row.area, mass=row.mass, **of_it),
    ]
