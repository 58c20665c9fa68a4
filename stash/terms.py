"""What a person says when they ask for a lay: margins this once, which remnants, by which aim, and what is fixed by hand."""

from __future__ import annotations

from dataclasses import dataclass

from .words import Aim, Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class ByHand:
    """A panel that a person has put down: which piece (and hand, of a left and right one), on which remnant, how far (mm) from
    its left and from its near edge, as drawn or turned head to foot, turned over or not."""

    piece: str
    tag: str
    left: float
    near: float
    hand: Hand | None = None
    head_to_foot: bool = False
    turned_over: bool = False


@dataclass(frozen=True, slots=True)
class AsInLay:
    """Panels of an earlier lay of the same job that stay where they lie there, by their numbers; all of them unless given."""

    lay: int
    panels: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class InStack:
    """A remnant that is to be in a stack; `folded`: on the grain, along `fold` mm from its near edge or where its halves cover
    each other most."""

    tag: str
    folded: bool = False
    fold: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """How a job is asked for, this once.

    `spares`: also what is welcome. `gap`, `edge` (mm): the workroom's unless given. `only`, `without`, `must`: tags to keep
    to, to leave out, to use in any case. `aim`: None for the job's own. `fixed`: what lies there already by hand.
    `any_size`: also remnants on which no panel can lie, which a shortage is explained by. `whole`: a whole set
    of the job, whatever of it is cut or chalked already. `instead_of`: a chalked lay that is to be replaced, so that its
    panels are still to be cut and its remnants free. `plies`: cut in stacks of up to so many, where that saves tracings;
    `stacks`: these remnants on one another, the top one first; `slip` (mm): the workroom's unless given. `matched`: on
    stripes and checks, where the job asks for it.
    """

    spares: bool = True
    gap: float | None = None
    edge: float | None = None
    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    must: tuple[str, ...] = ()
    aim: Aim | None = None
    fixed: tuple[ByHand | AsInLay, ...] = ()
    any_size: bool = False
    whole: bool = False
    instead_of: int | None = None
    plies: int = 1
    stacks: tuple[tuple[InStack, ...], ...] = ()
    slip: float | None = None
    matched: bool = True
