"""Patterns and their pieces: sewing line, allowances, cut line, and how a piece may lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon

from nesting import Ring

from .words import Line
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiece:
    """A pattern piece as drawn (mm).

    `ring` is the `drawn` line; `allowance` one for all its edges or one for each (the first from its first point to its
    second); the other line follows. `grain_angle`: degrees, counter-clockwise, from the drawing's x to the grain line.
    `one_way`: may not be turned head to foot. `left_and_right`: it comes in two hands. `hidden`: not seen when worn.
    `off_grain`: how many degrees it may lie off the grain either way.
    """

    name: str
    ring: Ring
    allowance: float | tuple[float, ...] = 0.0
    drawn: Line = Line.SEWING
    grain_angle: float = 0.0
    one_way: bool = False
    left_and_right: bool = False
    hidden: bool = False
    off_grain: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A pattern piece in the stash, its grain line along +x."""

    id: int
    pattern: str
    name: str
    sewing_line: Polygon
    cut_line: Polygon
    allowances: tuple[float, ...]
    drawn: Line
    one_way: bool
    left_and_right: bool
    hidden: bool
    off_grain: float


@dataclass(frozen=True, slots=True)
class Pattern:
    """A set of pieces."""

    id: int
    name: str
    pieces: tuple[Piece, ...]
    note: str = ""


def tapered(length: float, wide: float, narrow: float) -> Ring:
    """A panel with straight sides and ends, `length` (mm, at its centre) along the grain, `wide` at x = 0, `narrow` at the
    other end."""
    raise NotImplementedError


def add(workroom: Workroom, name: str, pieces: Sequence[NewPiece] = (), *, note: str = "") -> Pattern:
    """A new pattern with its pieces. Raises Taken, BadOutline, Refused."""
    raise NotImplementedError


def add_piece(workroom: Workroom, pattern: str, piece: NewPiece) -> Piece:
    """One more piece of a pattern."""
    raise NotImplementedError


def get(workroom: Workroom, name: str) -> Pattern:
    """The pattern of that name. Raises Unknown, with close names."""
    raise NotImplementedError


def every(workroom: Workroom) -> tuple[Pattern, ...]:
    """All patterns by name."""
    raise NotImplementedError
