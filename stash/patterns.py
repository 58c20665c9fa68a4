"""Patterns and their pieces: sewing line, allowances, cut line, notches, and how a piece may lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from nesting import Point, Ring

from . import drafting
from .drafting import Draft, tapered
from .edges import Edge, Finish, NewEdge
from .given import a_name, key_of, unknown
from .refusals import Taken
from .tables import PatternRow, PieceRow
from .words import Grain, Line
from .workroom import Workroom

if TYPE_CHECKING:
    from shapely import Polygon


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch on an edge: `at` mm along its sewing line from where the edge begins; one mark, or two or three together."""

    edge: str
    at: float
    marks: int = 1


@dataclass(frozen=True, slots=True)
class Join:
    """A line at which a piece may be made of two, from rim to rim, and the allowance that either part then has there (mm)."""

    line: tuple[Point, Point]
    allowance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinZone:
    """A band of a piece in which it may be made of two: by a seam `along` the grain or across it, from `low` to `high` mm from
    the piece's near edge or its left end (on the sewing line, its grain from left to right), and the `allowance` that either
    part then has there (mm)."""

    along: bool
    low: float
    high: float
    allowance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """The point of a piece that lies on a bar of a stripe or check, or half a repeat beside one (`between`): a place on an
    `edge`, `along` mm from where it begins on the sewing line; or a `point`; or, of both none told, the middle of its centre
    line. Of a piece in the stash `point` is always known, on its grain."""

    edge: str = ""
    along: float = 0.0
    point: Point | None = None
    between: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiece:
    """A pattern piece as drawn (mm).

    `ring` is the `drawn` line; `allowance` one for all its edges, or one for each in order; the other line follows. `edges`:
    their names, and whatever sets one apart; each side is an edge unless given. `grain_angle`: degrees, counter-clockwise,
    from the drawing's x to the grain line. `fold`: the edge that lies on the fold, where half of the piece is drawn.
    `one_way`: may not be turned head to foot. `left_and_right`: it comes in two hands; as drawn it is the left, and the right
    is its mirror across the grain. `hidden`: not seen when worn.
    `off_grain`: how many degrees it may lie off the grain either way. `count`: how many of it the pattern takes.
    `joins`, `join_zones`: where it may be made of two. `draft`: the measures that it was drafted from, if it was. `grain`: how
    its grain line lies on the cloth. `front`: it is looked at first, and gets the best cloth. `anchor`: what of it lies on a
    bar of a stripe or check.
    """

    name: str
    ring: Ring
    allowance: float | tuple[float, ...] = 0.0
    drawn: Line = Line.SEWING
    edges: tuple[NewEdge, ...] = ()
    grain_angle: float = 0.0
    fold: str = ""
    one_way: bool = False
    left_and_right: bool = False
    hidden: bool = False
    off_grain: float = 0.0
    count: int = 1
    notches: tuple[Notch, ...] = ()
    joins: tuple[Join, ...] = ()
    join_zones: tuple[JoinZone, ...] = ()
    draft: Draft | None = None
    grain: Grain = Grain.WARP_WISE
    front: bool = False
    anchor: Anchor | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceTold:
    """What is said of a pattern piece in the stash, but for its lines: all that most who look at a job ask.

    `allowances` are those of the sides of the `drawn` line, `edges` the runs of them; `fold` is the line on which a half of it
    lies on the fold.
    """

    id: int
    pattern: str
    name: str
    allowances: tuple[float, ...]
    edges: tuple[Edge, ...]
    drawn: Line
    one_way: bool
    left_and_right: bool
    hidden: bool
    off_grain: float
    count: int
    notches: tuple[Notch, ...]
    joins: tuple[Join, ...]
    join_zones: tuple[JoinZone, ...]
    fold: tuple[Point, Point] | None
    draft: Draft | None
    grain: Grain
    front: bool
    anchor: Anchor | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(PieceTold):
    """A pattern piece in the stash, its grain line along +x."""

    sewing_line: Polygon
    cut_line: Polygon


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges that are sewn together, each as "piece/edge", and by how much longer the first is to be (mm): its ease.

    Side by side, the edges beside the seam run on from one piece to the other; `face_to_face`, as with a lining, they do not.
    """

    first: str
    second: str
    ease: float = 0.0
    face_to_face: bool = False


@dataclass(frozen=True, slots=True)
class Pattern:
    """A set of pieces, and what of them is sewn together."""

    id: int
    name: str
    pieces: tuple[Piece, ...]
    note: str = ""
    seams: tuple[Seam, ...] = ()


def drafted(draft: Draft, name: str, **said: Any) -> NewPiece:
    """The piece of a tapered panel, with the edges "right side", "narrow end", "left side" and "wide end"; `said` as of any
    new piece. Raises Refused."""
    found = drafting.panel(draft)
    widths = {"right side": draft.sides, "left side": draft.sides, "narrow end": draft.narrow_end, "wide end": draft.wide_end}
    edges = [NewEdge(edge.name, edge.start, widths[edge.name]) for edge in drafting.edges_of(found)]
    kept: dict[str, Any] = {"edges": tuple(edges), "draft": draft.looked_over(), "count": draft.count}
    if found.radii is None and draft.on is Line.CUT:
        # Straight ends are drawn on the line that was measured: a side's allowance would not reach round an end that has none.
        on_cut = drafting.panel(drafting.without_allowances(draft))
        return NewPiece(name=name, ring=drafting.ring_of(on_cut), drawn=Line.CUT, **(kept | said))
    return NewPiece(name=name, ring=drafting.ring_of(found), **(kept | said))


def add(workroom: Workroom, name: str, pieces: Sequence[NewPiece] = (), *, note: str = "") -> Pattern:
    """A new pattern with its pieces. Raises Taken, BadOutline, Refused."""
    from .piece_making import put_in

    name = a_name(name, "pattern")
    with workroom.writing() as session:
        if session.scalar(select(PatternRow.id).where(PatternRow.key == key_of(name))) is not None:
            raise Taken(
                f"there is a pattern {name!r} already", where="pattern", next="Add pieces to it, or choose another name"
            )
        row = PatternRow(name=name, key=key_of(name), note=note.strip(), added_at=workroom.now(), pieces=[])
        session.add(row)
        for piece in pieces:
            put_in(row, piece)
        session.flush()
        return pattern_of(row)


def add_piece(workroom: Workroom, pattern: str, piece: NewPiece) -> Piece:
    """One more piece of a pattern. Raises Unknown, Taken, BadOutline, Refused."""
    from .piece_making import put_in

    with workroom.writing() as session:
        row = put_in(row_of(session, pattern), piece)
        session.flush()
        return piece_of(row)


def get(workroom: Workroom, name: str) -> Pattern:
    """The pattern of that name. Raises Unknown, with close names."""
    with workroom.reading() as session:
        return pattern_of(row_of(session, name))


def piece(workroom: Workroom, pattern: str, name: str) -> Piece:
    """One piece of a pattern. Raises Unknown, with close names."""
    with workroom.reading() as session:
        return piece_of(piece_row_of(session, pattern, name))


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
    seams = tuple(Seam(kept["first"], kept["second"], kept["ease"], kept["face_to_face"]) for kept in row.seams or [])
    return Pattern(row.id, row.name, tuple(piece_of(piece) for piece in row.pieces), row.note, seams)


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
        "edges": tuple(_edge(kept, row.allowances) for kept in row.edges or _plain_edges(len(row.allowances))),
        "drawn": row.drawn,
        "one_way": row.one_way,
        "left_and_right": row.left_and_right,
        "hidden": row.hidden,
        "off_grain": row.off_grain,
        "count": row.count,
        "notches": tuple(Notch(kept["edge"], kept["at"], kept["marks"]) for kept in row.notches or []),
        "joins": tuple(Join(_line(kept["line"]), kept["allowance"]) for kept in row.joins or []),
        "join_zones": tuple(JoinZone(**kept) for kept in row.join_zones or []),
        "grain": row.grain,
        "front": row.front,
        "anchor": _anchor(row.anchor) if row.anchor else None,
        "fold": _line(row.fold) if row.fold else None,
        "draft": drafting.from_json(row.draft) if row.draft else None,
    }


def _anchor(kept: Mapping[str, Any]) -> Anchor:
    x, y = kept["at"]
    return Anchor(edge=kept["edge"], along=kept["along"], point=(x, y), between=kept["between"])


def _edge(kept: Mapping[str, Any], allowances: Sequence[float]) -> Edge:
    return Edge(kept["name"], kept["start"], kept["sides"], allowances[kept["start"]], Finish(kept["finish"]))


def _plain_edges(count: int) -> list[dict[str, Any]]:
    """The edges of a piece drawn before edges had names: each side is one."""
    return [{"name": f"side {i + 1}", "start": i, "sides": 1, "finish": "mitre"} for i in range(count)]


def _line(kept: Sequence[Sequence[float]]) -> tuple[Point, Point]:
    (a, b), (c, d) = kept
    return ((a, b), (c, d))


__all__ = [
    "Anchor",
    "Draft",
    "Edge",
    "Finish",
    "Join",
    "JoinZone",
    "NewEdge",
    "NewPiece",
    "Notch",
    "Pattern",
    "Piece",
    "PieceTold",
    "Seam",
    "add",
    "add_piece",
    "drafted",
    "every",
    "get",
    "pattern_of",
    "piece",
    "piece_of",
    "piece_row_of",
    "row_of",
    "tapered",
    "told_of",
]
