"""How the outline of a remnant is measured: by points, as a rectangle, as a rectangle with bites.

Everything here is in the measurer's own coordinates, in mm, whichever face was up and however the grain lay;
`settle` turns it onto the grain and mirrors it onto the right side, once, when the remnant is logged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from nesting import Point, Ring

from .words import EdgeKind

Side = tuple[Point, Point]


class Corner(StrEnum):
    """A corner of a rectangle lying with its length left to right: near is the edge towards you (y = 0)."""

    NEAR_LEFT = "near left"
    NEAR_RIGHT = "near right"
    FAR_RIGHT = "far right"
    FAR_LEFT = "far left"


class Border(StrEnum):
    """A side of a rectangle lying with its length left to right."""

    NEAR = "near"
    RIGHT = "right"
    FAR = "far"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class CornerBite:
    """Missing at a corner: `length` along the rectangle's length, `width` across it, mm; square, or straight across if
    `slanted`."""

    corner: Corner
    length: float
    width: float
    slanted: bool = False


@dataclass(frozen=True, slots=True)
class EdgeBite:
    """Missing along a side: from `start` (mm from the side's left or near end) for `length`, `depth` deep."""

    border: Border
    start: float
    length: float
    depth: float


@dataclass(frozen=True, slots=True)
class Measured:
    """An outline as measured: its ring, and those of its sides that are not plainly cut, each with its kind.

    `rough`: only the largest rectangle on the grain is known.
    """

    ring: Ring
    sides: tuple[tuple[Side, EdgeKind], ...] = ()
    rough: bool = False


def by_points(points: Sequence[Point], edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT) -> Measured:
    """A polygon by its corners, in order, either way round.

    `edges`: one kind for all sides, or one for each, the first from the first corner to the second.
    Raises BadOutline for a ring that is none, Refused for a wrong number of edges.
    """
    raise NotImplementedError


def rectangle(
    length: float, width: float, edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT, *, rough: bool = False
) -> Measured:
    """A rectangle, `length` along the grain. `edges`: one kind, or near, right, far, left."""
    raise NotImplementedError


def bitten(
    length: float,
    width: float,
    bites: Sequence[CornerBite | EdgeBite],
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
) -> Measured:
    """A rectangle with pieces missing at its corners and sides; the sides of the bites count as cut.

    Raises Refused for a bite that is as large as the rectangle, overlaps another or cuts it in two.
    """
    raise NotImplementedError
