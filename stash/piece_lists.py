"""Many pattern pieces at once, from a table (CSV, JSON Lines): all of them or none; and pieces written as one.

How a table is read is in `table_rows`; here is what a row says. Every fault is found and told by row and column.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from nesting import Point, Ring

from .drawn_pieces import DrawnPiece, pattern_row, put
from .edges import Finish, NewEdge
from .given import a_name
from .outlines import mended
from .patterns import Join, NewPiece, Notch, Piece
from .refusals import Refused
from .table_rows import Columns, Row, RowFault, a_ring, a_yes, one_of, rows_of
from .words import Line
from .workroom import Workroom

COLUMNS = (
    *("pattern", "piece", "corners", "drawn", "allowance", "edges", "fold", "grain angle", "notches", "joins"),
    *("one way", "left and right", "hidden", "off grain", "count", "cut line"),
)
"""pattern, piece and corners must be there. drawn: which line the corners are on, sewing (unless said) or cut. allowance: one
for all edges, for each with ; between, or some by name. edges: their names in order, with ; between. fold: the edge that lies
on it, where half is drawn. grain angle, off grain: degrees. notches and joins: as they are typed, with | between. one way,
left and right, hidden: yes or no. cut line: its corners, where the sewing line is drawn and it is drawn too. In JSON Lines
corners, edges, notches and joins are also lists."""
MUST_BE = ("pattern", "piece", "corners")
CALLED = {
    "allowance": "width of an allowance",
    "grain angle": "angle",
    "off grain": "angle",
    "count": "whole number",
    **{name: f"list of {name}" for name in ("corners", "edges", "notches", "joins")},
}
TABLE = Columns(COLUMNS, MUST_BE, CALLED)
COLUMN_OF = {"edge": "notches", "pattern": "pattern", "piece": "piece"}


@dataclass(frozen=True, slots=True)
class Reading:
    """How a cell's words are read: corners (mm), the allowance of each edge by their names (mm), a notch, a join. They raise
    ValueError (Refused is one) for what is none."""

    corners: Callable[[str], Ring]
    allowances: Callable[[str, Sequence[str]], tuple[float, ...]]
    notch: Callable[[str], Notch]
    join: Callable[[str], Join]


@dataclass(frozen=True, slots=True)
class BroughtPieces:
    """What came of it: the pieces that were put in, each as "pattern/piece"; or else all the faults, and nothing was kept."""

    pieces: tuple[str, ...]
    faults: tuple[RowFault, ...]


class _NotKept(Exception):  # noqa: N818 - only to end a transaction
    """Ends a transaction of which nothing is kept."""


def add(workroom: Workroom, text: str, reading: Reading) -> BroughtPieces:
    """Put all pieces that a table says into their patterns, in one transaction; a pattern of a new name is made. Faults come
    back as values, by row; then nothing was kept."""
    rows, faults = rows_of(text, TABLE)
    kept: list[str] = []
    if not faults:
        with suppress(_NotKept), workroom.writing() as session:
            for row in rows:
                into = row.read("pattern", lambda text: a_name(text, "pattern"), "", needed="the name of a pattern")
                told = _piece(row, reading)
                if told is not None and not row.faults:
                    try:
                        put(pattern_row(workroom, session, into), told)
                        session.flush()
                    except Refused as refusal:
                        row.fault(refusal, COLUMN_OF)
                    else:
                        kept.append(f"{into}/{told.piece.name}")
                faults += row.faults
            if faults:
                raise _NotKept
    return BroughtPieces((), tuple(faults)) if faults else BroughtPieces(tuple(kept), ())


def _piece(row: Row, reading: Reading) -> DrawnPiece | None:
    """The piece that a row tells, or None where something in it is none."""
    name = row.read("piece", lambda text: a_name(text, "piece"), "", needed="the name of the piece")
    none: Ring = ()
    ring = row.take("corners", lambda cell: a_ring(cell, reading.corners), none, needed="its corners, in order")
    edges = row.take(
        "edges", lambda cell: _edges(cell, len(ring)), tuple(NewEdge(f"side {i + 1}", i) for i in range(len(ring)))
    )
    widths = row.read("allowance", lambda text: reading.allowances(text, [edge.name for edge in edges]), None)
    drawn = row.read("drawn", lambda text: one_of(Line, text), Line.SEWING)
    cut_line = row.take("cut line", lambda cell: mended(a_ring(cell, reading.corners), "cut line"), None)
    if cut_line is not None and drawn is Line.CUT:
        row.faults.append(RowFault(row.number, "cut line", "the corners are on the cut line already", "an empty cell"))
    notches: tuple[Notch, ...] = ()
    joins: tuple[Join, ...] = ()
    said: dict[str, Any] = {
        "fold": row.words("fold"),
        "grain_angle": row.read("grain angle", float, 0.0),
        "off_grain": row.read("off grain", float, 0.0),
        "count": row.read("count", int, 1),
        "one_way": row.read("one way", a_yes, False),
        "left_and_right": row.read("left and right", a_yes, False),
        "hidden": row.read("hidden", a_yes, False),
        "notches": row.take("notches", lambda cell: _notches(cell, reading), notches),
        "joins": row.take("joins", lambda cell: _joins(cell, reading), joins),
    }
    if row.faults:
        return None
    if widths is not None:
        edges = tuple(NewEdge(edge.name, edge.start, width, edge.finish) for edge, width in zip(edges, widths, strict=True))
    return DrawnPiece(NewPiece(name=name, ring=ring, drawn=drawn, edges=edges, **said), cut_line)


def _edges(cell: Any, corners: int) -> tuple[NewEdge, ...]:
    """Names for all sides in order, with ; between; or a list of edges, each with the corner that it starts from."""
    if isinstance(cell, str):
        names = [part.strip() for part in cell.split(";")]
        if len(names) != corners:
            raise Refused(f"{len(names)} names for {corners} sides", expected="a name for each, with ; between")
        return tuple(NewEdge(name, number) for number, name in enumerate(names))
    return tuple(
        NewEdge(str(each["name"]), _whole(each["start"]), _width(each), one_of(Finish, str(each.get("finish", "mitre"))))
        for each in cell
    )


def _width(edge: Any) -> float | None:
    width = edge.get("allowance")
    return None if width is None else float(width)


def _whole(figure: Any) -> int:
    if isinstance(figure, bool) or not isinstance(figure, int):
        raise ValueError(figure)
    return figure


def _notches(cell: Any, reading: Reading) -> tuple[Notch, ...]:
    if isinstance(cell, str):
        return tuple(reading.notch(part.strip()) for part in cell.split("|") if part.strip())
    return tuple(Notch(str(each["edge"]), float(each["at"]), _whole(each.get("marks", 1))) for each in cell)


def _joins(cell: Any, reading: Reading) -> tuple[Join, ...]:
    if isinstance(cell, str):
        return tuple(reading.join(part.strip()) for part in cell.split("|") if part.strip())
    found = []
    for each in cell:
        ends = a_ring(each["line"], reading.corners)
        if len(ends) != 2:
            raise ValueError(each)
        found.append(Join((ends[0], ends[1]), float(each["allowance"])))
    return tuple(found)


def written(pieces: Sequence[Piece]) -> str:
    """Pieces as JSON Lines that `add` reads: grain along x, in mm, to the last digit. One that was drawn as a half is whole;
    what has no column here (a draft, a stripe's anchor) stays behind."""
    return "".join(json.dumps(_told(piece), ensure_ascii=False) + "\n" for piece in pieces)


def _told(piece: Piece) -> dict[str, Any]:
    """A piece as a row, its empty cells left out."""
    drawn = piece.sewing_line if piece.drawn is Line.SEWING else piece.cut_line
    told: dict[str, Any] = {
        "pattern": piece.pattern,
        "piece": piece.name,
        "drawn": str(piece.drawn),
        "corners": _pairs(drawn.exterior.coords[:-1]),
        "edges": [
            {"name": edge.name, "start": edge.start, "allowance": edge.allowance, "finish": str(edge.finish)}
            for edge in piece.edges
        ],
        "cut line": _pairs(piece.cut_line.exterior.coords[:-1]) if piece.drawn is Line.SEWING else [],
        "notches": [{"edge": notch.edge, "at": notch.at, "marks": notch.marks} for notch in piece.notches],
        "joins": [{"line": _pairs(join.line), "allowance": join.allowance} for join in piece.joins],
        "one way": "yes" if piece.one_way else "",
        "left and right": "yes" if piece.left_and_right else "",
        "hidden": "yes" if piece.hidden else "",
        "off grain": piece.off_grain or "",
        "count": piece.count if piece.count > 1 else "",
    }
    return {name: value for name, value in told.items() if value not in ("", [])}


def _pairs(points: Sequence[Sequence[float]] | tuple[Point, Point]) -> list[list[float]]:
    return [[float(point[0]), float(point[1])] for point in points]
