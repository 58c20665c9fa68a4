"""What the jobs have used, and what was planned against what was cut."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sqlalchemy import ColumnElement, Executable, and_, case, distinct, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from .reported import NONE, Planned, Quantity, Used
from .standing import Scope, stands
from .tables import EntryRow, JobRow, LayPanelRow, LayRow, LineRow, RemnantRow
from .words import Account, Event, Fate, LayState

ALL = "all jobs"
SPOILED = "spoiled"


def jobs(session: Session, scope: Scope) -> tuple[Used, ...]:
    """What each job has used, in the order of the first cut."""
    cut = [EntryRow.event == Event.CUT, *scope.entries(), *scope.lines()]
    spoiled = case((LineRow.detail == SPOILED, 1), else_=0)
    into = case((LineRow.area > 0, 1), else_=0)
    key = (LineRow.job_id, LineRow.account, spoiled, into)
    asked = (
        select(*key, func.count(), func.sum(LineRow.area), func.sum(LineRow.mass)).join(EntryRow).where(*cut).group_by(*key)
    )
    sums: dict[int, dict[tuple[Account, bool, bool], tuple[int, Quantity]]] = defaultdict(dict)
    for job, account, was_spoiled, came, count, area, mass in session.execute(asked):
        sums[job][account, bool(was_spoiled), bool(came)] = (count, Quantity(int(area), int(mass)))
    first = func.min(EntryRow.id)
    counted = select(LineRow.job_id, JobRow.name, func.count(distinct(EntryRow.id)), first).join(EntryRow)
    counted = (
        counted.join(JobRow, LineRow.job_id == JobRow.id).where(*cut).group_by(LineRow.job_id, JobRow.name).order_by(first)
    )
    good = _good(session, scope)
    return tuple(
        _used(name, cuts, good.get(job, 0), sums[job]) for job, name, cuts, _ in session.execute(counted) if job is not None
    )


def _used(name: str, cuts: int, good: int, sums: dict[tuple[Account, bool, bool], tuple[int, Quantity]]) -> Used:
    used_up, taken = sums.get((Account.BIN, False, False), (0, NONE))
    keepers, returned = sums.get((Account.BIN, False, True), (0, NONE))
    return Used(
        job=name,
        cuts=cuts,
        good=good,
        used_up=used_up,
        keepers=keepers,
        taken=NONE - taken,
        panels=sums.get((Account.CUT_WORK, False, True), (0, NONE))[1],
        spoiled=sums.get((Account.RAG_BAG, True, True), (0, NONE))[1],
        rag_bag=sums.get((Account.RAG_BAG, False, True), (0, NONE))[1],
        returned=returned,
    )


def _good(session: Session, scope: Scope) -> dict[int, int]:
    """How many good panels each job has."""
    asked = (
        select(LayRow.job_id, func.count())
        .select_from(LayPanelRow)
        .join(LayRow, LayPanelRow.lay_id == LayRow.id)
        .join(EntryRow, (EntryRow.lay_id == LayRow.id) & (EntryRow.event == Event.CUT))
        .where(LayPanelRow.fate == Fate.CUT, LayRow.state == LayState.CUT, _is_whole(), *scope.entries())
    )
    if scope.job_id is not None:
        asked = asked.where(LayRow.job_id == scope.job_id)
    if scope.cloth_id is not None:
        asked = asked.join(RemnantRow, LayPanelRow.remnant_id == RemnantRow.id).where(RemnantRow.cloth_id == scope.cloth_id)
    return {job: count for job, count in session.execute(asked.group_by(LayRow.job_id))}  # noqa: C416 - rows are no pairs


def _is_whole() -> ColumnElement[bool]:
    """Of a panel that is joined from two, the first part counts for both, if the other is good, too."""
    other = aliased(LayPanelRow)
    same = (other.lay_id == LayPanelRow.lay_id) & (other.joined == LayPanelRow.joined)
    mate = exists().where(same, other.part == 2, other.fate == Fate.CUT)
    return or_(LayPanelRow.part.is_(None), and_(LayPanelRow.part == 1, mate))


def in_all(every: Sequence[Used]) -> Used:
    """All jobs together."""

    def total(name: str) -> Quantity:
        return sum((getattr(used, name) for used in every), NONE)

    return Used(
        job=ALL,
        cuts=sum(used.cuts for used in every),
        good=sum(used.good for used in every),
        used_up=sum(used.used_up for used in every),
        keepers=sum(used.keepers for used in every),
        taken=total("taken"),
        panels=total("panels"),
        spoiled=total("spoiled"),
        rag_bag=total("rag_bag"),
        returned=total("returned"),
    )


def planned(session: Session, scope: Scope, most: int | None = None) -> tuple[Planned, ...]:
    """What was planned against what was cut, lay by lay, the newest first; the latest `most` if that is said."""
    when = func.coalesce(LayRow.cut_at, LayRow.chalked_at)
    asked = (
        select(LayRow.id, JobRow.name, LayRow.state, LayRow.cut_at, LayRow.chalked_at)
        .join(JobRow, LayRow.job_id == JobRow.id)
        .where(LayRow.state.in_((LayState.CHALKED, LayState.CUT)))
        .order_by(LayRow.id.desc())
    )
    if scope.since:
        asked = asked.where(when >= scope.since)
    if scope.until:
        asked = asked.where(when < scope.until)
    if scope.job_id is not None:
        asked = asked.where(LayRow.job_id == scope.job_id)
    if scope.cloth_id is not None:
        mine = select(LayPanelRow.lay_id).join(RemnantRow, LayPanelRow.remnant_id == RemnantRow.id)
        asked = asked.where(LayRow.id.in_(mine.where(RemnantRow.cloth_id == scope.cloth_id)))
    lays = session.execute(asked.limit(most)).all()
    since = min((lay[0] for lay in lays), default=0)
    fates = _fates(session, scope, since)
    computed, otherwise = _keepers(session, scope, since)
    return tuple(
        Planned(
            lay=lay,
            job=job,
            state=state,
            on=_day(cut_at or chalked_at),
            planned=sum(fates[lay].values()),
            cut=fates[lay][Fate.CUT],
            spoiled=fates[lay][Fate.SPOILED],
            uncut=fates[lay][Fate.UNCUT],
            computed=computed.get(lay, NONE),
            otherwise=otherwise.get(lay, NONE),
        )
        for lay, job, state, cut_at, chalked_at in lays
    )


def _day(moment: object) -> date:
    return moment.date()  # type: ignore[attr-defined,no-any-return]


def _fates(session: Session, scope: Scope, since: int) -> dict[int, dict[Fate, int]]:
    """By lay, from that number on: how many of its panels have which fate; of one cloth if asked."""
    key = (LayPanelRow.lay_id, LayPanelRow.fate)
    asked = select(*key, func.count()).where(LayPanelRow.lay_id >= since).group_by(*key)
    if scope.cloth_id is not None:
        asked = asked.join(RemnantRow, LayPanelRow.remnant_id == RemnantRow.id).where(RemnantRow.cloth_id == scope.cloth_id)
    found: dict[int, dict[Fate, int]] = {}
    for lay, fate, count in session.execute(asked):
        found.setdefault(lay, defaultdict(int))[fate] = count
    return found


def _keepers(session: Session, scope: Scope, since: int) -> tuple[dict[int, Quantity], dict[int, Quantity]]:
    """By lay, from that number on: its keepers as they were computed, and by how much they differed when they were measured
    again."""
    keeper = [
        EntryRow.lay_id >= since,
        LineRow.account == Account.BIN,
        LineRow.area > 0,
        EntryRow.event == Event.CUT,
        stands(),
        *scope.lines(),
    ]
    asked = select(EntryRow.lay_id, func.sum(LineRow.area), func.sum(LineRow.mass)).join(EntryRow).where(*keeper)
    computed = _by_lay(session, asked.group_by(EntryRow.lay_id))
    again, its_line, undoing = aliased(EntryRow), aliased(LineRow), aliased(EntryRow)
    undone = select(undoing.undoes_id).where(undoing.undoes_id.is_not(None))
    differed = (
        select(EntryRow.lay_id, func.sum(its_line.area), func.sum(its_line.mass))
        .select_from(again)
        .join(its_line, its_line.entry_id == again.id)
        .join(LineRow, LineRow.remnant_id == its_line.remnant_id)
        .join(EntryRow, LineRow.entry_id == EntryRow.id)
        .where(again.event == Event.MEASURED_AGAIN, again.id.not_in(undone), its_line.account == Account.BIN, *keeper)
        .group_by(EntryRow.lay_id)
    )
    return computed, _by_lay(session, differed)


def _by_lay(session: Session, asked: Executable) -> dict[int, Quantity]:
    return {lay: Quantity(int(area), int(mass)) for lay, area, mass in session.execute(asked)}
