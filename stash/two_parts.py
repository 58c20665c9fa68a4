"""Panels joined from two, in the rows of a lay: which two parts make a panel, and what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import select
from sqlalchemy.orm import Session

from .tables import LayPanelRow, LayRow
from .words import Fate, Hand, LayState

WORST_FIRST = (Fate.UNCUT, Fate.SPOILED, Fate.PLANNED, Fate.CUT)
"""A panel is what the worse of its parts is: one that was not cut, or spoiled, leaves no panel."""


def pair_up(panels: Sequence[LayPanelRow]) -> None:
    """Number the joined panels of a lay: the first part of a piece and a seam goes with the first other part, and so on."""
    waiting: dict[tuple[int, Hand | None, str], list[LayPanelRow]] = {}
    number = 0
    for row in sorted((row for row in panels if row.part is not None), key=lambda row: row.number):
        key = (row.job_piece_id, row.hand, str(row.seam))
        mates = waiting.setdefault(key, [])
        mate = next((other for other in mates if other.part != row.part), None)
        if mate is None:
            mates.append(row)
            continue
        number += 1
        mates.remove(mate)
        mate.joined = row.joined = number


def wholes(panels: Iterable[LayPanelRow]) -> Iterator[tuple[LayPanelRow, Fate]]:
    """Each panel once, by its row (of a joined one, that of its first part), with its fate. A part alone is no panel."""
    rows = list(panels)
    for row in rows:
        if row.part is None:
            yield row, row.fate
    parts = sorted((row for row in rows if row.joined is not None), key=lambda row: (row.lay_id, row.joined, row.part))
    for _, two in groupby(parts, key=lambda row: (row.lay_id, row.joined)):
        both = list(two)
        if len(both) == 2:
            yield both[0], min((row.fate for row in both), key=WORST_FIRST.index)


def widowed(panels: Iterable[LayPanelRow]) -> Mapping[int, int]:
    """Parts that were cut and are good, of panels whose other part is not: their numbers in the lay, each with the other's."""
    found: dict[int, int] = {}
    parts = sorted((row for row in panels if row.joined is not None), key=lambda row: (row.joined, row.part))
    for _, two in groupby(parts, key=lambda row: row.joined):
        both = list(two)
        good = [row for row in both if row.fate is Fate.CUT]
        if len(both) == 2 and len(good) == 1:
            found[good[0].number] = next(row.number for row in both if row is not good[0])
    return found


@dataclass(frozen=True, slots=True)
class KeptPart:
    """A part of a panel that was cut and is good, while its other is not there: `part` (1 or 2) of a piece of a job, panel
    `number` of a lay that is cut. `seam`: the two ends of the join, in the panel's own coordinates."""

    job_piece_id: int
    hand: Hand | None
    lay: int
    number: int
    part: int
    seam: tuple[tuple[float, ...], ...]


def kept_parts(session: Session, job_id: int) -> tuple[KeptPart, ...]:
    """The parts that lie with a job and wait for their other, in the order in which they were cut."""
    asked = select(LayPanelRow).join(LayRow, LayPanelRow.lay_id == LayRow.id)
    asked = asked.where(LayRow.job_id == job_id, LayRow.state == LayState.CUT, LayPanelRow.joined.is_not(None))
    rows = session.scalars(asked.order_by(LayPanelRow.lay_id, LayPanelRow.number)).all()
    alone = {(lay, number) for lay, mine in groupby(rows, key=lambda row: row.lay_id) for number in widowed(mine)}
    return tuple(
        KeptPart(row.job_piece_id, row.hand, row.lay_id, row.number, row.part or 0, tuple(map(tuple, row.seam or [])))
        for row in rows
        if (row.lay_id, row.number) in alone
    )
