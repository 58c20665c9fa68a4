"""The question put to the engine: from a job to a case.

Remnants are narrowed down by the job's cloth rules in SQL; what the case's form does not say is settled here (design, *Cases
and results*): edges are trimmed by their kind, flaws spare the panels they do not harm, a one-way remnant allows one turn, a
left and right piece becomes two panels. Why each other remnant was passed over is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nesting import Case

from .words import Hand
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class Meant:
    """What a panel of the case is: a piece of the job, of one hand or of none."""

    job_piece_id: int
    piece: str
    hand: Hand | None


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A remnant of the bin that will not do for a piece, and every reason why, in words."""

    tag: str
    piece: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A case and what it stands for. Sheet ids are tags. `panels` by panel id; `revisions` by tag: the remnants as they were
    when asked."""

    job: str
    case: Case
    panels: Mapping[str, Meant]
    revisions: Mapping[str, int]
    passed_over: tuple[PassedOver, ...]


def ask(
    workroom: Workroom,
    job: str,
    *,
    spares: bool = True,
    gap: float | None = None,
    edge: float | None = None,
    only: Sequence[str] = (),
    without: Sequence[str] = (),
) -> Asked:
    """The case of what a job still needs: neither cut nor chalked.

    `gap`, `edge` (mm): the workroom's settings unless given. `only`, `without`: tags to keep to or leave out.
    Raises Unknown, Refused; NothingToCut, NothingQualifies (CannotBeDone).
    """
    raise NotImplementedError
