"""Cutting a chalked lay: panels to the job, keepers back to the bin, the rest to the rag bag, in one balanced entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .lays import Lay
from .remnants import Remnant
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class CutSheet:
    """What became of one remnant (mm², g). `whole`: none of its panels was cut, and it went back as it was."""

    tag: str
    area: float
    mass: float
    panel_area: float
    panel_mass: float
    spoiled_area: float
    spoiled_mass: float
    keepers: tuple[Remnant, ...]
    rag_area: float
    rag_mass: float
    whole: bool


@dataclass(frozen=True, slots=True)
class Cut:
    """What a cut did: the lay as it is now, each remnant's end, and the number of the entry in the book."""

    lay: Lay
    sheets: tuple[CutSheet, ...]
    entry: int


def cut(workroom: Workroom, number: int, *, by: str, spoiled: Sequence[int] = (), uncut: Sequence[int] = ()) -> Cut:
    """Cut a chalked lay. `spoiled` and `uncut` are numbers of its panels: cut but no good, and not cut after all.

    Raises WrongState, ChangedSince (CannotBeDone); Refused for a number that is not in the lay or named twice, for a lay of
    which nothing was cut, and without initials.
    """
    raise NotImplementedError
