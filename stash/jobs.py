"""Jobs: something to be sewn, its pieces with counts and spares, and which cloths will do for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from .patterns import Piece
from .workroom import Workroom


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
    count and spares are even."""

    pattern: str
    piece: str
    count: int
    spares: int = 0
    rule: ClothRule = field(default_factory=ClothRule)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPiece:
    """A piece of a job, and how far it has come: good copies `cut`, and copies in `chalked` lays."""

    id: int
    piece: Piece
    count: int
    spares: int
    rule: ClothRule
    cut: int
    chalked: int

    @property
    def missing(self) -> int:
        """Copies that are neither cut nor chalked, spares left aside."""
        return max(0, self.count - self.cut - self.chalked)


@dataclass(frozen=True, slots=True)
class Job:
    """Something to be sewn."""

    id: int
    name: str
    pieces: tuple[JobPiece, ...]
    note: str
    made_at: datetime


def add(workroom: Workroom, name: str, pieces: Sequence[NewJobPiece], *, note: str = "") -> Job:
    """A new job. Raises Taken, Unknown, Refused."""
    raise NotImplementedError


def get(workroom: Workroom, name: str) -> Job:
    """The job of that name. Raises Unknown, with close names."""
    raise NotImplementedError


def every(workroom: Workroom) -> tuple[Job, ...]:
    """All jobs, the newest first."""
    raise NotImplementedError
