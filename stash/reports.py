"""Reports on the bin and the book, worked out in SQL: the whole of it in `report`, or one part alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from . import report_bin, report_periods, report_work
from .reported import Asked, InBin, Lain, Period, Planned, Report, Used
from .settings import currency
from .standing import Scope, scope_of
from .tables import EntryRow
from .words import Event
from .workroom import Workroom

T = TypeVar("T")
LONGEST = 20
"""As many of what has lain longest as fill a page."""
LATEST = 200
"""As many lays as are looked through by eye: in the report on everything there are the latest; `planned` has all."""


def report(workroom: Workroom, asked: Asked | None = None) -> Report:
    """All of it, for someone who was not there. Raises Unknown for a job or cloth that is none, Refused for a period that
    ends before it begins."""
    about = asked or Asked()
    with workroom.reading() as session:
        scope = scope_of(session, about)
        jobs = report_work.jobs(session, scope)
        months_of_it, years_of_it = report_periods.by_month_and_year(session, scope)
        undone = select(func.count()).select_from(EntryRow).where(EntryRow.event == Event.UNDONE)
        return Report(
            asked=about,
            made_at=workroom.now(),
            currency=currency(workroom),
            entries=session.scalar(select(func.count()).select_from(EntryRow).where(*scope.entries())) or 0,
            undone=session.scalar(undone) or 0,
            bin=report_bin.in_bin(session, scope, workroom.now().date()),
            longest=report_bin.longest(session, scope, workroom.now().date(), LONGEST),
            jobs=jobs,
            in_all=report_work.in_all(jobs),
            planned=report_work.planned(session, scope, LATEST),
            months=months_of_it,
            years=years_of_it,
        )


def in_bin(workroom: Workroom, asked: Asked | None = None) -> InBin:
    """What is in the bin now, by fibre, weight, colour and age; of one cloth if that is asked."""
    return _part(workroom, asked, lambda session, scope: report_bin.in_bin(session, scope, workroom.now().date()))


def longest(workroom: Workroom, asked: Asked | None = None, *, most: int = LONGEST) -> tuple[Lain, ...]:
    """What has lain longest in the bin, the oldest first."""
    return _part(workroom, asked, lambda session, scope: report_bin.longest(session, scope, workroom.now().date(), most))


def jobs(workroom: Workroom, asked: Asked | None = None) -> tuple[Used, ...]:
    """What each job has used, in the order of the first cut."""
    return _part(workroom, asked, report_work.jobs)


def in_all(every: Sequence[Used]) -> Used:
    """What all these jobs have used together."""
    return report_work.in_all(every)


def planned(workroom: Workroom, asked: Asked | None = None) -> tuple[Planned, ...]:
    """What was planned against what was cut, lay by lay, the newest first."""
    return _part(workroom, asked, report_work.planned)


def months(workroom: Workroom, asked: Asked | None = None) -> tuple[Period, ...]:
    """Month by month; months in which nothing happened are left out."""
    return _part(workroom, asked, report_periods.by_month_and_year)[0]


def years(workroom: Workroom, asked: Asked | None = None) -> tuple[Period, ...]:
    """Year by year."""
    return _part(workroom, asked, report_periods.by_month_and_year)[1]


def _part(workroom: Workroom, asked: Asked | None, work: Callable[[Session, Scope], T]) -> T:
    with workroom.reading() as session:
        return work(session, scope_of(session, asked or Asked()))
