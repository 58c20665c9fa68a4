"""Jobs: something to be sewn, its pieces with counts and spares, and which cloths will do for each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple, TypeAlias

from sqlalchemy import and_, func, or_, select, true
from sqlalchemy.orm import Session

from . import telling
from .cloths import HEAVIEST
from .cloths import row_of as cloth_row_of
from .fibres import a_fibre
from .given import a_count, a_figure, a_name, key_of, unknown
from .patterns import PieceTold, piece_row_of, told_of
from .refusals import Refused, Taken
from .tables import JobPieceRow, JobRow, LayPanelRow, LayRow
from .two_parts import KeptPart, kept_parts, wholes
from .words import Fate, Hand, LayState
from .workroom import Workroom

HANDS: tuple[Hand | None, ...] = (None, Hand.LEFT, Hand.RIGHT)
Done: TypeAlias = "Counter[tuple[int, Fate, Hand | None]]"
"""Copies by piece of the job, fate and hand."""


class Copies(NamedTuple):
    """Copies needed, and more that are welcome."""

    wanted: int
    spares: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothRule:
    """Which cloths will do; what is left out does not matter, and of what is listed any one will do.

    `fibres`: made of nothing but these. `weight_from`, `weight_to`: g/m². `washed`: True asks for washed remnants only.
    `cloths`: names of cloths in the stash.
    """

    fibres: tuple[str, ...] = ()
    weight_from: float | None = None
    weight_to: float | None = None
    colours: tuple[str, ...] = ()
    weaves: tuple[str, ...] = ()
    washed: bool = False
    cloths: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NewJobPiece:
    """`count` copies of a piece are needed, `spares` more are welcome. A left and right piece is counted singly, so that its
    count and spares are even. `hidden`: not seen when worn, or seen; None: as the pattern piece says."""

    pattern: str
    piece: str
    count: int
    spares: int = 0
    rule: ClothRule = field(default_factory=ClothRule)
    hidden: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPiece:
    """A piece of a job, and how far it has come: good copies `cut`, copies in `chalked` lays, and those still `missing`
    (spares left aside). `hidden`: whether it is hidden when worn, by the job or else by its pattern. `kept`: parts of it that
    were cut and wait for their other."""

    id: int
    piece: PieceTold
    count: int
    spares: int
    rule: ClothRule
    hidden: bool
    cut: int
    chalked: int
    missing: int
    kept: tuple[KeptPart, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """Something to be sewn. `one_lot`: all its seen pieces must be of one dye lot; `pairs_together`: each left and right pair
    must come from one remnant. `matched`: its pieces are matched on stripes and checks; `mirrored`: left and right then mirror
    each other, else they are alike."""

    id: int
    name: str
    pieces: tuple[JobPiece, ...]
    note: str
    made_at: datetime
    one_lot: bool = False
    pairs_together: bool = False
    matched: bool = True
    mirrored: bool = True


def add(
    workroom: Workroom,
    name: str,
    pieces: Sequence[NewJobPiece],
    *,
    note: str = "",
    one_lot: bool = False,
    pairs_together: bool = False,
    matched: bool = True,
    mirrored: bool = True,
) -> Job:
    """A new job. Raises Taken, Unknown, Refused."""
    name = a_name(name, "job")
    if not pieces:
        raise Refused("the job has no pieces", where=name, expected="at least one pattern piece with its count")
    with workroom.writing() as session:
        if session.scalar(select(JobRow.id).where(JobRow.key == key_of(name))) is not None:
            raise Taken(f"there is a job {name!r} already", where="job", next="Choose another name")
        asks = {"one_lot": one_lot, "pairs_together": pairs_together, "matched": matched, "mirrored": mirrored}
        row = JobRow(name=name, key=key_of(name), note=note.strip(), made_at=workroom.now(), pieces=[], **asks)
        session.add(row)
        for piece in pieces:
            row.pieces.append(_wanted(session, piece))
        session.flush()
        return job_of(session, row)


def get(workroom: Workroom, name: str) -> Job:
    """The job of that name. Raises Unknown, with close names."""
    with workroom.reading() as session:
        return job_of(session, row_of(session, name))


def every(workroom: Workroom) -> tuple[Job, ...]:
    """All jobs, the newest first."""
    with workroom.reading() as session:
        return tuple(job_of(session, row) for row in session.scalars(select(JobRow).order_by(JobRow.id.desc())))


def row_of(session: Session, name: str) -> JobRow:
    """The row of the job of that name. Raises Unknown."""
    row = session.scalar(select(JobRow).where(JobRow.key == key_of(name)))
    if row is None:
        raise unknown("job", name, session.scalars(select(JobRow.name)), listed="fent job list")
    return row


def job_of(session: Session, row: JobRow) -> Job:
    """The job that a row holds, and how far it has come."""
    done, kept = so_far(session, row.id), kept_parts(session, row.id)
    pieces = tuple(
        JobPiece(
            id=piece.id,
            piece=told_of(piece.piece),
            count=piece.count,
            spares=piece.spares,
            rule=rule_of(piece),
            hidden=is_hidden(piece),
            cut=sum(done[piece.id, Fate.CUT, hand] for hand in HANDS),
            chalked=sum(done[piece.id, Fate.PLANNED, hand] for hand in HANDS),
            missing=sum(copies.wanted for copies in still(piece, done).values()),
            kept=tuple(part for part in kept if part.job_piece_id == piece.id),
        )
        for piece in row.pieces
    )
    return Job(row.id, row.name, pieces, row.note, row.made_at, row.one_lot, row.pairs_together, row.matched, row.mirrored)


def is_hidden(row: JobPieceRow) -> bool:
    """Whether a piece of a job is hidden when worn."""
    return row.piece.hidden if row.hidden is None else row.hidden


def still(piece: JobPieceRow, done: Done) -> dict[Hand | None, Copies]:
    """Copies of a piece still needed and welcome: for each hand of a left and right piece, else in all.

    A copy made of cloth with two faces alike has no hand of its own: it counts for the hand that has fewer.
    """
    made = {hand: done[piece.id, Fate.CUT, hand] + done[piece.id, Fate.PLANNED, hand] for hand in HANDS}
    if not piece.piece.left_and_right:
        return {None: _copies(piece.count, piece.spares, sum(made.values()))}
    for _ in range(made[None]):
        made[min(Hand, key=lambda hand: made[hand])] += 1
    return {hand: _copies(piece.count // 2, piece.spares // 2, made[hand]) for hand in Hand}


def _copies(count: int, spares: int, made: int) -> Copies:
    wanted = max(0, count - made)
    return Copies(wanted, max(0, count + spares - made) - wanted)


def so_far(session: Session, job_id: int, but: int | None = None) -> Done:
    """Copies of a job by piece, fate and hand: those cut and good, and those planned in chalked lays `but` for that lay."""
    asked = (
        select(LayPanelRow.job_piece_id, LayPanelRow.fate, LayPanelRow.hand, func.count())
        .join(LayRow, LayPanelRow.lay_id == LayRow.id)
        .where(LayRow.job_id == job_id)
        .where(
            or_(
                and_(LayRow.state == LayState.CUT, LayPanelRow.fate == Fate.CUT),
                and_(LayRow.state == LayState.CHALKED, LayPanelRow.fate == Fate.PLANNED),
            )
        )
        .where(LayRow.id != but if but is not None else true())
        .where(LayPanelRow.part.is_(None))
        .group_by(LayPanelRow.job_piece_id, LayPanelRow.fate, LayPanelRow.hand)
    )
    done = Counter({(piece, fate, hand): count for piece, fate, hand, count in session.execute(asked)})
    parts = (
        select(LayPanelRow, LayRow.state)
        .join(LayRow, LayPanelRow.lay_id == LayRow.id)
        .where(LayRow.job_id == job_id, LayPanelRow.part.is_not(None), LayRow.state.in_((LayState.CUT, LayState.CHALKED)))
        .where(LayRow.id != but if but is not None else true())
    )
    rows = session.execute(parts).all()
    for state, counts in ((LayState.CUT, Fate.CUT), (LayState.CHALKED, Fate.PLANNED)):
        for row, fate in wholes(row for row, its in rows if its is state):
            if fate is counts:
                done[row.job_piece_id, fate, row.hand] += 1
    return done


def rule_of(row: JobPieceRow) -> ClothRule:
    """The cloth rule that a row holds."""
    return ClothRule(
        fibres=tuple(row.fibres),
        weight_from=row.weight_from,
        weight_to=row.weight_to,
        colours=tuple(row.colours),
        weaves=tuple(row.weaves),
        washed=row.washed,
        cloths=tuple(cloth.name for cloth in row.cloths),
    )


def _wanted(session: Session, wanted: NewJobPiece) -> JobPieceRow:
    """A row for a piece of a job, looked over."""
    piece = piece_row_of(session, wanted.pattern, wanted.piece)
    count = a_count(wanted.count, f"{piece.name}: count", least=1)
    spares = a_count(wanted.spares, f"{piece.name}: spares")
    if piece.left_and_right and (count % 2 or spares % 2):
        raise Refused(
            f"{count} and {spares} spare of a left and right piece",
            where=piece.name,
            expected="even numbers: half of each hand",
        )
    rule = wanted.rule
    low = (
        None
        if rule.weight_from is None
        else a_figure(rule.weight_from, "weight from", unit="g/m²", above=False, most=HEAVIEST)
    )
    high = None if rule.weight_to is None else a_figure(rule.weight_to, "weight to", unit="g/m²", most=HEAVIEST)
    if low is not None and high is not None and low > high:
        raise Refused(
            f"weights from {telling.cloth_weight(low)} to {telling.cloth_weight(high)}",
            where=piece.name,
            expected="the smaller one first",
        )
    return JobPieceRow(
        piece=piece,
        count=count,
        spares=spares,
        fibres=sorted({a_fibre(fibre) for fibre in rule.fibres}),
        weight_from=low,
        weight_to=high,
        colours=sorted({key_of(a_name(colour, "colour")) for colour in rule.colours}),
        weaves=sorted({key_of(a_name(weave, "weave")) for weave in rule.weaves}),
        washed=rule.washed,
        hidden=wanted.hidden,
        cloths=list({cloth.id: cloth for cloth in (cloth_row_of(session, name) for name in rule.cloths)}.values()),
    )
