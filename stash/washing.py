"""Washing: what a remnant is expected to be after it, which remnants a job would want washed, and the event in the book.

Shrinkage is a dimensional change as ISO 5077 has it: (after − before) / before × 100 %, along the warp and across it, below 0
where the cloth shrinks. What is expected of a cloth is very uncertain, and good only for choosing what to wash: the practice
is to wash, press, and measure again. Washing moves area to *shrunk*; the mass stays, so that a square metre weighs more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import not_, select
from sqlalchemy.orm import Session

from .amounts import MM2_IN_M2, grams, square_mm
from .before import before_of
from .book import Posting, post
from .finding import in_quarantine
from .given import a_description, initials
from .jobs import row_of as job_row_of
from .jobs import rule_of
from .measuring import FROM_LYING, FROM_OUTLINE, Measures, as_if_new
from .qualifying import LeastSize, against_cloth, least_for
from .refusals import Refused
from .remnants import Remnant, must_be_free, remnant_of, row_of
from .settings import settings_of
from .settling import settled
from .tables import JobPieceRow, LineRow, RemnantRow
from .words import Account, Event, RemnantState
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class Size:
    """Length along the warp and width across it, mm; area, mm²; mass per area, g/m²."""

    length: float
    width: float
    area: float
    weight: float


@dataclass(frozen=True, slots=True)
class WorthWashing:
    """A remnant that a job would want washed: for which piece, where it is, what it is now and is expected to be. `sure`:
    whether its cloth's shrinkage is known at all; where it is not, it is as large as now at most."""

    tag: str
    piece: str
    place: str
    now: Size
    expected: Size
    sure: bool


@dataclass(frozen=True, slots=True)
class Washed:
    """A remnant that was washed, what it was before, and its dimensional change along and across the warp in per cent (below
    0: it shrank), measured and expected (None where it is not known)."""

    remnant: Remnant
    before: Size
    after: Size
    change: tuple[float, float]
    expected: tuple[float | None, float | None]


def shrunk_to(size: Size, warp: float, weft: float) -> Size:
    """What is left of a size that changes by so many per cent along and across the warp (below 0: shrinks); its mass stays.

    >>> after = shrunk_to(Size(1000, 600, 600_000, 180.0), -6, -4)
    >>> after.length, after.width, round(after.area), round(after.weight, 1)
    (940.0, 576.0, 541440, 199.5)
    """
    along, across = 1 + warp / 100, 1 + weft / 100
    return Size(size.length * along, size.width * across, size.area * along * across, size.weight / (along * across))


def change(before: float, after: float) -> float:
    """The dimensional change in per cent (ISO 5077).

    >>> change(1000, 940)
    -6.0
    """
    return (after - before) / before * 100


def worth_washing(workroom: Workroom, job: str) -> tuple[WorthWashing, ...]:
    """The unwashed remnants that will do for a piece of a job that asks for washed cloth, once they are washed; the largest
    first, each once. None where the job does not ask for it. Raises Unknown."""
    found: dict[str, WorthWashing] = {}
    with workroom.reading() as session:
        edge = settings_of(session).edge
        for piece in job_row_of(session, job).pieces:
            if piece.washed:
                for each in _for_piece(session, piece, edge):
                    found.setdefault(each.tag, each)
    return tuple(sorted(found.values(), key=lambda each: -each.expected.area))


def wash(workroom: Workroom, tag: str, how: str, measures: Measures, *, by: str, note: str = "") -> Washed:
    """A remnant was washed in the way of `how`, pressed, and measured again.

    The difference in area goes to *shrunk*; the mass stays. Lays tried on it must be tried again.
    Raises Held, WrongState for one that is not in the bin; BadOutline; Refused without initials or how it was washed, or where
    a mass is given, which is weighed by itself; Unknown.
    """
    who = initials(by, "washing")
    way = a_description(how, "washing")
    if not way:
        raise Refused("how it was washed is not said", where="washed", expected="a few words, such as: 40 °C, line dried")
    if measures.mass is not None:
        raise Refused(
            "washing leaves the mass as it is",
            where="mass",
            expected="no mass",
            next=f"Weigh it with `fent bin measure-again {tag}` if it lost some",
        )
    with workroom.writing() as session:
        row = row_of(session, tag)
        must_be_free(row, to="wash", even_apart=True)
        was = _size(row)
        new = settled(as_if_new(row, measures), row.cloth)
        before = before_of(row, workroom.now())
        for name in (*FROM_OUTLINE, *FROM_LYING):
            setattr(row, name, getattr(new, name))
        row.faults, row.edges = list(new.faults), list(new.edges)
        row.washed = way
        row.revision += 1
        row.confirmed_at, row.confirmed_by = workroom.now(), who
        less = before.area - row.area
        of_it = {"cloth_id": row.cloth_id, "remnant_id": row.id, "detail": "", "mass": 0}
        lines = [
            LineRow(account=Account.BIN, area=-less, **of_it),
            LineRow(account=Account.SHRUNK, area=less, **of_it),
        ]
        posting = Posting(at=workroom.now(), event=Event.WASHED, by=who, note=note.strip())
        before.entry_id = post(session, posting, lines, even_if_nothing_moves=True).id
        session.add(before)
        session.flush()
        after = _size(row)
        expected = (_as_change(row.cloth.shrinks_warp), _as_change(row.cloth.shrinks_weft))
        changes = (change(was.length, after.length), change(was.width, after.width))
        return Washed(remnant_of(row), was, after, changes, expected)


def _as_change(shrinks: float | None) -> float | None:
    """An expected shrinkage as a dimensional change."""
    return None if shrinks is None else -shrinks


def _size(row: RemnantRow) -> Size:
    area = square_mm(row.area)
    return Size(row.length, row.width, area, grams(row.mass) / area * MM2_IN_M2)


def _for_piece(session: Session, piece: JobPieceRow, edge: float) -> Iterator[WorthWashing]:
    rule = rule_of(piece)
    least = least_for(piece.piece, edge)
    asked = select(RemnantRow).where(RemnantRow.state == RemnantState.IN_BIN, RemnantRow.washed == "", not_(in_quarantine()))
    for row in session.scalars(asked):
        if list(against_cloth(rule, row.cloth)):
            continue
        now = _size(row)
        warp, weft = row.cloth.shrinks_warp, row.cloth.shrinks_weft
        expected = shrunk_to(now, -(warp or 0.0), -(weft or 0.0))
        if _holds(expected, least):
            place = row.place.name if row.place else ""
            sure = warp is not None and weft is not None
            yield WorthWashing(row.tag, piece.piece.name, place, now, expected, sure)


def _holds(size: Size, least: LeastSize) -> bool:
    return size.length >= least.length and size.width >= least.width and size.area >= least.area
