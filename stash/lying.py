"""How a pattern piece may lie on the cloth that there is: its grain, its two hands, a nap, an uneven stripe; as turns for the
engine.

A piece is drawn with its grain line along +x and lies with it along the warp (+x of the cloth), along the weft or at 45°. The
right hand is the left mirrored across the grain of the cloth, its place with it: what lies at 45° for the left hand lies at
−45° for the right. On one-way cloth, and for a piece that is one way, one of each two opposite turns is left. An *uneven*
stripe is not the same read backwards: it makes cloth one way, except that left and right mirror each other across it if one of
them is turned head to foot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import shapely
from shapely import Polygon, affinity

from nesting import Panel, Point, Ring, ring_of

from .refusals import CannotBeDone
from .tables import PieceRow, RemnantRow
from .words import Grain, Hand

SAME_RIM = 0.05
"""mm: outlines that differ by less round their rim are the same piece; cloth is not cut finer."""
TURNS: dict[Grain, tuple[float, ...]] = {
    Grain.WARP_WISE: (0.0, 180.0),
    Grain.WEFT_WISE: (90.0, 270.0),
    Grain.BIAS: (45.0, 225.0),
    Grain.EITHER_BIAS: (45.0, 315.0, 225.0, 135.0),
    Grain.FREE: (0.0, 45.0, 315.0, 90.0, 270.0, 135.0, 225.0, 180.0),
}
"""Turns that a piece is tried at, those that a one-way piece keeps first."""
FREELY = 22.5
"""Degrees: turns every 45°, give or take this, are all there are."""
ONE_WAY = (0.0,)
ONE_WAY_AT_ANY_GRAIN = (0.0, 45.0, 315.0, 90.0, 270.0)
"""Turns that one-way cloth allows: where all pieces lie along the warp, and where some do not."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What the cloth that will do for a piece asks of it. `repeats`: along and across, mm, those that there are."""

    one_way: bool = False
    faces_alike: bool = False
    uneven_along: bool = False
    uneven_across: bool = False
    repeats: tuple[Point, ...] = ()

    @property
    def uneven(self) -> bool:
        return self.uneven_along or self.uneven_across


@dataclass(frozen=True, slots=True)
class Asks:
    """What a job asks of stripes and checks: that pieces with an anchor are matched; that left and right mirror each other
    (else they are alike)."""

    matched: bool = True
    mirrored: bool = True


def ground_of(rows: Sequence[RemnantRow]) -> Ground:
    """What the remnants that will do ask in common: whatever any of them asks."""
    striped = [row for row in rows if any(repeat_of(row))]
    return Ground(
        one_way=any(row.one_way for row in rows),
        faces_alike=bool(rows) and all(row.cloth.faces_alike for row in rows),
        uneven_along=any(row.cloth.uneven_along for row in striped),
        uneven_across=any(row.cloth.uneven_across for row in striped),
        repeats=tuple(dict.fromkeys(repeat_of(row) for row in striped)),
    )


def repeat_of(row: RemnantRow) -> Point:
    """The repeat of a remnant along and across the grain, mm, 0 where there is none: its own or its cloth's."""
    along = row.cloth.repeat_along if row.repeat_along is None else row.repeat_along
    across = row.cloth.repeat_across if row.repeat_across is None else row.repeat_across
    return along or 0.0, across or 0.0


def hands_apart(piece: PieceRow, ground: Ground, asks: Asks) -> bool:
    """Whether left and right are two panels: unless turning one over makes the other, as it lies."""
    slanted = piece.grain is Grain.BIAS or (piece.grain is Grain.WEFT_WISE and ground.one_way)
    return not ground.faces_alike or slanted or (asks.matched and ground.uneven)


def panel_of(
    piece: PieceRow, name: str, hand: Hand | None, ground: Ground, asks: Asks, copies: int, on: tuple[str, ...] | None = None
) -> Panel:
    """The piece, of one hand or of none, as a panel of the case. Raises CannotBeDone for what no such cloth can give."""
    cut_line = cast(Polygon, piece.cut_line)
    free = piece.grain is Grain.FREE
    anchor = _anchor(piece, hand, ground) if asks.matched and ground.repeats else None
    return Panel(
        id=name,
        outline=line_of(cut_line, hand),
        copies=copies,
        sound=line_of(cast(Polygon, piece.sewing_line), hand),
        turns=_turns(piece, hand, ground, asks),
        # What is matched lies true: a stripe that runs askew shows along the whole of a panel.
        off_grain=FREELY if free else 0.0 if anchor is not None else piece.off_grain,
        flip=not hands_apart(piece, ground, asks) and has_hands(cut_line, one_way=piece.one_way),
        anchor=anchor,
        on=on,
    )


def line_of(shape: Polygon, hand: Hand | None) -> Ring:
    """A piece's line as the engine takes it: as drawn it is the left hand, mirrored across the grain the right."""
    return ring_of(affinity.scale(shape, 1, -1, origin=(0, 0)) if hand is Hand.RIGHT else shape)


def has_hands(shape: Polygon, *, one_way: bool) -> bool:
    """Whether a shape differs from its mirror across the grain, so that turning it over may help."""
    mirror = affinity.scale(shape, 1, -1)
    turns = (0,) if one_way else (0, 180)
    # By areas, since a corner of one may lie a hair beside that of the other; a thread's breadth round the rim is the same.
    return all(shape.symmetric_difference(affinity.rotate(mirror, turn)).area > SAME_RIM * shape.length for turn in turns)


def _turns(piece: PieceRow, hand: Hand | None, ground: Ground, asks: Asks) -> tuple[float, ...]:
    turns = TURNS[piece.grain]
    uneven = asks.matched and ground.uneven
    opposed = uneven and ground.uneven_across and asks.mirrored and hand is not None
    if opposed and (ground.uneven_along or ground.one_way or piece.one_way):
        why = "is one way" if ground.one_way or piece.one_way else "is uneven along the grain, too"
        raise CannotBeDone(
            f"left and right {piece.name} cannot mirror each other: the stripe is uneven, so that one of them would lie head "
            f"to foot, and {'the piece' if piece.one_way else 'the cloth'} {why}",
            where="stripes",
            expected="an even stripe, or left and right alike",
            next="Ask for them alike: fent job mend JOB --alike",
        )
    slanted = piece.grain is Grain.WEFT_WISE and ground.one_way
    if piece.one_way or uneven or slanted:
        turns = tuple(t for t in turns if t not in {(u + 180.0) % 360.0 for u in turns[: turns.index(t)]})
    if hand is Hand.RIGHT:
        turns = tuple((-t + (180.0 if opposed else 0.0)) % 360.0 for t in turns)
    return turns


def _anchor(piece: PieceRow, hand: Hand | None, ground: Ground) -> Point | None:
    """The point of the panel that lies on a bar; half a repeat beside it where the piece's own lies between bars."""
    if piece.anchor is None:
        return None
    x, y = piece.anchor["at"]
    y = -y if hand is Hand.RIGHT else y
    if not piece.anchor["between"]:
        return x, y
    along, across = ground.repeats[0]
    # Half a repeat is the same to either side, so that it may be told in the panel's own coordinates.
    turn = -TURNS[piece.grain][0] if hand is not Hand.RIGHT else TURNS[piece.grain][0]
    half = cast("shapely.Point", affinity.rotate(shapely.Point(along / 2, across / 2), turn, origin=(0, 0)))
    return x + half.x, y + half.y
