"""What is asked of a stack and what is found, as plain frozen data; lengths are mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from .forms import Panel, Placement, Point, Sheet
from .handed import Mirror
from .lies import Lie
from .stacking import WAYS, Ply, shared


@dataclass(frozen=True, slots=True)
class Layer:
    """What is laid as one: a sheet, or the two plies of a folded one. `ways`: how it may lie."""

    plies: tuple[Ply, ...]
    ways: tuple[tuple[float, bool], ...] = WAYS

    def lying(self, lie: Lie) -> tuple[Ply, ...]:
        return tuple(replace(ply, lie=lie.after(ply.lie)) for ply in self.plies)

    def whole(self) -> Sheet:
        """What its plies have in common, as a sheet in its own coordinates."""
        return shared(self.plies, 0.0, self.plies[0].sheet.id) or self.plies[0].sheet


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy that a tracing makes: the number of its ply from 0, and the panel as it lies there, right side up."""

    ply: int
    placement: Placement


@dataclass(frozen=True, slots=True)
class Tracing:
    """A panel traced on the stack, as it lies there, and the copies that it makes."""

    placement: Placement
    copies: tuple[Copy, ...]


@dataclass(frozen=True, slots=True)
class TooSmall:
    """A ply that does not hold a tracing: by how much (mm) this reaches beyond what the ply has clear, where in the stack, and
    where on the ply's own cloth."""

    ply: int
    tracing: int
    by: float
    at: Point
    on_ply: Point


@dataclass(frozen=True, slots=True)
class Stacked:
    """A stack that was filled: its plies, the top one first, and its tracings. `through_all`: the most copies that were
    found where every tracing goes through every ply."""

    plies: tuple[Ply, ...]
    tracings: tuple[Tracing, ...]
    through_all: int
    too_small: tuple[TooSmall, ...] = ()

    @property
    def copies(self) -> int:
        return sum(len(tracing.copies) for tracing in self.tracings)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a stack is filled with: panels with the copies wanted, gap and edge as in a case, slip between the plies, and which
    panel each becomes on a ply turned over (`handed.mirrors`)."""

    panels: tuple[Panel, ...]
    gap: float
    edge: float
    slip: float
    mirror: Mapping[str, Mirror]
    seconds: float = 1.0
    seed: int = 0
