"""Which remnants will do for a piece of a job: chosen in SQL, and for each that is passed over, every reason in words.

The two say the same thing in two ways; a test holds them to that. Geometry is not loaded for either.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from typing import cast

from shapely import Polygon, affinity
from sqlalchemy import ColumnElement, and_, not_, or_, select
from sqlalchemy.orm import Session

from . import telling
from .amounts import booked_area, square_mm
from .fibres import in_words
from .finding import in_quarantine
from .given import key_of
from .jobs import ClothRule
from .tables import ClothRow, PieceRow, RemnantRow
from .words import Grain, RemnantState, Rule


@dataclass(frozen=True, slots=True)
class LeastSize:
    """What a remnant must at least have for one panel: extent along and across the grain (mm) and area (mm²)."""

    length: float
    width: float
    area: float


NO_SIZE = LeastSize(0.0, 0.0, 0.0)
"""Any remnant is as large as that."""


SLANTS: dict[Grain, tuple[float, ...]] = {
    Grain.WARP_WISE: (0.0,),
    Grain.WEFT_WISE: (90.0,),
    Grain.BIAS: (45.0,),
    Grain.EITHER_BIAS: (45.0, -45.0),
}
"""Turns of a piece that differ in what they take of the cloth; left and right mirror each other, and take the same."""


def least_for(piece: PieceRow, edge: float) -> LeastSize:
    """The least that a remnant must have for one panel of a piece, however it may lie."""
    cut_line = cast(Polygon, piece.cut_line)
    if piece.grain is Grain.FREE:
        return LeastSize(0.0, 0.0, cut_line.area)
    turned = (affinity.rotate(cut_line, turn) for turn in SLANTS[piece.grain])
    sizes = [least_size(shape, piece.off_grain, edge) for shape in turned]
    return LeastSize(min(size.length for size in sizes), min(size.width for size in sizes), cut_line.area)


def least_size(cut_line: Polygon, off_grain: float, edge: float) -> LeastSize:
    """The least that one panel with `edge` mm round it can need, lying within `off_grain` degrees of the grain.

    The two points of a panel that are farthest apart along the grain are `length` apart that way and at most `width` apart
    the other; turned by an angle they are still at least length × cos − width × sin apart along the grain.
    """
    low_x, low_y, high_x, high_y = cut_line.bounds
    length, width = high_x - low_x, high_y - low_y
    cosine, sine = math.cos(math.radians(off_grain)), math.sin(math.radians(off_grain))
    return LeastSize(
        max(0.0, length * cosine - width * sine) + 2 * edge,
        max(0.0, width * cosine - length * sine) + 2 * edge,
        cut_line.area,
    )


def qualifying(
    session: Session, rule: ClothRule, least: LeastSize, tags: ColumnElement[bool], *, free: Set[int] = frozenset()
) -> set[int]:
    """The ids of the remnants in the bin that will do, chosen in SQL. `tags`: which of them may be looked at. Those that a lay
    of `free` holds may be had too."""
    cloths = [cloth.id for cloth in session.scalars(select(ClothRow)) if not list(against_cloth(rule, cloth))]
    mine = RemnantRow.held_by_id.in_(free)
    asked = select(RemnantRow.id).where(
        and_(or_(RemnantRow.state == RemnantState.IN_BIN, mine), not_(in_quarantine()), RemnantRow.cloth_id.in_(cloths)),
        and_(RemnantRow.length >= least.length, RemnantRow.width >= least.width, RemnantRow.area >= booked_area(least.area)),
        tags,
    )
    if rule.washed:
        asked = asked.where(RemnantRow.washed != "")
    return set(session.scalars(asked))


def against(rule: ClothRule, least: LeastSize, row: RemnantRow, *, free: Set[int] = frozenset()) -> tuple[str, ...]:
    """Every reason why a remnant will not do, in words; none if it will."""
    return (
        *against_state(row, free),
        *against_cloth(rule, row.cloth),
        *_against_washing(rule, row),
        *_against_size(least, row),
    )


def against_state(row: RemnantRow, free: Set[int] = frozenset()) -> Iterator[str]:
    """Why a remnant cannot be had now, whatever for; `free`: the lays whose hold does not count."""
    if row.state is RemnantState.HELD:
        if row.held_by_id not in free:
            yield f"lay {row.held_by_id} holds it"
    elif row.state is not RemnantState.IN_BIN:
        yield f"it is {row.state}"
    if row.quarantined:
        yield f"it is in quarantine: {row.quarantine_reason}"


def against_cloth(rule: ClothRule, cloth: ClothRow) -> Iterator[str]:
    """Why a cloth is not what the rule asks for."""
    return (why for _, why in broken_by(rule, cloth))


def broken_by(rule: ClothRule, cloth: ClothRow) -> Iterator[tuple[Rule, str]]:
    """What of a rule a cloth breaks, each with why."""
    if rule.fibres and {part.fibre for part in cloth.fibres} - set(rule.fibres):
        made_of = in_words({part.fibre: part.share / 100 for part in cloth.fibres})
        yield Rule.FIBRE, f"it is {made_of}; nothing but {_one_of(rule.fibres, 'and')} is asked"
    if rule.weight_from is not None and cloth.weight < rule.weight_from:
        yield (
            Rule.LIGHTEST,
            f"it is {telling.cloth_weight(cloth.weight)}; at least {telling.cloth_weight(rule.weight_from)} is asked",
        )
    if rule.weight_to is not None and cloth.weight > rule.weight_to:
        yield (
            Rule.HEAVIEST,
            f"it is {telling.cloth_weight(cloth.weight)}; at most {telling.cloth_weight(rule.weight_to)} is asked",
        )
    if rule.colours and key_of(cloth.colour) not in rule.colours:
        yield Rule.COLOUR, f"its colour is {cloth.colour or 'not said'}; {_one_of(rule.colours)} is asked"
    if rule.weaves and key_of(cloth.weave) not in rule.weaves:
        yield Rule.WEAVE, f"its weave is {cloth.weave or 'not said'}; {_one_of(rule.weaves)} is asked"
    if rule.cloths and key_of(cloth.name) not in {key_of(name) for name in rule.cloths}:
        yield Rule.CLOTH, f"it is {cloth.name}; {_one_of(rule.cloths)} is asked"


def _against_washing(rule: ClothRule, row: RemnantRow) -> Iterable[str]:
    return ["it is not washed"] if rule.washed and not row.washed else []


def _tenths(mm: float) -> str:
    return telling.fine(round(mm, 1))


def _against_size(least: LeastSize, row: RemnantRow) -> Iterator[str]:
    if row.length < least.length:
        yield f"it is {_tenths(row.length)} long on the grain; {_tenths(least.length)} is the least"
    if row.width < least.width:
        yield f"it is {_tenths(row.width)} wide across the grain; {_tenths(least.width)} is the least"
    if row.area < booked_area(least.area):
        yield f"it has {telling.area(square_mm(row.area))} of cloth; {telling.area(least.area)} is the least"


def _one_of(names: Sequence[str], joint: str = "or") -> str:
    """Names in a row: "linen, hemp or cotton"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {joint} {names[-1]}"
