"""Finding remnants in the bin: everything is narrowed down in SQL, and no geometry is loaded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from .words import RemnantState
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What to look for; what is left out does not matter.

    `fibre`: some of the cloth is that fibre. `weight_from`, `weight_to`: g/m². `size`: two measures in mm, either way round,
    that its largest rectangle must hold. `states`: () for all.
    """

    cloth: str | None = None
    fibre: str | None = None
    weight_from: float | None = None
    weight_to: float | None = None
    colour: str | None = None
    lot: str | None = None
    weave: str | None = None
    place: str | None = None
    size: tuple[float, float] | None = None
    washed: bool | None = None
    quarantined: bool | None = None
    states: tuple[RemnantState, ...] = (RemnantState.IN_BIN, RemnantState.HELD)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One line of the bin list (mm, mm², g, g/m²)."""

    tag: str
    cloth: str
    colour: str
    weight: float
    area: float
    mass: float
    length: float
    width: float
    rect_length: float
    rect_width: float
    rough: bool
    one_way: bool
    place: str
    washed: str
    state: RemnantState
    faults: int
    parent: str | None
    held_by: int | None
    quarantine: str
    logged_at: datetime


def find(workroom: Workroom, wanted: Wanted | None = None) -> tuple[Listed, ...]:
    """The remnants that match, by tag. Raises Unknown for a cloth, fibre or place that the stash does not know."""
    raise NotImplementedError
