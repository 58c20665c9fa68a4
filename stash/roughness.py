"""When measuring a rough remnant in full would be worth it.

The rule: the lay lacks panels; the remnant is rough, in the bin, out of quarantine, and of a cloth that the piece may be cut
from; and either

1. it was weighed, and by its weight there is at least as much cloth beside its rectangle as one panel takes; or
2. it was not weighed, and its rectangle holds a panel, or lacks at most a fifth of one's length or width: the largest
   rectangle of a scrap is seldom more than four fifths of it (common practice, no source).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import not_, select
from sqlalchemy.orm import Session

from nesting import Result

from . import telling
from .amounts import MM2_IN_M2, grams, square_mm
from .asking import Asked
from .finding import in_quarantine
from .jobs import ClothRule, rule_of
from .qualifying import LeastSize, against_cloth, least_for
from .tables import JobPieceRow, RemnantRow
from .words import RemnantState
from .workroom import Workroom

SHORT_BY = 0.2
"""The share of a panel's length or width that an unweighed rectangle may lack."""


@dataclass(frozen=True, slots=True)
class WorthMeasuring:
    """A rough remnant that is worth measuring in full, for which piece, where it is, and why, in words. `hidden_area`: mm² of
    cloth beside its rectangle as its weight says, None if it was not weighed. `panel_area`: mm² of one panel of the piece."""

    tag: str
    piece: str
    place: str
    hidden_area: float | None
    panel_area: float
    why: str


def worth_measuring(workroom: Workroom, asked: Asked, result: Result | None = None) -> tuple[WorthMeasuring, ...]:
    """The rough remnants worth measuring, those whose weight says most first, each once. `result`: the lay that was found for
    what was asked, None where nothing could be laid. None where the lay lacks nothing."""
    found: dict[str, WorthMeasuring] = {}
    with workroom.reading() as session:
        for piece in _short_of(session, asked, result):
            for worth in _for_piece(session, piece, asked.case.edge):
                found.setdefault(worth.tag, worth)
    return tuple(sorted(found.values(), key=lambda one: (one.hidden_area is None, -(one.hidden_area or 0), one.tag)))


def job_lacks(workroom: Workroom, job: str) -> tuple[WorthMeasuring, ...]:
    """As `worth_measuring`, where nothing in the bin qualified, so that there is nothing that was asked."""
    from .jobs import row_of as job_row_of
    from .settings import settings_of

    found: dict[str, WorthMeasuring] = {}
    with workroom.reading() as session:
        for piece in job_row_of(session, job).pieces:
            for worth in _for_piece(session, piece, settings_of(session).edge):
                found.setdefault(worth.tag, worth)
    return tuple(sorted(found.values(), key=lambda one: (one.hidden_area is None, -(one.hidden_area or 0), one.tag)))


def _short_of(session: Session, asked: Asked, result: Result | None) -> list[JobPieceRow]:
    """The pieces of which the lay lacks needed copies."""
    placed = Counter(placement.panel for placement in (result.placements if result else ()))
    lacking: Counter[int] = Counter()
    for name, meant in asked.panels.items():
        lacking[meant.job_piece_id] += max(0, meant.wanted - placed[name])
    return [session.get_one(JobPieceRow, id_) for id_, missing in lacking.items() if missing]


def _for_piece(session: Session, piece: JobPieceRow, edge: float) -> Iterator[WorthMeasuring]:
    """The rough remnants worth measuring for a piece."""
    rule = rule_of(piece)
    least = least_for(piece.piece, edge)
    asked = select(RemnantRow).where(RemnantRow.rough, RemnantRow.state == RemnantState.IN_BIN, not_(in_quarantine()))
    for row in session.scalars(asked.order_by(RemnantRow.tag)):
        hidden = grams(row.mass) / row.cloth.weight * MM2_IN_M2 - square_mm(row.area) if row.weighed else None
        if _will_do(rule, row) and (why := _why(row, piece.piece.name, least, hidden)):
            yield WorthMeasuring(row.tag, piece.piece.name, row.place.name if row.place else "", hidden, least.area, why)


def _will_do(rule: ClothRule, row: RemnantRow) -> bool:
    """Whether the cloth is one that the rule allows, whatever its size."""
    return not list(against_cloth(rule, row.cloth)) and (bool(row.washed) or not rule.washed)


def _why(row: RemnantRow, piece: str, least: LeastSize, hidden: float | None) -> str:
    """Why measuring a rough remnant would be worth it, "" if it would not."""
    if hidden is not None:
        if hidden < least.area:
            return ""
        return (
            f"by its weight there are {telling.area(hidden)} of cloth beside its rectangle; one {piece} takes "
            f"{telling.area(least.area)}"
        )
    lacks = {"length": least.length - row.rect_length, "width": least.width - row.rect_width}
    if lacks["length"] > SHORT_BY * least.length or lacks["width"] > SHORT_BY * least.width:
        return ""
    short = " and ".join(f"{telling.length(missing)} of the {what}" for what, missing in lacks.items() if missing > 0)
    if short:
        return f"its rectangle lacks {short} that one {piece} takes, and it was not weighed"
    return f"its rectangle holds a {piece}, and what lies beside it was neither measured nor weighed"
