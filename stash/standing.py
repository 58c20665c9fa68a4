"""Which entries a report is about: those that stand, in a period, for a job, in a cloth. An entry that was undone and its
undoing are left out together, wherever in time they are, so that a report says what happened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session, aliased

from .cloths import row_of as cloth_row_of
from .given import key_of, unknown
from .refusals import Refused
from .reported import Asked
from .tables import EntryRow, JobRow, LineRow
from .words import Event


@dataclass(frozen=True, slots=True)
class Scope:
    """What is asked for, as the tables know it. `until` is the first moment that is no longer in it."""

    since: datetime | None
    until: datetime | None
    job_id: int | None
    cloth_id: int | None

    def entries(self) -> list[ColumnElement[bool]]:
        """Conditions on `EntryRow`: it stands, and lies in the period."""
        return [stands(), *([EntryRow.at >= self.since] if self.since else []), *self.before_the_end()]

    def before_the_end(self) -> list[ColumnElement[bool]]:
        """Conditions on `EntryRow`: it does not lie after the period."""
        return [EntryRow.at < self.until] if self.until else []

    def lines(self) -> list[ColumnElement[bool]]:
        """Conditions on `LineRow`: of the job, of the cloth."""
        found: list[ColumnElement[bool]] = []
        if self.job_id is not None:
            found.append(LineRow.job_id == self.job_id)
        if self.cloth_id is not None:
            found.append(LineRow.cloth_id == self.cloth_id)
        return found


def scope_of(session: Session, asked: Asked) -> Scope:
    """Raises Unknown for a job or cloth that the stash does not know, Refused for a period that ends before it begins."""
    if asked.since and asked.until and asked.until < asked.since:
        raise Refused(
            f"the period ends on {asked.until}, before it begins",
            where="period",
            expected=f"a last day from {asked.since} on",
        )
    return Scope(
        since=_midnight(asked.since) if asked.since else None,
        until=_midnight(asked.until) + timedelta(days=1) if asked.until else None,
        job_id=None if asked.job is None else _job_id(session, asked.job),
        cloth_id=None if asked.cloth is None else cloth_row_of(session, asked.cloth).id,
    )


def stands() -> ColumnElement[bool]:
    """Whether an entry stands: it is no undoing, and none undoes it."""
    undoing = aliased(EntryRow)
    undone = select(undoing.undoes_id).where(undoing.undoes_id.is_not(None))
    return (EntryRow.event != Event.UNDONE) & EntryRow.id.not_in(undone)


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)


def _job_id(session: Session, name: str) -> int:
    found = session.scalar(select(JobRow.id).where(JobRow.key == key_of(name)))
    if found is None:
        raise unknown("job", name, session.scalars(select(JobRow.name)), listed="fent job list")
    return found
