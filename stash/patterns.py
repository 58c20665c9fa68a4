"""Patterns and their pieces: sewing line, allowances, cut line, and how a piece may lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from nesting import Ring

from .given import a_figure, a_name, key_of, unknown
from .refusals import BadOutline, Refused, Taken
from .tables import PatternRow, PieceRow
from .words import Line
from .workroom import Workroom

if TYPE_CHECKING:
    from shapely import Polygon

# Geometry is imported where it is used: it takes longer to load than a list of patterns or jobs to make.

ARC_WITHIN = 0.1
"""mm by which the straight pieces of a trued end may leave their arc: a tenth of a chalk line."""
WIDEST_ALLOWANCE = 300.0
"""mm: a deep hem of a curtain. Above it, a unit was mistaken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiece:
    """A pattern piece as drawn (mm).

    `ring` is the `drawn` line; `allowance` one for all its edges or one for each (the first from its first point to its
    second); the other line follows. `grain_angle`: degrees, counter-clockwise, from the drawing's x to the grain line.
    `one_way`: may not be turned head to foot. `left_and_right`: it comes in two hands; as drawn it is the left, and the right
    is its mirror across the grain. `hidden`: not seen when worn.
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
class PieceTold:
    """What is said of a pattern piece in the stash, but for its lines: all that most who look at a job ask."""

    id: int
    pattern: str
    name: str
    allowances: tuple[float, ...]
    drawn: Line
    one_way: bool
    left_and_right: bool
    hidden: bool
    off_grain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(PieceTold):
    """A pattern piece in the stash, its grain line along +x."""

    sewing_line: Polygon
    cut_line: Polygon


@dataclass(frozen=True, slots=True)
class Pattern:
    """A set of pieces."""

    id: int
    name: str
    pieces: tuple[Piece, ...]
    note: str = ""


def tapered(length: float, wide: float, narrow: float, *, trued: bool = False) -> Ring:
    """A panel with straight sides, `length` (mm, at its centre) along the grain, `wide` at x = 0, `narrow` at the other end
    (chords, mm).

    Its ends are straight or, if `trued`, arcs about the point where its sides meet, so that every corner is a right angle
    (the gore of a cone is an annular sector). Draw the sewing line so: trued on the cut line, the joined edge has a kink.
    Raises Refused for measures that are none, and for ends too unlike to be trued over that length.

    >>> tapered(100, 60, 40)
    ((0.0, -30.0), (100.0, -20.0), (100.0, 20.0), (0.0, 30.0))
    """
    length, wide, narrow = (
        a_figure(value, what, unit="mm") for value, what in ((length, "length"), (wide, "wide end"), (narrow, "narrow end"))
    )
    if not trued or wide == narrow:
        return ((0.0, -wide / 2), (length, -narrow / 2), (length, narrow / 2), (0.0, wide / 2))
    # The chords are 2 R sin(a) at both ends, and the radii differ by the length.
    sine = abs(wide - narrow) / (2 * length)
    if sine >= 1:
        raise Refused(
            f"ends of {wide:g} and {narrow:g} mm are too unlike for {length:g} mm of length",
            where="tapered panel",
            expected=f"ends that differ by less than {2 * length:g} mm",
        )
    near, far = (_arc(chord, math.asin(sine)) for chord in (wide, narrow))
    # The arcs lie about (0, 0), their middles at x = radius; the wide one is brought to x = 0, looking the other way.
    towards = -1 if wide > narrow else 1
    middle = near[len(near) // 2][0]
    rim = [*near, *reversed(far)]
    return (
        tuple((towards * (x - middle), -y) for x, y in rim)
        if towards < 0
        else tuple((x - middle, y) for x, y in reversed(rim))
    )


def _arc(chord: float, half_angle: float) -> list[tuple[float, float]]:
    """Points of an arc about (0, 0), symmetric to the x axis, from below to above, an even number of steps apart."""
    radius = chord / (2 * math.sin(half_angle))
    steps = 2 * max(1, math.ceil(half_angle / (2 * math.acos(1 - min(1.0, ARC_WITHIN / radius)))))
    angles = [half_angle * (2 * i / steps - 1) for i in range(steps + 1)]
    return [(radius * math.cos(angle), radius * math.sin(angle)) for angle in angles]


def add(workroom: Workroom, name: str, pieces: Sequence[NewPiece] = (), *, note: str = "") -> Pattern:
    """A new pattern with its pieces. Raises Taken, BadOutline, Refused."""
    name = a_name(name, "pattern")
    with workroom.writing() as session:
        if session.scalar(select(PatternRow.id).where(PatternRow.key == key_of(name))) is not None:
            raise Taken(
                f"there is a pattern {name!r} already", where="pattern", next="Add pieces to it, or choose another name"
            )
        row = PatternRow(name=name, key=key_of(name), note=note.strip(), added_at=workroom.now(), pieces=[])
        session.add(row)
        for piece in pieces:
            _add_piece(row, piece)
        session.flush()
        return pattern_of(row)


def add_piece(workroom: Workroom, pattern: str, piece: NewPiece) -> Piece:
    """One more piece of a pattern. Raises Unknown, Taken, BadOutline, Refused."""
    with workroom.writing() as session:
        row = _add_piece(row_of(session, pattern), piece)
        session.flush()
        return piece_of(row)


def get(workroom: Workroom, name: str) -> Pattern:
    """The pattern of that name. Raises Unknown, with close names."""
    with workroom.reading() as session:
        return pattern_of(row_of(session, name))


def every(workroom: Workroom) -> tuple[Pattern, ...]:
    """All patterns by name."""
    with workroom.reading() as session:
        return tuple(pattern_of(row) for row in session.scalars(select(PatternRow).order_by(PatternRow.key)))


def row_of(session: Session, name: str) -> PatternRow:
    """The row of the pattern of that name. Raises Unknown."""
    row = session.scalar(select(PatternRow).where(PatternRow.key == key_of(name)))
    if row is None:
        raise unknown("pattern", name, session.scalars(select(PatternRow.name)), listed="fent pattern list")
    return row


def piece_row_of(session: Session, pattern: str, name: str) -> PieceRow:
    """The row of a piece of a pattern. Raises Unknown."""
    pieces = row_of(session, pattern).pieces
    for row in pieces:
        if row.key == key_of(name):
            return row
    raise unknown(f"piece of {pattern}", name, [row.name for row in pieces], listed=f"fent pattern show {pattern}")


def pattern_of(row: PatternRow) -> Pattern:
    """The pattern that a row holds."""
    return Pattern(row.id, row.name, tuple(piece_of(piece) for piece in row.pieces), row.note)


def piece_of(row: PieceRow) -> Piece:
    """The pattern piece that a row holds."""
    return Piece(**_said(row), sewing_line=cast("Polygon", row.sewing_line), cut_line=cast("Polygon", row.cut_line))


def told_of(row: PieceRow) -> PieceTold:
    """The same without its lines, for which no geometry is loaded."""
    return PieceTold(**_said(row))


def _said(row: PieceRow) -> dict[str, Any]:
    return {
        "id": row.id,
        "pattern": row.pattern.name,
        "name": row.name,
        "allowances": tuple(row.allowances),
        "drawn": row.drawn,
        "one_way": row.one_way,
        "left_and_right": row.left_and_right,
        "hidden": row.hidden,
        "off_grain": row.off_grain,
    }


def _add_piece(pattern: PatternRow, piece: NewPiece) -> PieceRow:
    """Look a piece over, work out its other line, and put it into its pattern."""
    name = a_name(piece.name, "piece")
    if key_of(name) in {row.key for row in pattern.pieces}:
        raise Taken(f"{pattern.name} has a piece {name!r} already", where="piece", next="Choose another name")
    if not math.isfinite(piece.grain_angle):
        raise Refused(f"the grain angle is {piece.grain_angle}", where=name, expected="degrees, such as 90")
    ring, allowances = _on_grain(piece, name)
    sewing, cut = _lines(ring, allowances, Line(piece.drawn), name)
    row = PieceRow(
        name=name,
        key=key_of(name),
        sewing_line=sewing,
        cut_line=cut,
        allowances=list(allowances),
        drawn=Line(piece.drawn),
        grain_angle=float(piece.grain_angle),
        one_way=piece.one_way,
        left_and_right=piece.left_and_right,
        hidden=piece.hidden,
        off_grain=a_figure(piece.off_grain, f"{name}: off grain", unit="degrees", above=False, most=45),
    )
    pattern.pieces.append(row)
    return row


def _on_grain(piece: NewPiece, name: str) -> tuple[Ring, tuple[float, ...]]:
    """The drawn ring, counter-clockwise and turned onto its grain line, and an allowance for each of its sides.

    Points on a straight side are kept where a person put them, since an allowance may change there.
    """
    from shapely import LinearRing, Polygon, affinity

    from .outlines import NEAR, mended

    mended(piece.ring, name)
    ring = [(float(x), float(y)) for x, y in piece.ring]
    given = piece.allowance if isinstance(piece.allowance, tuple | list) else [piece.allowance] * len(ring)
    allowances = [a_figure(width, f"{name}: allowance", unit="mm", above=False, most=WIDEST_ALLOWANCE) for width in given]
    if ring[0] == ring[-1]:
        ring.pop()
        if not isinstance(piece.allowance, tuple | list):
            allowances.pop()
    if len(allowances) != len(ring):
        raise Refused(
            f"{len(allowances)} allowances are given for {len(ring)} sides",
            where=name,
            expected="one allowance for all, or one for each side in order",
        )
    kept = [i for i, point in enumerate(ring) if math.dist(point, ring[(i + 1) % len(ring)]) > NEAR]
    ring, allowances = [ring[i] for i in kept], [allowances[i] for i in kept]
    if not LinearRing(ring).is_ccw:
        # The side from p to q is, the other way round, the one from q to p: it goes with the point before.
        ring = ring[::-1]
        allowances = [*allowances[-2::-1], allowances[-1]]
    turned = affinity.rotate(Polygon(ring), -piece.grain_angle, origin=(0, 0))
    return tuple((float(x), float(y)) for x, y in turned.exterior.coords[:-1]), tuple(allowances)


def _lines(ring: Ring, allowances: tuple[float, ...], drawn: Line, name: str) -> tuple[Polygon, Polygon]:
    """The sewing line and the cut line of a piece of which one was drawn. Raises BadOutline where the other cannot be."""
    from shapely import Polygon

    from .allowances import grown, shrunk
    from .outlines import mended

    try:
        other = grown(ring, allowances) if drawn is Line.SEWING else shrunk(ring, allowances)
    except ValueError as fault:
        raise BadOutline(
            str(fault),
            where=name,
            expected="allowances that suit the piece",
            next="Look at the allowance's unit and the outline",
        ) from None
    # The drawn line keeps its points, straight ones too, since the allowances are counted by its sides.
    known, found = Polygon(ring), mended(other.exterior.coords, name)
    return (known, found) if drawn is Line.SEWING else (found, known)
