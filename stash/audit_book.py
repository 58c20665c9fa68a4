"""The audit of the book: entries and their lines, and the book against what is in the bin, lost, and in envelopes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from .amounts import Amount
from .audit import RESTORE, Damage, Found
from .book import undone_entries
from .tables import EntryRow, EnvelopeRow, JobPieceRow, LayPanelRow, LayRow, LineRow, PieceRow, RemnantRow
from .words import Account, Event, Fate, LayState, RemnantState

IN_THE_BIN = (RemnantState.IN_BIN, RemnantState.HELD)


def entries_missing(session: Session) -> Iterator[Found]:
    """Entries are numbered without a gap (on SQLite; PostgreSQL leaves gaps where a command was refused)."""
    if session.get_bind().dialect.name != "sqlite":
        return
    there = set(session.scalars(select(EntryRow.id)))
    named = set(session.scalars(select(LineRow.entry_id)))
    for number in sorted((set(range(1, max(there | named, default=0) + 1))) - there):
        yield Found(Damage.ENTRY_MISSING, f"entry {number}", "there is no entry of that number", RESTORE)


def lines_missing(session: Session) -> Iterator[Found]:
    """Each entry has as many lines as it says."""
    count = select(LineRow.entry_id, func.count()).group_by(LineRow.entry_id)
    counted = {number: lines for number, lines in session.execute(count)}  # noqa: C416 - rows are no pairs to the type checker
    for number, said in session.execute(select(EntryRow.id, EntryRow.line_count).order_by(EntryRow.id)):
        there = counted.get(number, 0)
        if there != said:
            yield Found(Damage.LINES_MISSING, f"entry {number}", f"it has {there} lines, and says {said}", RESTORE)


def sums(session: Session) -> Iterator[Found]:
    """Each entry sums to zero in area and in mass."""
    area, mass = func.sum(LineRow.area), func.sum(LineRow.mass)
    asked = select(LineRow.entry_id, area, mass).group_by(LineRow.entry_id).having((area != 0) | (mass != 0))
    for number, more_area, more_mass in session.execute(asked.order_by(LineRow.entry_id)):
        what = f"it is out by {more_area} × 0.01 mm² and {more_mass} mg"
        yield Found(Damage.UNBALANCED, f"entry {number}", what, RESTORE)


def undoings(session: Session) -> Iterator[Found]:
    """An undoing has the lines of what it undoes, with the opposite sign."""
    undone = undone_entries(session)
    lines: dict[int, Counter[tuple[object, ...]]] = defaultdict(Counter)
    asked = select(LineRow).where(LineRow.entry_id.in_([*undone, *undone.values()]))
    for line in session.scalars(asked):
        lines[line.entry_id][_of(line)] += 1
    for done, by in sorted(undone.items()):
        opposite = Counter({(*key[:-2], -key[-2], -key[-1]): count for key, count in lines[done].items()})  # type: ignore[operator]
        if lines[by] != opposite:
            yield Found(Damage.WRONG_UNDOING, f"entry {by}", f"its lines are not those of entry {done} turned round", RESTORE)
    said = set(session.scalars(select(EntryRow.id).where(EntryRow.event == Event.UNDONE)))
    for number in sorted(said - set(undone.values())):
        yield Found(Damage.WRONG_UNDOING, f"entry {number}", "it is an undoing, and does not say of what", RESTORE)


def _of(line: LineRow) -> tuple[object, ...]:
    return (line.account, line.cloth_id, line.remnant_id, line.envelope_id, line.job_id, line.area, line.mass)


def remnants_as_booked(session: Session) -> Iterator[Found]:
    """Remnant by remnant: what the book has of it in the bin and among what is lost."""
    booked = {account: _sums(session, LineRow.remnant_id, account) for account in (Account.BIN, Account.LOST)}
    columns = (RemnantRow.id, RemnantRow.tag, RemnantRow.state, RemnantRow.area, RemnantRow.mass)
    for row, tag, state, area, mass in session.execute(select(*columns).order_by(RemnantRow.id)):
        expected = {
            Account.BIN: (area, mass) if state in IN_THE_BIN else (0, 0),
            Account.LOST: (area, mass) if state is RemnantState.LOST else (0, 0),
        }
        for account, amount in expected.items():
            found = booked[account].get(row, (0, 0))
            if found != amount:
                where = "in the bin" if account is Account.BIN else "lost"
                yield Found(
                    Damage.NOT_AS_BOOKED,
                    f"remnant {tag}",
                    f"it is {state}; the book has {_said(found)} of it {where}, and it should be {_said(amount)}",
                    f"Look at its entries (fent book list --remnant {tag}). {RESTORE}",
                )


def envelopes_as_booked(session: Session) -> Iterator[Found]:
    """Envelope by envelope: what the book has in it."""
    booked = _sums(session, LineRow.envelope_id, Account.BIN)
    for row in session.scalars(select(EnvelopeRow).order_by(EnvelopeRow.id)):
        found = booked.get(row.id, (0, 0))
        if found != (row.area, row.mass):
            yield Found(
                Damage.NOT_AS_BOOKED,
                f"envelope {row.tag}",
                f"the book has {_said(found)} in it, and it holds {_said((row.area, row.mass))}",
                f"Look at its entries (fent book list --envelope {row.tag}). {RESTORE}",
            )


def cut_work(session: Session) -> Iterator[Found]:
    """Each cut lay has its entry, and its panels have what the entry says of them, piece by piece."""
    undone = undone_entries(session)
    entries = session.execute(select(EntryRow.lay_id, EntryRow.id).where(EntryRow.event == Event.CUT).order_by(EntryRow.id))
    cut_by = {lay: entry for lay, entry in entries if entry not in undone}
    for lay in session.scalars(select(LayRow).order_by(LayRow.id)):
        entry = cut_by.get(lay.id)
        if (entry is None) == (lay.state is LayState.CUT):
            what = (
                "it is cut, and no entry says so"
                if entry is None
                else f"it is {lay.state}, and entry {entry} says that it is cut"
            )
            yield Found(Damage.CUT_WORK, f"lay {lay.id}", what, f"Look at its entries (fent book list). {RESTORE}")
    booked: dict[int, dict[str, Amount]] = defaultdict(dict)
    amounts = select(LineRow.entry_id, LineRow.account, LineRow.detail, func.sum(LineRow.area), func.sum(LineRow.mass))
    mine = LineRow.entry_id.in_(cut_by.values()) & (
        (LineRow.account == Account.CUT_WORK) | ((LineRow.account == Account.RAG_BAG) & (LineRow.detail == "spoiled"))
    )
    for entry, account, detail, area, mass in session.execute(
        amounts.where(mine).group_by(LineRow.entry_id, LineRow.account, LineRow.detail)
    ):
        booked[entry]["spoiled" if account is Account.RAG_BAG else detail] = (int(area), int(mass))
    laid = _laid(session)
    for lay_id, entry in cut_by.items():
        if laid.get(lay_id or 0, {}) != booked[entry]:
            yield Found(
                Damage.CUT_WORK,
                f"lay {lay_id}",
                f"its panels together are not what entry {entry} has as cut work and spoiled",
                RESTORE,
            )


def _laid(session: Session) -> Mapping[int, dict[str, Amount]]:
    """By cut lay: area and mass of its good panels by piece, and of those that were spoiled."""
    asked = (
        select(LayPanelRow.lay_id, PieceRow.name, LayPanelRow.fate, func.sum(LayPanelRow.area), func.sum(LayPanelRow.mass))
        .join(JobPieceRow, LayPanelRow.job_piece_id == JobPieceRow.id)
        .join(PieceRow, JobPieceRow.piece_id == PieceRow.id)
        .where(LayPanelRow.fate.in_((Fate.CUT, Fate.SPOILED)))
        .group_by(LayPanelRow.lay_id, PieceRow.name, LayPanelRow.fate)
    )
    found: dict[int, dict[str, Amount]] = defaultdict(dict)
    for lay, piece, fate, area, mass in session.execute(asked):
        key = "spoiled" if fate is Fate.SPOILED else piece
        before = found[lay].get(key, (0, 0))
        found[lay][key] = (before[0] + int(area or 0), before[1] + int(mass or 0))
    return found


def _sums(session: Session, of: InstrumentedAttribute[int | None], account: Account) -> dict[int, Amount]:
    asked = select(of, func.sum(LineRow.area), func.sum(LineRow.mass)).where(LineRow.account == account, of.is_not(None))
    return {row: (int(area), int(mass)) for row, area, mass in session.execute(asked.group_by(of)) if row is not None}


def _said(amount: Amount) -> str:
    return f"{amount[0] / 100:.2f} mm² and {amount[1] / 1000:.3f} g"


CHECKS = (entries_missing, lines_missing, sums, undoings, remnants_as_booked, envelopes_as_booked, cut_work)
