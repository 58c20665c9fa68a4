"""The bin as it is now, grouped; and what has lain in it longest. Sums are made in SQL, cloth by cloth and age by age."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from .reported import Group, InBin, Lain, Quantity
from .standing import Scope
from .tables import ClothRow, EnvelopeRow, FibreRow, PlaceRow, RemnantRow
from .words import RemnantState

THERE = (RemnantState.IN_BIN, RemnantState.HELD)
WEIGHTS = ((100, "under 100 g/m²"), (150, "100 to 150 g/m²"), (250, "150 to 250 g/m²"), (350, "250 to 350 g/m²"))
HEAVIEST = "350 g/m² and more"
"""Very light, light, middling, heavy and very heavy cloth (common practice, no source)."""
AGES = ((91, "under 3 months"), (183, "3 to 6 months"), (365, "6 to 12 months"), (730, "1 to 2 years"), (1826, "2 to 5 years"))
OLDEST = "5 years and more"
NOT_SAID = "not said"


@dataclass(frozen=True, slots=True)
class _Heap:
    """What of one cloth is of one age."""

    cloth: int
    age: str
    remnants: int
    envelopes: int
    quantity: Quantity


def in_bin(session: Session, scope: Scope, today: date) -> InBin:
    """What is in the bin now."""
    heaps = [*_remnants(session, scope, today), *_envelopes(session, scope, today)]
    cloths = {row.id: row for row in session.scalars(select(ClothRow))}
    fibres = _fibres(session)
    by_weight = [name for _, name in WEIGHTS] + [HEAVIEST]
    by_age = [name for _, name in AGES] + [OLDEST]
    return InBin(
        all=_sum("in the bin", heaps),
        by_fibre=_grouped(heaps, lambda heap: fibres.get(heap.cloth, NOT_SAID)),
        by_weight=_grouped(heaps, lambda heap: _band(cloths[heap.cloth].weight, WEIGHTS, HEAVIEST), by_weight),
        by_colour=_grouped(heaps, lambda heap: cloths[heap.cloth].colour or NOT_SAID),
        by_age=_grouped(heaps, lambda heap: heap.age, by_age),
    )


def longest(session: Session, scope: Scope, today: date, most: int) -> tuple[Lain, ...]:
    """What has lain longest, the oldest first."""
    columns = (RemnantRow.tag, ClothRow.name, ClothRow.colour, PlaceRow.name, RemnantRow.came_on)
    asked = (
        select(*columns, RemnantRow.area, RemnantRow.mass)
        .join(ClothRow, RemnantRow.cloth_id == ClothRow.id)
        .outerjoin(PlaceRow, RemnantRow.place_id == PlaceRow.id)
        .where(RemnantRow.state.in_(THERE))
        .order_by(RemnantRow.came_on, RemnantRow.id)
        .limit(most)
    )
    if scope.cloth_id is not None:
        asked = asked.where(RemnantRow.cloth_id == scope.cloth_id)
    return tuple(
        Lain(tag, cloth, colour, place or "", came_on, (today - came_on).days, Quantity(area, mass))
        for tag, cloth, colour, place, came_on, area, mass in session.execute(asked)
    )


def _remnants(session: Session, scope: Scope, today: date) -> Iterable[_Heap]:
    sums = (func.count(), func.sum(RemnantRow.area), func.sum(RemnantRow.mass))
    younger = [(RemnantRow.came_on > today - timedelta(days=days), name) for days, name in AGES]
    age = case(*younger, else_=OLDEST)
    asked = select(RemnantRow.cloth_id, age, *sums).where(RemnantRow.state.in_(THERE))
    if scope.cloth_id is not None:
        asked = asked.where(RemnantRow.cloth_id == scope.cloth_id)
    for cloth, band, count, area, mass in session.execute(asked.group_by(RemnantRow.cloth_id, age)):
        yield _Heap(cloth, band, count, 0, Quantity(int(area), int(mass)))


def _envelopes(session: Session, scope: Scope, today: date) -> Iterable[_Heap]:
    asked = select(EnvelopeRow).where(EnvelopeRow.mass > 0)
    if scope.cloth_id is not None:
        asked = asked.where(EnvelopeRow.cloth_id == scope.cloth_id)
    for row in session.scalars(asked):
        age = _band((today - row.opened_at.date()).days, AGES, OLDEST)
        yield _Heap(row.cloth_id, age, 0, 1, Quantity(row.area, row.mass))


def _fibres(session: Session) -> dict[int, str]:
    """Each cloth's fibres in words, the largest share first: "linen", "linen and cotton"."""
    names: dict[int, list[str]] = {}
    for part in session.scalars(select(FibreRow).order_by(FibreRow.share.desc(), FibreRow.fibre)):
        names.setdefault(part.cloth_id, []).append(part.fibre)
    return {cloth: " and ".join(filter(None, [", ".join(each[:-1]), each[-1]])) for cloth, each in names.items()}


def _band(figure: float, bands: Iterable[tuple[float, str]], above: str) -> str:
    return next((name for least, name in bands if figure < least), above)


def _grouped(heaps: Iterable[_Heap], of: Callable[[_Heap], str], order: list[str] | None = None) -> tuple[Group, ...]:
    """By what they have in common: in the order given, or the most cloth first."""
    by: dict[str, list[_Heap]] = {}
    for heap in heaps:
        by.setdefault(of(heap), []).append(heap)
    groups = [_sum(name, each) for name, each in by.items()]
    if order is not None:
        return tuple(sorted(groups, key=lambda group: order.index(group.name)))
    return tuple(sorted(groups, key=lambda group: (-group.cloth.area, group.name)))


def _sum(name: str, heaps: Iterable[_Heap]) -> Group:
    every = list(heaps)
    return Group(
        name,
        sum(heap.remnants for heap in every),
        sum(heap.envelopes for heap in every),
        sum((heap.quantity for heap in every), Quantity()),
    )
