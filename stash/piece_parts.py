"""A piece made of two, at a line where a join is permitted: each part a piece of its own, with the join's allowance there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import LineString, Point

from nesting import Point as At

from .edges import Edge, NewEdge
from .outlines import NEAR
from .patterns import Join, NewPiece, Notch, Piece, Seam, add_piece, piece_of, piece_row_of
from .patterns import piece as piece_of_name
from .piece_lines import edge_lines
from .refusals import Refused
from .seams import sew
from .workroom import Workroom

JOIN = "join"


@dataclass(frozen=True, slots=True)
class _Side:
    """A side of a part: where it begins, and the edge that it is of; None for the join."""

    start: At
    edge: Edge | None


def in_two(workroom: Workroom, pattern: str, name: str, number: int = 1) -> tuple[Piece, Piece]:
    """Add the two parts of a piece to its pattern, cut apart at its join of that number and sewn together there.

    They are called after the piece, "…, part 1" and "…, part 2"; the piece itself stays. Raises Unknown, Taken; Refused for a
    piece without such a join.
    """
    with workroom.writing() as session:
        whole = piece_of_name(workroom, pattern, name)
        if not 1 <= number <= len(whole.joins):
            raise Refused(
                f"{whole.name} has {len(whole.joins)} joins, and none of number {number}",
                where=whole.name,
                expected="a join of the piece, counted from 1",
                next="Say where it may be made of two when it is drawn: --join",
            )
        join = whole.joins[number - 1]
        one, other = (add_piece(workroom, pattern, part) for part in _parts(whole, join))
        sew(workroom, pattern, Seam(f"{one.name}/{JOIN}", f"{other.name}/{JOIN}"))
        rows = [piece_row_of(session, pattern, part.name) for part in (one, other)]
        for row in rows:
            # The same point, be it on the other part: so a stripe runs on across the join.
            row.anchor = piece_row_of(session, pattern, whole.name).anchor
        session.flush()
        return piece_of(rows[0]), piece_of(rows[1])


def _parts(whole: Piece, join: Join) -> Iterator[NewPiece]:
    """The two parts, each drawn on its sewing line."""
    sides = _with_corner(_with_corner(_sides(whole), join.line[0]), join.line[1])
    first, last = (next(i for i, side in enumerate(sides) if _one(side.start, end)) for end in join.line)
    for number, (start, stop) in enumerate(((first, last), (last, first)), 1):
        run = _between(sides, start, stop)
        yield _part(whole, [*run, _Side(sides[stop].start, None)], join.allowance, f"{whole.name}, part {number}")


def _part(whole: Piece, sides: Sequence[_Side], allowance: float, name: str) -> NewPiece:
    edges: list[NewEdge] = []
    for i, side in enumerate(sides):
        if i and side.edge is sides[i - 1].edge:
            continue
        called = JOIN if side.edge is None else side.edge.name
        again = sum(edge.name.split(", again")[0] == called for edge in edges)
        width, finish = (allowance, None) if side.edge is None else (side.edge.allowance, side.edge.finish)
        named = called + ", again" * again
        edges.append(NewEdge(named, i, width) if finish is None else NewEdge(named, i, width, finish))
    ring = tuple(side.start for side in sides)
    return NewPiece(
        name=name,
        ring=ring,
        edges=tuple(edges),
        one_way=whole.one_way,
        left_and_right=whole.left_and_right,
        hidden=whole.hidden,
        off_grain=whole.off_grain,
        grain=whole.grain,
        front=whole.front,
        count=whole.count,
        notches=tuple(_notches(whole, ring, edges)),
    )


def _notches(whole: Piece, ring: Sequence[At], edges: Sequence[NewEdge]) -> Iterator[Notch]:
    """The notches of the whole that lie on a part's edges, measured from where those begin."""
    lines = edge_lines(whole)
    starts = [edge.start for edge in edges]
    for notch in whole.notches:
        point = lines[notch.edge].interpolate(notch.at)
        for edge, stop in zip(edges, [*starts[1:], len(ring)], strict=True):
            line = LineString([ring[i % len(ring)] for i in range(edge.start, stop + 1)])
            if edge.name.split(", again")[0] == notch.edge and line.distance(point) < NEAR:
                yield Notch(edge.name, float(line.project(point)), notch.marks)
                break


def _sides(whole: Piece) -> list[_Side]:
    """The sides of the sewing line in order, each with its edge."""
    lines = edge_lines(whole)
    found = []
    for edge in whole.edges:
        found += [_Side((x, y), edge) for x, y in list(lines[edge.name].coords)[:-1]]
    return found


def _with_corner(sides: list[_Side], at: At) -> list[_Side]:
    """The same, with a corner where the join meets the rim."""
    for i, side in enumerate(sides):
        if _one(side.start, at):
            return sides
        if LineString([side.start, sides[(i + 1) % len(sides)].start]).distance(Point(at)) < NEAR and not _one(
            sides[(i + 1) % len(sides)].start, at
        ):
            return [*sides[: i + 1], _Side(at, side.edge), *sides[i + 1 :]]
    raise AssertionError("a join runs from rim to rim")


def _between(sides: Sequence[_Side], start: int, stop: int) -> list[_Side]:
    return list(sides[start:stop]) if start < stop else [*sides[start:], *sides[:stop]]


def _one(a: At, b: At) -> bool:
    return abs(a[0] - b[0]) < NEAR and abs(a[1] - b[1]) < NEAR
