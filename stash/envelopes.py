"""Envelopes: offcuts too small to outline, kept by cloth, dye lot and mass. They are in the book's balance, never in a lay.

What is only weighed has the area that its weight says (mass ÷ g/m²); what was a remnant keeps the area it was booked with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from . import telling
from .amounts import MM2_IN_M2, Amount, booked_area, booked_mass, grams, square_mm
from .book import ENVELOPES, Posting, post
from .cloths import row_of as cloth_row_of
from .given import a_description, a_figure, a_tag, initials, key_of, unknown
from .refusals import Refused, WrongState
from .remnants import must_be_free, place_row_of, tag_must_be_free
from .remnants import row_of as remnant_row_of
from .tables import ClothRow, EnvelopeRow, LineRow, RemnantRow
from .words import Account, Event, RemnantState, Source
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEnvelope:
    """An envelope as it is told to the stash. `lot`: None for the cloth's own dye lot. `mass`: g, 0 for an empty one."""

    tag: str
    cloth: str
    mass: float = 0.0
    lot: str | None = None
    place: str = ""
    source: Source = Source.FOUND
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """An envelope in the stash: g, and mm² as booked."""

    id: int
    tag: str
    cloth: str
    lot: str
    mass: float
    area: float
    place: str
    note: str
    opened_at: datetime


OFFCUTS = "offcuts"
LEAST = 0.001
"""g: a milligram, the least that is booked."""


def add(workroom: Workroom, envelope: NewEnvelope, *, by: str = "") -> Envelope:
    """A new envelope, with what is in it. Raises Taken for a tag that an envelope or a remnant has, Unknown, Refused."""
    tag = a_tag(envelope.tag)
    with workroom.writing() as session:
        cloth = cloth_row_of(session, envelope.cloth)
        tag_must_be_free(session, tag)
        row = EnvelopeRow(
            tag=tag,
            cloth=cloth,
            lot=cloth.lot if envelope.lot is None else a_description(envelope.lot, "lot"),
            place=place_row_of(session, envelope.place),
            area=0,
            mass=0,
            note=envelope.note.strip(),
            opened_at=workroom.now(),
        )
        session.add(row)
        session.flush()
        if envelope.mass != 0:
            _come_in(
                session, row, envelope.mass, envelope.source, Posting(at=workroom.now(), event=Event.LOGGED, by=by.strip())
            )
        return envelope_of(row)


def get(workroom: Workroom, tag: str) -> Envelope:
    """The envelope of that tag. Raises Unknown, with close tags."""
    with workroom.reading() as session:
        return envelope_of(row_of(session, tag))


def every(workroom: Workroom, *, cloth: str | None = None) -> tuple[Envelope, ...]:
    """All envelopes by tag; of one cloth if asked. Raises Unknown."""
    asked = select(EnvelopeRow).order_by(EnvelopeRow.tag)
    with workroom.reading() as session:
        if cloth is not None:
            asked = asked.where(EnvelopeRow.cloth_id == cloth_row_of(session, cloth).id)
        return tuple(envelope_of(row) for row in session.scalars(asked))


def put_in(
    workroom: Workroom, tag: str, mass: float, *, source: Source = Source.FOUND, by: str = "", note: str = ""
) -> Envelope:
    """More offcuts into an envelope, `mass` g of them. Raises Unknown, Refused."""
    with workroom.writing() as session:
        row = row_of(session, tag)
        posting = Posting(at=workroom.now(), event=Event.LOGGED, by=by.strip(), note=note.strip())
        _come_in(session, row, mass, source, posting)
        return envelope_of(row)


def put_away(workroom: Workroom, tag: str, remnants: Sequence[str], *, mass: float, by: str, note: str = "") -> Envelope:
    """Put remnants (keepers that are not worth a tag, say) into an envelope; together they weigh `mass` g.

    Their areas go over as booked; where the scale says another mass than the book, the difference is *re-measured*. They are
    then gone as remnants. Raises Held; WrongState for one that is in quarantine or not in the bin; Refused for one of another
    cloth or dye lot or named twice, for none, and without initials; Unknown.
    """
    who = initials(by, "putting into an envelope")
    weighed = _a_mass(mass)
    with workroom.writing() as session:
        row = row_of(session, tag)
        rows = [remnant_row_of(session, each) for each in remnants]
        _must_go_together(row, rows)
        lines = []
        for remnant in rows:
            must_be_free(remnant, to="put into an envelope")
            remnant.state = RemnantState.GONE
            lines.append(_line(row, Account.BIN, (-remnant.area, -remnant.mass), remnant=remnant))
        area, recorded = sum(remnant.area for remnant in rows), sum(remnant.mass for remnant in rows)
        lines.append(_line(row, Account.RE_MEASURED, (0, recorded - weighed)))
        lines.append(_change(row, (area, weighed)))
        posting = Posting(at=workroom.now(), event=Event.PUT_AWAY, by=who, note=note.strip())
        post(session, posting, lines)
        return envelope_of(row)


def take_out(workroom: Workroom, tag: str, mass: float | None = None, *, by: str, note: str = "") -> Envelope:
    """Take `mass` g (None: all) out of an envelope, into the rag bag; its area goes in proportion.

    Raises Refused for more than is in it, and without initials; WrongState for an empty one; Unknown.
    """
    who = initials(by, "taking out of an envelope")
    with workroom.writing() as session:
        row = row_of(session, tag)
        if row.mass == 0:
            raise WrongState(f"{row.tag} is empty", where="envelope", expected="an envelope with offcuts in it")
        taken = row.mass if mass is None else _a_mass(mass)
        if taken > row.mass:
            raise Refused(
                f"{telling.mass(grams(taken))} are more than {row.tag} holds",
                where="mass",
                expected=f"at most {telling.mass(grams(row.mass))}",
                next="If the scale says otherwise, weigh the envelope again",
            )
        amount = (_in_proportion(row.area, taken, row.mass), taken)
        lines = [_change(row, (-amount[0], -amount[1])), _line(row, Account.RAG_BAG, amount, detail=OFFCUTS)]
        post(session, Posting(at=workroom.now(), event=Event.TAKEN_OUT, by=who, note=note.strip()), lines)
        return envelope_of(row)


def weigh_again(workroom: Workroom, tag: str, mass: float, *, by: str, note: str = "") -> Envelope:
    """Say what an envelope really weighs: the difference is *re-measured*, area in proportion. Raises Refused for what the
    book says already, and without initials; Unknown."""
    who = initials(by, "weighing again")
    weighed = booked_mass(a_figure(mass, "mass", unit="g", above=False))
    with workroom.writing() as session:
        row = row_of(session, tag)
        if weighed == row.mass:
            raise Refused(
                f"{row.tag} holds {telling.mass(grams(weighed))} by the book too", where="mass", expected="another mass"
            )
        area = _area_by_weight(row.cloth, weighed) if row.mass == 0 else _in_proportion(row.area, weighed, row.mass)
        more = (area - row.area, weighed - row.mass)
        lines = [_change(row, more), _line(row, Account.RE_MEASURED, (-more[0], -more[1]))]
        post(session, Posting(at=workroom.now(), event=Event.WEIGHED_AGAIN, by=who, note=note.strip()), lines)
        return envelope_of(row)


def row_of(session: Session, tag: str) -> EnvelopeRow:
    """The row of the envelope of that tag. Raises Unknown."""
    row = session.scalar(select(EnvelopeRow).where(EnvelopeRow.tag == " ".join(tag.split()).upper()))
    if row is None:
        raise unknown("envelope", tag, session.scalars(select(EnvelopeRow.tag)), listed=ENVELOPES)
    return row


def envelope_of(row: EnvelopeRow) -> Envelope:
    """The envelope that a row holds."""
    return Envelope(
        id=row.id,
        tag=row.tag,
        cloth=row.cloth.name,
        lot=row.lot,
        mass=grams(row.mass),
        area=square_mm(row.area),
        place=row.place.name if row.place else "",
        note=row.note,
        opened_at=row.opened_at,
    )


def _must_go_together(row: EnvelopeRow, rows: Sequence[RemnantRow]) -> None:
    """Raise Refused unless these remnants belong into one envelope, that one."""
    if not rows:
        raise Refused("no remnant is named", where="remnants", expected="the tags of those that go into the envelope")
    for i, remnant in enumerate(rows):
        if remnant in rows[:i]:
            raise Refused(f"{remnant.tag} is named twice", where="remnants", expected="each tag once")
        if remnant.cloth_id != row.cloth_id or key_of(remnant.cloth.lot) != key_of(row.lot):
            lot = f", lot {row.lot}" if row.lot else ""
            raise Refused(
                f"{remnant.tag} is {remnant.cloth.name}, lot {remnant.cloth.lot or 'not said'}",
                where="remnants",
                expected=f"offcuts of one cloth and dye lot in an envelope: {row.cloth.name}{lot} in {row.tag}",
                next="Choose another envelope, or open a new one",
            )


def _come_in(session: Session, row: EnvelopeRow, mass: float, source: Source, posting: Posting) -> None:
    """Book offcuts that were in no account before."""
    weighed = _a_mass(mass)
    amount = (_area_by_weight(row.cloth, weighed), weighed)
    outside = _line(row, Account.IN, (-amount[0], -amount[1]), detail=str(Source(source)))
    post(session, posting, [outside, _change(row, amount)])


def _change(row: EnvelopeRow, more: Amount) -> LineRow:
    """Put that much more (or less) into an envelope; the line that says so."""
    row.area, row.mass = row.area + more[0], row.mass + more[1]
    return _line(row, Account.BIN, more, detail="envelope")


def _line(
    row: EnvelopeRow, account: Account, amount: Amount, *, detail: str = "", remnant: RemnantRow | None = None
) -> LineRow:
    """A line of an entry: of the envelope, or of a remnant that goes into it."""
    return LineRow(
        account=account,
        detail=detail,
        cloth_id=row.cloth_id,
        envelope_id=row.id if remnant is None else None,
        remnant_id=None if remnant is None else remnant.id,
        area=amount[0],
        mass=amount[1],
    )


def _a_mass(given: float) -> int:
    """A mass that was weighed, mg. Raises Refused."""
    return booked_mass(a_figure(given, "mass", unit="g", least=LEAST, above=False))


def _area_by_weight(cloth: ClothRow, mass: int) -> int:
    """The booked area of a booked mass of a cloth: mass ÷ mass per unit area."""
    return booked_area(grams(mass) / cloth.weight * MM2_IN_M2)


def _in_proportion(area: int, part: int, whole: int) -> int:
    """A part of an area, rounded to the nearest unit."""
    return (area * part + whole // 2) // whole
