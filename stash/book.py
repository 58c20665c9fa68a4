"""The cloth book: double-entry, append-only, exact. Areas are whole hundredths of a mm², masses whole milligrams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session, selectinload

from .given import key_of, unknown
from .tables import EntryRow, EnvelopeRow, JobRow, LineRow, RemnantRow
from .words import Account, Event
from .workroom import Workroom

ENVELOPES = "fent envelope list"
"""The command that lists the envelopes."""


@dataclass(frozen=True, slots=True)
class BookLine:
    """One line of an entry: `area` in 0.01 mm² and `mass` in mg, + into the account and − out of it."""

    account: Account
    detail: str
    cloth: str
    remnant: str | None
    envelope: str | None
    job: str | None
    area: int
    mass: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An event and its lines, which sum to zero in area and in mass. `undoes`: the entry that it undoes, `undone_by`: the one
    that undoes it. `price`: whole cents, `whom`: who was given it or bought it."""

    number: int
    at: datetime
    event: Event
    by: str
    note: str
    lay: int | None
    undoes: int | None
    undone_by: int | None
    price: int | None
    whom: str
    lines: tuple[BookLine, ...]


@dataclass(frozen=True, slots=True)
class Total:
    """What an account holds, in 0.01 mm² and mg."""

    account: Account
    area: int
    mass: int


@dataclass(frozen=True, slots=True)
class Balance:
    """Every account (in the order of `Account`), and the sums over all, which are zero."""

    totals: tuple[Total, ...]
    area: int
    mass: int
    entries: int

    @property
    def balanced(self) -> bool:
        """Whether the book sums to exactly zero, in area and in mass."""
        return self.area == 0 and self.mass == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Posting:
    """What an entry says besides its lines."""

    at: datetime
    event: Event
    by: str
    note: str = ""
    lay_id: int | None = None
    undoes_id: int | None = None
    price: int | None = None
    whom: str = ""


class OutOfBalance(RuntimeError):  # noqa: N818 - what it says
    """A verb tried to post an entry that does not sum to zero: a fault of the program. Nothing was changed."""


def post(session: Session, posting: Posting, lines: Sequence[LineRow], *, even_if_nothing_moves: bool = False) -> EntryRow:
    """Append an entry: the only way into the book. Lines that move nothing are left out, unless nothing moves at all and that
    was to be written down too (measured again, and found to be as it was).

    Raises OutOfBalance unless the lines sum to exactly zero, in area and in mass. (Undoing an event posts its lines with the
    opposite sign, and says in `undoes_id` which entry it undoes.)
    """
    moved = [line for line in lines if line.area or line.mass] or (list(lines) if even_if_nothing_moves else [])
    area, mass = sum(line.area for line in moved), sum(line.mass for line in moved)
    if area or mass or not moved:
        raise OutOfBalance(f"an entry of {posting.event!r} is out by {area} × 0.01 mm² and {mass} mg, in {len(moved)} lines")
    entry = EntryRow(
        at=posting.at,
        event=posting.event,
        by=posting.by,
        note=posting.note,
        lay_id=posting.lay_id,
        undoes_id=posting.undoes_id,
        price=posting.price,
        whom=posting.whom,
        line_count=len(moved),
        lines=moved,
    )
    session.add(entry)
    session.flush()
    return entry


def balance(workroom: Workroom) -> Balance:
    """The balance of every account and of the whole book."""
    with workroom.reading() as session:
        sums = select(LineRow.account, func.sum(LineRow.area), func.sum(LineRow.mass)).group_by(LineRow.account)
        # PostgreSQL sums 64-bit integers as exact decimals.
        found = {account: (int(area), int(mass)) for account, area, mass in session.execute(sums)}
        count = session.scalar(select(func.count()).select_from(EntryRow))
    totals = tuple(Total(account, *found.get(account, (0, 0))) for account in Account)
    return Balance(totals, sum(t.area for t in totals), sum(t.mass for t in totals), count or 0)


def entries(
    workroom: Workroom,
    *,
    event: Event | None = None,
    remnant: str | None = None,
    envelope: str | None = None,
    job: str | None = None,
    limit: int | None = None,
) -> tuple[Entry, ...]:
    """Entries, the newest first; of one kind, remnant, envelope or job if asked. Raises Unknown."""
    with workroom.reading() as session:
        asked = select(EntryRow).order_by(EntryRow.id.desc()).limit(limit)
        if event is not None:
            asked = asked.where(EntryRow.event == event)
        if remnant is not None:
            of = _id_of(session, RemnantRow, RemnantRow.tag, " ".join(remnant.split()).upper(), "remnant", "fent bin list")
            asked = asked.where(EntryRow.lines.any(LineRow.remnant_id == of))
        if envelope is not None:
            of = _id_of(session, EnvelopeRow, EnvelopeRow.tag, " ".join(envelope.split()).upper(), "envelope", ENVELOPES)
            asked = asked.where(EntryRow.lines.any(LineRow.envelope_id == of))
        if job is not None:
            of = _id_of(session, JobRow, JobRow.key, key_of(job), "job", "fent job list")
            asked = asked.where(EntryRow.lines.any(LineRow.job_id == of))
        lines = selectinload(EntryRow.lines)
        named = (LineRow.cloth, LineRow.remnant, LineRow.envelope, LineRow.job)
        asked = asked.options(*(lines.joinedload(name) for name in named))
        undone = undone_entries(session)
        return tuple(entry_of(row, undone.get(row.id)) for row in session.scalars(asked))


def undone_entries(session: Session) -> dict[int, int]:
    """The entries that were undone, each with the one that undoes it."""
    asked = select(EntryRow.undoes_id, EntryRow.id).where(EntryRow.undoes_id.is_not(None))
    return {undone: by for undone, by in session.execute(asked) if undone is not None}


def _id_of(
    session: Session,
    table: type[RemnantRow | EnvelopeRow | JobRow],
    column: InstrumentedAttribute[str],
    key: str,
    what: str,
    listed: str,
) -> int:
    """The id of the remnant, envelope or job of that key. Raises Unknown."""
    found = session.scalar(select(table.id).where(column == key))
    if found is None:
        raise unknown(what, key, session.scalars(select(column)), listed=listed)
    return found


def entry_of(row: EntryRow, undone_by: int | None) -> Entry:
    """The entry that a row holds."""
    return Entry(
        number=row.id,
        at=row.at,
        event=row.event,
        by=row.by,
        note=row.note,
        lay=row.lay_id,
        undoes=row.undoes_id,
        undone_by=undone_by,
        price=row.price,
        whom=row.whom,
        lines=tuple(
            BookLine(
                account=line.account,
                detail=line.detail,
                cloth=line.cloth.name,
                remnant=line.remnant.tag if line.remnant else None,
                envelope=line.envelope.tag if line.envelope else None,
                job=line.job.name if line.job else None,
                area=line.area,
                mass=line.mass,
            )
            for line in row.lines
        ),
    )
