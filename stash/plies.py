"""Stacks of a lay: which remnants lie on one another and how, and what each tracing makes in each ply.

A panel that is cut through a stack is a placement on each of its remnants, as any other panel is: cutting, keepers and the
book go on ply by ply. What is kept beside the placements is how each ply lies, and which panels one tracing makes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting import Lie, Placement

from .tables import LayPanelRow, LayPlyRow, LayRow, RemnantRow
from .words import Half, Hand

ON_FOLD = 0
"""In place of a ply's number: the panel lies across the fold, in both of its plies."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a stack may be: `slip` (mm) of each ply, the margin at a `fold` (mm), the `heaviest` in all (g/m²), the `thickest`
    in all (mm; only where every cloth's thickness is known)."""

    slip: float = 1.0
    fold: float = 5.0
    heaviest: float = 1500.0
    thickest: float = 5.0


@dataclass(frozen=True, slots=True)
class Stackable:
    """A remnant as far as stacking goes: its cloth, that cloth's weight (g/m²) and thickness (mm, None: not known)."""

    cloth: int
    name: str
    weight: float
    thickness: float | None


def stackable(rows: Sequence[RemnantRow]) -> dict[str, Stackable]:
    """By tag."""
    return {row.tag: Stackable(row.cloth_id, row.cloth.name, row.cloth.weight, row.cloth.thickness) for row in rows}


# --- a stack as it is planned ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PlyPlan:
    """A ply: a remnant, how it lies in the stack, and of one that is folded where (y, mm) and which half."""

    tag: str
    lie: Lie
    fold: float | None = None
    half: Half | None = None


@dataclass(frozen=True, slots=True)
class CopyPlan:
    """A copy of a tracing: the number of its ply, from 1 on top (`ON_FOLD`: both plies of a fold), and the panel as it lies on
    that remnant."""

    ply: int
    placement: Placement


@dataclass(frozen=True, slots=True)
class StackPlan:
    """A stack that is planned: its plies, the top one first, and the copies of each of its tracings."""

    plies: tuple[PlyPlan, ...]
    tracings: tuple[tuple[CopyPlan, ...], ...]

    def copies(self) -> Iterator[Placement]:
        """The panels that it makes, each on its remnant."""
        for tracing in self.tracings:
            yield from (copy.placement for copy in tracing)

    def with_only(self, there: set[Placement]) -> StackPlan:
        """The stack with the copies that are still there, and without tracings of which none is."""
        left = (tuple(copy for copy in tracing if copy.placement in there) for tracing in self.tracings)
        return replace(self, tracings=tuple(tracing for tracing in left if tracing))


def put_down(
    row: LayRow, stacks: Sequence[StackPlan], ids: Mapping[str, int], placed: Sequence[Placement], slip: float
) -> None:
    """The rows of a lay's stacks: how plies lie, and which of its panels (in the order of `placed`) each tracing makes. A copy
    that is no more in the lay is left out, and so is a stack of which none is."""
    number = {placement: n for n, placement in enumerate(placed)}
    kept = [stack for stack in (stack.with_only(set(placed)) for stack in stacks) if stack.tracings]
    row.slip = slip if kept else None
    row.plies = [
        LayPlyRow(
            stack=s,
            ply=n,
            remnant_id=ids[ply.tag],
            x=ply.lie.x,
            y=ply.lie.y,
            turn=ply.lie.turn,
            flipped=ply.lie.flipped,
            fold=ply.fold,
            half=ply.half,
        )
        for s, stack in enumerate(kept, 1)
        for n, ply in enumerate(stack.plies, 1)
        if ply.tag in ids
    ]
    tracings = (tracing for stack in kept for tracing in stack.tracings)
    for t, tracing in enumerate(tracings, 1):
        for copy in tracing:
            panel = row.panels[number[copy.placement]]
            panel.tracing, panel.ply = t, copy.ply


def plans_of(row: LayRow, laid: Sequence[LayPanelRow]) -> tuple[StackPlan, ...]:
    """The stacks of a lay with those of its panels, as they were planned."""
    tags = {ply.remnant_id: ply.remnant.tag for ply in row.plies}
    found = []
    for s in sorted({ply.stack for ply in row.plies}):
        plies = [ply for ply in row.plies if ply.stack == s]
        mine = [panel for panel in laid if panel.tracing and panel.remnant_id in {ply.remnant_id for ply in plies}]
        tracings = tuple(
            tuple(
                CopyPlan(panel.ply or ON_FOLD, _placement(panel, tags[panel.remnant_id]))
                for panel in mine
                if panel.tracing == t
            )
            for t in sorted({panel.tracing for panel in mine if panel.tracing})
        )
        found.append(StackPlan(tuple(PlyPlan(tags[p.remnant_id], lie_of(p), p.fold, p.half) for p in plies), tracings))
    return tuple(found)


def _placement(panel: LayPanelRow, tag: str) -> Placement:
    return Placement(tag, panel.panel, panel.x, panel.y, panel.turn, panel.flipped)


def lie_of(ply: LayPlyRow) -> Lie:
    return Lie(ply.x, ply.y, ply.turn, ply.flipped)


@dataclass(frozen=True, slots=True)
class Lacks:
    """A ply that does not hold a tracing: by how much (mm) it is too small for it, and where on the remnant, from its left and
    from its near edge (mm); and by how much the cloth that the plies share which hold it is longer along the grain than this
    ply, and wider across it."""

    tag: str
    ply: int
    tracing: int
    by: float
    left: float
    near: float
    shorter: float = 0.0
    narrower: float = 0.0


@dataclass(frozen=True, slots=True)
class NotThrough:
    """A stack of which not every tracing goes through every ply: the most copies that were found where each does, those it
    makes as it is, of how many that it was filled with, and what is too small."""

    stack: int
    plies: int
    through_all: int
    copies: int
    wanted: int
    lacks: tuple[Lacks, ...]


# --- a stack as it is shown --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LaidPly:
    """A ply of a lay, 1 on top."""

    number: int
    tag: str
    lie: Lie
    fold: float | None
    half: Half | None


@dataclass(frozen=True, slots=True)
class LaidTracing:
    """A tracing: what is traced, as it lies in the stack (of a left and right piece, which hand), and the panels it makes, by
    ply. `on_fold`: half of it is traced, with its middle on the fold."""

    number: int
    piece: str
    hand: Hand | None
    panels: Mapping[int, int]
    on_fold: bool = False


@dataclass(frozen=True, slots=True)
class LaidStack:
    """A stack of a lay."""

    number: int
    plies: tuple[LaidPly, ...]
    tracings: tuple[LaidTracing, ...]


def stacks_of(row: LayRow, names: Mapping[int, str]) -> tuple[LaidStack, ...]:
    """The stacks of a lay. `names`: of its pieces, by their id in the job."""
    found = []
    for s in sorted({ply.stack for ply in row.plies}):
        plies = [ply for ply in row.plies if ply.stack == s]
        ids = {ply.remnant_id for ply in plies}
        mine = sorted((p for p in row.panels if p.tracing and p.remnant_id in ids), key=lambda p: (p.tracing or 0, p.ply or 0))
        by_tracing: dict[int, list[LayPanelRow]] = {}
        for panel in mine:
            by_tracing.setdefault(panel.tracing or 0, []).append(panel)
        found.append(
            LaidStack(
                s,
                tuple(LaidPly(p.ply, p.remnant.tag, lie_of(p), p.fold, p.half) for p in plies),
                tuple(_tracing(t, panels, plies, names) for t, panels in by_tracing.items()),
            )
        )
    return tuple(found)


def _tracing(number: int, panels: Sequence[LayPanelRow], plies: Sequence[LayPlyRow], names: Mapping[int, str]) -> LaidTracing:
    first = panels[0]
    over = any(ply.flipped for ply in plies if ply.ply == first.ply)
    hand = {Hand.LEFT: Hand.RIGHT, Hand.RIGHT: Hand.LEFT}[first.hand] if first.hand and over else first.hand
    made = {ON_FOLD if panel.ply is None else panel.ply: panel.number for panel in panels}
    return LaidTracing(number, names[first.job_piece_id], hand, made, ON_FOLD in made)
