"""Panels joined from two, in the rows of a lay: which two parts make a panel, and what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from .tables import LayPanelRow
from .words import Fate, Hand

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
