"""The case that the engine is given and the result that it gives back, as plain frozen data.

Lengths are millimetres, areas square millimetres, angles degrees. +x is the warp (the lengthwise grain) in every sheet's
and panel's own coordinates. The JSON forms of these are read and written by `nesting.reading`; what may be left out takes
the default shown here. A ring is a closed outline without its first point repeated, in either winding.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass, field, replace

Point = tuple[float, float]
Ring = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Flaw:
    """A place where the cloth is harmed but there: a ring, or two points for a tear.

    `spares` names the panels whose sound part may lie over it all the same.
    """

    ring: Ring
    spares: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece of cloth to lay panels on, or `plies` of them laid on each other.

    `cost` is what touching it costs; None means its area (holes taken off) × plies. `turns`: the only turns that it
    allows (one-way cloth), None for all. `repeat`: lengths along and across of its stripe or check (0 = none that way),
    `repeat_at` a point of that lattice.
    """

    id: str
    outline: Ring
    holes: tuple[Ring, ...] = ()
    flaws: tuple[Flaw, ...] = ()
    cost: float | None = None
    plies: int = 1
    turns: tuple[float, ...] | None = None
    repeat: Point = (0.0, 0.0)
    repeat_at: Point = (0.0, 0.0)

    def for_panels(self, ids: Set[str]) -> Sheet:
        """The sheet in a case of these panels alone: its flaws name no other."""
        return replace(self, flaws=tuple(replace(flaw, spares=flaw.spares & ids) for flaw in self.flaws))


@dataclass(frozen=True, slots=True)
class Strip:
    """A length of cloth of one width (0 ≤ y ≤ width) from which every panel is cut in the least length along x."""

    width: float


@dataclass(frozen=True, slots=True)
class Panel:
    """A shape wanted `copies` times.

    `sound` is the part that no flaw may touch (None: its outline); a `hidden` panel may lie over any flaw. It may be turned
    by any of `turns`, give or take `off_grain` degrees, and flipped across the grain if `flip`. `anchor` is the point of it
    that must fall on a sheet's repeat. `on` names the sheets that will do (None: all).
    """

    id: str
    outline: Ring
    copies: int
    sound: Ring | None = None
    hidden: bool = False
    turns: tuple[float, ...] = (0.0, 180.0)
    off_grain: float = 0.0
    flip: bool = False
    anchor: Point | None = None
    on: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a copy lies: flipped across the grain ((x, y) → (x, −y)) if `flipped`, then turned counter-clockwise by
    `turn` about (0, 0), then shifted by (x, y). On a strip, `sheet` is "strip"."""

    sheet: str
    panel: str
    x: float
    y: float
    turn: float = 0.0
    flipped: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """What is wanted: panels, and either the sheets there are or a strip. `gap`: between cuts; `edge`: kept from a sheet's
    edge, its holes and its flaws (both mm; neither applies to the rim of a strip). `fixed` must be in the result as given."""

    panels: tuple[Panel, ...]
    sheets: tuple[Sheet, ...] = ()
    strip: Strip | None = None
    fixed: tuple[Placement, ...] = ()
    gap: float = 0.0
    edge: float = 0.0


@dataclass(frozen=True, slots=True)
class Result:
    """A lay and what is known of it.

    `bound`: the most copies, of those wanted, that the sheets could ever hold, proved, or None; `proved`: bound = placed.
    `cost` is that of the sheets touched; `least_cost`, `least_length`: proved least, or None; `length` of a strip's lay.
    """

    placements: tuple[Placement, ...] = ()
    placed: int = 0
    bound: int | None = None
    proved: bool = False
    complete: bool = False
    cost: float | None = None
    least_cost: float | None = None
    length: float | None = None
    least_length: float | None = None
    rounds: int = 0
    seed: int = 0
    seconds: float = field(default=0.0, compare=False)
