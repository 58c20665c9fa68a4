"""What became of a remnant since a lay was tried on it, in words: why the lay can no longer be chalked or cut as it stands."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, object_session

from .tables import EntryRow, LayRow, LaySheetRow, LineRow, RemnantBeforeRow, RemnantRow
from .words import Account, LayState, RemnantState


def on_day(at: datetime) -> str:
    """
    >>> on_day(datetime(2026, 3, 2))
    'on 2 March 2026'
    """
    return f"on {at.day} {at:%B %Y}"


def object_session_of(row: object) -> Session:
    """The session that a row belongs to."""
    session = object_session(row)
    assert session is not None
    return session


def what_became_of(row: RemnantRow, revision: int, since: datetime) -> str:
    """ "was measured again on 3 March 2026", "" if the remnant is as it was (whoever holds it)."""
    session = object_session_of(row)
    if row.state not in (RemnantState.IN_BIN, RemnantState.HELD):
        return _gone(session, row)
    if row.quarantined:
        return f"is in quarantine ({row.quarantine_reason})"
    if row.revision == revision:
        return ""
    last = session.scalar(
        select(RemnantBeforeRow)
        .where(RemnantBeforeRow.remnant_id == row.id, RemnantBeforeRow.at >= since)
        .order_by(RemnantBeforeRow.id.desc())
        .limit(1)
    )
    if last is None:
        return "has changed"
    entry = None if last.entry_id is None else session.get(EntryRow, last.entry_id)
    return f"was {entry.event if entry else 'measured again'} {on_day(last.at)}"


def _gone(session: Session, row: RemnantRow) -> str:
    """How a remnant left the bin: cut in a lay, given away, sold, thrown away, lost."""
    if row.state is RemnantState.CUT:
        cut = session.scalar(
            select(LayRow)
            .join(LaySheetRow, LaySheetRow.lay_id == LayRow.id)
            .where(LaySheetRow.remnant_id == row.id, LayRow.state == LayState.CUT)
            .order_by(LayRow.id.desc())
            .limit(1)
        )
        if cut is not None and cut.cut_at is not None:
            return f"was cut {on_day(cut.cut_at)} in lay {cut.id}"
    if row.state is RemnantState.LOST:
        return "cannot be found"
    out = session.scalar(
        select(LineRow)
        .where(LineRow.remnant_id == row.id, LineRow.account == Account.OUT, LineRow.area > 0)
        .order_by(LineRow.id.desc())
        .limit(1)
    )
    entry = None if out is None else session.get(EntryRow, out.entry_id)
    return f"is {row.state}" if entry is None else f"was {entry.event} {on_day(entry.at)}"
