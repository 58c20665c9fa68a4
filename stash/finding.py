"""The lists: remnants in the bin, and lays. Everything is narrowed down in SQL, and no geometry is loaded, nor its library."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, and_, func, not_, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session, aliased, joinedload, lazyload, selectinload

from .amounts import grams, square_mm
from .cloths import row_of as cloth_row_of
from .fibres import a_fibre
from .given import a_figure, key_of, unknown
from .tables import ClothRow, FaultRow, FibreRow, LayPanelRow, LayRow, LaySheetRow, PlaceRow, RemnantRow
from .words import LayState, RemnantState
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What to look for; what is left out does not matter.

    `fibre`: some of the cloth is that fibre. `weight_from`, `weight_to`: g/m². `size`: two measures in mm, either way round,
    that its largest rectangle must hold. `came_before`, `came_after`: days, those days included. `free`: neither held nor in
    quarantine. `confirmed`: False for keepers that nobody has looked at yet. `states`: () for all.
    """

    cloth: str | None = None
    fibre: str | None = None
    weight_from: float | None = None
    weight_to: float | None = None
    colour: str | None = None
    lot: str | None = None
    weave: str | None = None
    place: str | None = None
    size: tuple[float, float] | None = None
    washed: bool | None = None
    quarantined: bool | None = None
    free: bool | None = None
    rough: bool | None = None
    confirmed: bool | None = None
    came_before: date | None = None
    came_after: date | None = None
    states: tuple[RemnantState, ...] = (RemnantState.IN_BIN, RemnantState.HELD)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One line of the bin list (mm, mm², g, g/m²)."""

    tag: str
    cloth: str
    colour: str
    lot: str
    weight: float
    area: float
    mass: float
    length: float
    width: float
    rect_length: float
    rect_width: float
    rough: bool
    one_way: bool
    place: str
    washed: str
    state: RemnantState
    faults: int
    parent: str | None
    held_by: int | None
    quarantine: str
    confirmed: bool
    came_on: date
    logged_at: datetime


@dataclass(frozen=True, slots=True)
class ListedLay:
    """One line of the list of lays. `placed`: panels, of which two parts that are joined make one."""

    number: int
    job: str
    state: LayState
    placed: int
    remnants: tuple[str, ...]
    tried_at: datetime


def find(workroom: Workroom, wanted: Wanted | None = None) -> tuple[Listed, ...]:
    """The remnants that match, by tag. Raises Unknown for a cloth or place that the stash does not know, Refused for a fibre
    that is none."""
    with workroom.reading() as session:
        return tuple(listed for _, listed in rows_listed(session, *conditions(session, wanted or Wanted())))


def rows_listed(session: Session, *wanted: ColumnElement[bool]) -> list[tuple[RemnantRow, Listed]]:
    """The rows that match, by tag, each with its line of the list."""
    parent = aliased(RemnantRow)
    faults = select(FaultRow.remnant_id, func.count().label("count")).group_by(FaultRow.remnant_id).subquery()
    asked = (
        select(RemnantRow, ClothRow, PlaceRow.name, parent.tag, func.coalesce(faults.c.count, 0))
        .join(ClothRow, RemnantRow.cloth_id == ClothRow.id)
        .outerjoin(PlaceRow, RemnantRow.place_id == PlaceRow.id)
        .outerjoin(parent, RemnantRow.parent_id == parent.id)
        .outerjoin(faults, faults.c.remnant_id == RemnantRow.id)
        .where(*wanted)
        .options(lazyload(ClothRow.fibres))
        .order_by(RemnantRow.tag)
    )
    return [(row, _listed(row, *rest)) for row, *rest in session.execute(asked)]


def lays_listed(workroom: Workroom, *, job: str | None = None, states: tuple[LayState, ...] = ()) -> tuple[ListedLay, ...]:
    """The lays, the newest first; of one job, or in some states, if asked. Raises Unknown."""
    with workroom.reading() as session:
        asked = select(LayRow).order_by(LayRow.id.desc())
        asked = asked.options(joinedload(LayRow.job), selectinload(LayRow.sheets).joinedload(LaySheetRow.remnant))
        if job is not None:
            from .jobs import row_of as job_row_of  # which loads geometry

            asked = asked.where(LayRow.job_id == job_row_of(session, job).id)
        if states:
            asked = asked.where(LayRow.state.in_(states))
        second = select(LayPanelRow.lay_id, func.count()).where(LayPanelRow.part == 2, LayPanelRow.joined.is_not(None))
        parts = {row.lay_id: row[1] for row in session.execute(second.group_by(LayPanelRow.lay_id))}
        return tuple(
            ListedLay(
                row.id,
                row.job.name,
                row.state,
                row.placed - parts.get(row.id, 0),
                tuple(sheet.remnant.tag for sheet in row.sheets),
                row.tried_at,
            )
            for row in session.scalars(asked)
        )


def in_quarantine() -> ColumnElement[bool]:
    """Whether a remnant may not be pulled now, in SQL."""
    return and_(RemnantRow.quarantined_at.is_not(None), RemnantRow.released_at.is_(None))


def conditions(session: Session, wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    """What is wanted, as conditions on the tables."""
    if wanted.states:
        yield RemnantRow.state.in_([RemnantState(state) for state in wanted.states])
    if wanted.cloth is not None:
        yield RemnantRow.cloth_id == cloth_row_of(session, wanted.cloth).id
    if wanted.place is not None:
        yield RemnantRow.place_id == place_row_of(session, wanted.place).id
    if wanted.fibre is not None:
        yield ClothRow.id.in_(select(FibreRow.cloth_id).where(FibreRow.fibre == a_fibre(wanted.fibre)))
    for column, text in ((ClothRow.colour, wanted.colour), (ClothRow.lot, wanted.lot), (ClothRow.weave, wanted.weave)):
        if text is not None:
            yield ClothRow.id.in_(_cloths_said(session, column, text))
    if wanted.weight_from is not None:
        yield ClothRow.weight >= a_figure(wanted.weight_from, "weight from", unit="g/m²", above=False)
    if wanted.weight_to is not None:
        yield ClothRow.weight <= a_figure(wanted.weight_to, "weight to", unit="g/m²")
    if wanted.size is not None:
        one, other = (a_figure(measure, "size", unit="mm") for measure in wanted.size)
        yield or_(holds(one, other), holds(other, one))
    if wanted.washed is not None:
        yield (RemnantRow.washed != "") if wanted.washed else (RemnantRow.washed == "")
    if wanted.quarantined is not None:
        yield in_quarantine() if wanted.quarantined else not_(in_quarantine())
    if wanted.free is not None:
        free = and_(RemnantRow.state == RemnantState.IN_BIN, not_(in_quarantine()))
        yield free if wanted.free else not_(free)
    if wanted.rough is not None:
        yield RemnantRow.rough.is_(wanted.rough)
    if wanted.confirmed is not None:
        yield RemnantRow.confirmed_at.is_not(None) if wanted.confirmed else RemnantRow.confirmed_at.is_(None)
    if wanted.came_before is not None:
        yield RemnantRow.came_on <= wanted.came_before
    if wanted.came_after is not None:
        yield RemnantRow.came_on >= wanted.came_after


def holds(length: float, width: float) -> ColumnElement[bool]:
    """Whether the largest rectangle is that long along the grain and that wide across it, in SQL."""
    return and_(RemnantRow.rect_length >= length, RemnantRow.rect_width >= width)


def _cloths_said(session: Session, column: InstrumentedAttribute[str], text: str) -> list[int]:
    """The cloths of that colour, lot or weave. They are compared here, since databases fold capitals each in its own way (É),
    and cloths are few beside remnants."""
    return [id_ for id_, said in session.execute(select(ClothRow.id, column)) if key_of(said) == key_of(text)]


def place_row_of(session: Session, name: str) -> PlaceRow:
    """The row of the place of that name. Raises Unknown."""
    found = session.scalar(select(PlaceRow).where(PlaceRow.key == key_of(name)))
    if found is None:
        raise unknown("place", name, session.scalars(select(PlaceRow.name)), listed="fent bin list")
    return found


def _listed(row: RemnantRow, cloth: ClothRow, place: str | None, parent: str | None, faults: int) -> Listed:
    return Listed(
        tag=row.tag,
        cloth=cloth.name,
        colour=cloth.colour,
        lot=cloth.lot,
        weight=cloth.weight,
        area=square_mm(row.area),
        mass=grams(row.mass),
        length=row.length,
        width=row.width,
        rect_length=row.rect_length,
        rect_width=row.rect_width,
        rough=row.rough,
        one_way=row.one_way,
        place=place or "",
        washed=row.washed,
        state=row.state,
        faults=faults,
        parent=parent,
        held_by=row.held_by_id,
        quarantine=row.quarantine_reason if row.quarantined else "",
        confirmed=row.confirmed_at is not None,
        came_on=row.came_on,
        logged_at=row.logged_at,
    )
