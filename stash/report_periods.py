"""What each month and each year brought, and what was in the bin at its end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping

from sqlalchemy import case, extract, func, select
from sqlalchemy.orm import Session

from .leaving import GIVEN, SOLD, THROWN
from .report_work import SPOILED
from .reported import NONE, Period, Quantity
from .standing import Scope, stands
from .tables import EntryRow, LineRow, RemnantRow
from .words import Account, Event, Source

Month = tuple[int, int]
Key = tuple[Account, str]


def by_month_and_year(session: Session, scope: Scope) -> tuple[tuple[Period, ...], tuple[Period, ...]]:
    """Month by month and year by year (UTC); those in which nothing happened are left out."""
    moved, before = list(_moved(session, scope)), _before(session, scope)
    money = list(_paid(session, scope)), list(_got(session, scope))

    def periods(name: Callable[[Month], str]) -> tuple[Period, ...]:
        return _periods(moved, money, before, name, with_bin=scope.job_id is None)

    return periods(lambda month: f"{month[0]}-{month[1]:02d}"), periods(lambda month: str(month[0]))


def _periods(
    moved: Iterable[tuple[Month, Key, Quantity]],
    money: tuple[Iterable[tuple[Month, int]], Iterable[tuple[Month, int]]],
    left: Quantity,
    name: Callable[[Month], str],
    *,
    with_bin: bool,
) -> tuple[Period, ...]:
    """`moved`, `money` (paid, got) by month, summed up by the name of a period; `left`: what was in the bin before them."""
    sums: dict[str, dict[Key, Quantity]] = defaultdict(lambda: defaultdict(Quantity))
    for month, key, quantity in moved:
        sums[name(month)][key] += quantity
    paid, got = (_named(each, name) for each in money)
    periods = []
    for period in sorted(sums):
        if with_bin:  # a job has no bin of its own
            left += _of(sums[period], Account.BIN)
        periods.append(_period(period, sums[period], left, paid.get(period, 0), got.get(period, 0)))
    return tuple(periods)


def _period(name: str, sums: Mapping[Key, Quantity], left: Quantity, paid: int, got: int) -> Period:
    rags, out = _of(sums, Account.RAG_BAG), {kind: _of(sums, Account.OUT, kind) for kind in (GIVEN, SOLD, THROWN)}
    spoiled = _of(sums, Account.RAG_BAG, SPOILED)
    came = {source: NONE - _of(sums, Account.IN, str(source)) for source in Source}
    return Period(
        name=name,
        came=tuple((source, quantity) for source, quantity in came.items() if quantity != NONE),
        panels=_of(sums, Account.CUT_WORK),
        spoiled=spoiled,
        rag_bag=rags - spoiled,
        given=out[GIVEN],
        sold=out[SOLD],
        thrown=out[THROWN],
        lost=_of(sums, Account.LOST),
        re_measured=_of(sums, Account.RE_MEASURED),
        shrunk=_of(sums, Account.SHRUNK),
        left=left,
        paid=paid,
        got=got,
    )


def _of(sums: Mapping[Key, Quantity], account: Account, detail: str | None = None) -> Quantity:
    """What went into an account, of one kind if asked."""
    return sum((each for key, each in sums.items() if key[0] is account and detail in (None, key[1])), NONE)


def _moved(session: Session, scope: Scope) -> Iterable[tuple[Month, Key, Quantity]]:
    when = (extract("year", EntryRow.at), extract("month", EntryRow.at))
    # What cut work was cut for is no matter here, and neither is whether what is in the bin is a keeper or an envelope.
    detail = case((LineRow.account.in_((Account.CUT_WORK, Account.BIN)), ""), else_=LineRow.detail)
    key = (*when, LineRow.account, detail)
    asked = select(*key, func.sum(LineRow.area), func.sum(LineRow.mass)).join(EntryRow)
    for year, month, account, kind, area, mass in session.execute(
        asked.where(*scope.entries(), *scope.lines()).group_by(*key)
    ):
        yield (int(year), int(month)), (account, kind), Quantity(int(area), int(mass))


def _before(session: Session, scope: Scope) -> Quantity:
    """What was in the bin before the period."""
    if scope.since is None or scope.job_id is not None:
        return NONE
    asked = select(func.sum(LineRow.area), func.sum(LineRow.mass)).join(EntryRow)
    conditions = (LineRow.account == Account.BIN, EntryRow.at < scope.since, stands(), *scope.lines())
    area, mass = session.execute(asked.where(*conditions)).one()
    return Quantity(int(area or 0), int(mass or 0))


def _paid(session: Session, scope: Scope) -> Iterable[tuple[Month, int]]:
    """What was paid for remnants, by the month in which they were logged, as their prices stand now."""
    when = (extract("year", EntryRow.at), extract("month", EntryRow.at))
    asked = (
        select(*when, func.sum(RemnantRow.price))
        .select_from(LineRow)
        .join(EntryRow, LineRow.entry_id == EntryRow.id)
        .join(RemnantRow, LineRow.remnant_id == RemnantRow.id)
        .where(LineRow.account == Account.IN, RemnantRow.price.is_not(None), *scope.entries(), *scope.lines())
    )
    for year, month, cents in session.execute(asked.group_by(*when)):
        yield (int(year), int(month)), int(cents or 0)


def _got(session: Session, scope: Scope) -> Iterable[tuple[Month, int]]:
    """What was got for remnants that were sold."""
    when = (extract("year", EntryRow.at), extract("month", EntryRow.at))
    of_it = select(LineRow.entry_id).where(*scope.lines())
    asked = select(*when, func.sum(EntryRow.price)).where(EntryRow.event == Event.SOLD, *scope.entries())
    if scope.lines():
        asked = asked.where(EntryRow.id.in_(of_it))
    for year, month, cents in session.execute(asked.group_by(*when)):
        yield (int(year), int(month)), int(cents or 0)


def _named(amounts: Iterable[tuple[Month, int]], name: Callable[[Month], str]) -> dict[str, int]:
    found: dict[str, int] = defaultdict(int)
    for month, cents in amounts:
        found[name(month)] += cents
    return found
