"""Pattern pieces out of a drawing: either line or both, the grain, notches, and the half that lies on the fold.

Where both lines are drawn both are kept as they are; each edge's allowance is measured between them. Where one is drawn, the
other follows from the allowance that is told, as with any piece.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import LinearRing, LineString, Polygon, affinity
from shapely import Point as Place
from sqlalchemy.orm import Session

from nesting import Point, Ring, mend_ring, ring_of

from .drawings import Layer
from .drawn_shapes import Body, bodies, grain_of, longest_stretch
from .edges import WIDEST_ALLOWANCE, NewEdge
from .found_lines import FoundDrawing, FoundLine
from .outlines import NEAR, mended
from .patterns import NewPiece, Notch, Piece, piece_of, row_of
from .piece_lines import MARKS_APART, edge_lines
from .piece_making import put_in
from .refusals import Refused, Unknown
from .tables import PatternRow, PieceRow
from .words import Line
from .workroom import Workroom

CORNER = 20.0
"""Degrees that a line turns by at a corner, where one edge ends and the next begins; a curve made straight turns by less."""
OTHER_WIDTH = 1.0
"""mm by which an allowance changes where one edge ends and the next begins, though they make no corner."""
SAME_MARK = 0.6
"""mm along the sewing line within which two marks of a notch are one, drawn as a line and as a point."""
FOLD_WITHIN = 2.0
"""Degrees between a fold line and the side that it means."""
FOLD_OFF = 40.0
"""mm that a fold line may lie off that side: it is drawn on it, or as a bracket beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HowDrawn:
    """What a person says of pieces that a drawing does not say. `allowance` (mm): where one line alone is drawn.
    `grain_angle`: where no grain line is, None to have that refused. `names`: from left to right. The rest as of any piece."""

    allowance: float = 0.0
    grain_angle: float | None = None
    names: tuple[str, ...] = ()
    one_way: bool = False
    left_and_right: bool = False
    hidden: bool = False
    off_grain: float = 0.0
    count: int = 1


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    """A piece as it was drawn; its `cut_line` too, where both were. `left_out`: what of it has no place in a piece."""

    piece: NewPiece
    cut_line: Polygon | None = None
    left_out: tuple[str, ...] = ()


def pieces(found: FoundDrawing, lines: Sequence[FoundLine], how: HowDrawn) -> tuple[DrawnPiece, ...]:
    """The pieces in a drawing whose lines are known (`line_roles.sort_out`), from left to right.

    Raises Refused, BadOutline.
    """
    kinds = [Layer.CUT] if any(line.said is Layer.CUT for line in lines) else [Layer.SEWING]
    if not any(line.said in kinds for line in lines):
        kinds = [Layer.CUT, Layer.SEWING]  # to say that it has neither
    return tuple(_piece(body, found, how) for body in bodies(found, lines, kinds, how.names))


def keep(workroom: Workroom, pattern: str, drawn: Sequence[DrawnPiece]) -> tuple[Piece, ...]:
    """Put them into a pattern, which is made if there is none of that name: all or none. Raises Taken, Refused, BadOutline."""
    with workroom.writing() as session:
        row = pattern_row(workroom, session, pattern)
        kept = [put(row, each) for each in drawn]
        session.flush()
        return tuple(piece_of(each) for each in kept)


def pattern_row(workroom: Workroom, session: Session, name: str) -> PatternRow:
    """The row of a pattern, which is made if there is none of that name. Raises Refused for what is no name."""
    from . import patterns

    try:
        return row_of(session, name)
    except Unknown:
        patterns.add(workroom, name)
        return row_of(session, name)


def put(pattern: PatternRow, drawn: DrawnPiece) -> PieceRow:
    """A piece put into its pattern, with both its lines as they were drawn."""
    row = put_in(pattern, drawn.piece)
    if drawn.cut_line is not None:
        cut = affinity.rotate(drawn.cut_line, -drawn.piece.grain_angle, origin=(0, 0))
        if row.fold:
            cut = _whole(cut, row.fold, drawn.piece.name)
        row.cut_line = cut
    return row


def _whole(half: Polygon, fold: Sequence[Sequence[float]], where: str) -> Polygon:
    """A half and its mirror at the fold's line, as one. Raises Refused where they do not meet along it."""
    whole = shapely.union_all([half, mirrored(half, fold[0], fold[1])], grid_size=1e-6)
    if not isinstance(whole, Polygon) or whole.interiors:
        raise Refused(
            "its cut line does not meet the fold",
            where=where,
            expected="a cut line that ends on the fold, without allowance there",
        )
    return mend_ring(whole.exterior.coords)


def mirrored(shape: Polygon, first: Sequence[float], last: Sequence[float]) -> Polygon:
    """A shape mirrored at the line through two points."""
    dx, dy = last[0] - first[0], last[1] - first[1]
    square = dx * dx + dy * dy
    a, b = (dx * dx - dy * dy) / square, 2 * dx * dy / square
    x, y = first[0], first[1]
    return affinity.affine_transform(shape, [a, b, b, -a, x - a * x - b * y, y - b * x + a * y])


def _piece(body: Body, found: FoundDrawing, how: HowDrawn) -> DrawnPiece:
    facts = found.facts.get(body.line.group, {})
    sewing, cut = _both_lines(body)
    fold = _fold_line(body, sewing or cut)
    if fold is not None:  # points on the side that lies on the fold are no corners of it
        sewing, cut = (None if each is None else mend_ring(each.exterior.coords, within=0.05) for each in (sewing, cut))
    ring = ring_of(sewing or cut)
    if sewing is not None and cut is not None and fold is None:
        ring = _with_changes(ring, body.of(Layer.SEWING)[0].points, cut, body.name)
    on_fold = None if fold is None else _side_on_fold(ring, fold, body.name)
    widths = [how.allowance] * len(ring) if sewing is None or cut is None else _measured(ring, cut, on_fold, body.name)
    edges = _edges(ring, widths, on_fold)
    piece = NewPiece(
        name=body.name,
        ring=ring,
        drawn=Line.CUT if sewing is None else Line.SEWING,
        edges=edges,
        fold="" if on_fold is None else next(edge.name for edge in edges if edge.start == on_fold),
        grain_angle=_grain(body, how, arrow=body.line.group != ""),
        one_way=how.one_way or facts.get("one-way") == "yes",
        left_and_right=how.left_and_right or facts.get("left-and-right") == "yes",
        hidden=how.hidden or facts.get("hidden") == "yes",
        off_grain=how.off_grain or _figure(facts, "off-grain", 0.0),
        count=int(_figure(facts, "count", how.count)),
    )
    drawn = DrawnPiece(piece, cut if sewing is not None else None, _left_out(body))
    return replace(drawn, piece=replace(piece, notches=_notches(drawn, body)))


def _figure(facts: Mapping[str, str], name: str, otherwise: float) -> float:
    """A figure that the file gives, or `otherwise` where it gives none that could be meant."""
    try:
        told = float(facts.get(name, otherwise))
    except ValueError:
        return otherwise
    return told if 0 <= told <= 1000 else otherwise


def _both_lines(body: Body) -> tuple[Polygon | None, Polygon | None]:
    """The sewing line and the cut line, None for one that is not drawn."""
    if body.line.said is Layer.SEWING:
        return body.shape, None
    sewn = body.of(Layer.SEWING)
    if not sewn:
        return None, body.shape
    if len(sewn) > 1 or not sewn[0].closed:
        what = f"it has {len(sewn)} sewing lines" if len(sewn) > 1 else "its sewing line is open"
        raise Refused(what, where=body.name, expected="one closed sewing line within the cut line, or none")
    inner = mended(sewn[0].points, f"{body.name}: sewing line")
    if not body.shape.buffer(0.05).covers(inner):
        raise Refused(
            "its sewing line runs outside its cut line", where=body.name, expected="a sewing line within the cut line"
        )
    return inner, body.shape


def _grain(body: Body, how: HowDrawn, *, arrow: bool) -> float:
    angle = grain_of(body, arrow=arrow)
    if angle is None:
        angle = how.grain_angle
    if angle is None:
        raise Refused(
            "no grain line is drawn",
            where=body.name,
            expected="a grain line, or its angle",
            next="Say which lines it is, or the angle with --grain-angle (0 is the drawing's left to right, 90 upwards)",
        )
    return angle


def _measured(ring: Sequence[Point], cut: Polygon, on_fold: int | None, where: str) -> list[float]:
    """How wide the allowance is at the middle of each side of the sewing line: straight out to the cut line."""
    widths = []
    for number, start in enumerate(ring):
        end = ring[(number + 1) % len(ring)]
        long = math.dist(start, end)
        out = ((end[1] - start[1]) / long, (start[0] - end[0]) / long)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        ray = LineString([middle, (middle[0] + WIDEST_ALLOWANCE * out[0], middle[1] + WIDEST_ALLOWANCE * out[1])])
        met = ray.intersection(cut.exterior)
        width = cut.exterior.distance(Place(middle)) if met.is_empty else float(met.distance(Place(middle)))
        if width > WIDEST_ALLOWANCE:
            raise Refused("its cut line lies too far out", where=where, expected="an allowance beside each sewing line")
        widths.append(0.0 if number == on_fold else width)
    return widths


def _with_changes(corners: Ring, points: Ring, cut: Polygon, where: str) -> Ring:
    """The corners of a sewing line, and those points on its straight sides at which the allowance changes."""
    points = tuple(point for i, point in enumerate(points) if math.dist(point, points[i - 1]) > NEAR)
    points = points if LinearRing(points).is_ccw else points[::-1]
    widths, kept = _measured(points, cut, None, where), set(corners)
    return tuple(point for i, point in enumerate(points) if point in kept or abs(widths[i] - widths[i - 1]) > OTHER_WIDTH)


def _edges(ring: Sequence[Point], widths: Sequence[float], on_fold: int | None) -> tuple[NewEdge, ...]:
    """The edges between the corners, each with the middling allowance of its sides, to a thousandth of a millimetre."""
    count = len(ring)
    starts = [
        i
        for i in range(count)
        if _turn(ring[i - 1], ring[i], ring[(i + 1) % count]) >= CORNER
        or abs(widths[i] - widths[i - 1]) > OTHER_WIDTH
        or on_fold in (i, (i - 1) % count)
    ] or [0]
    edges = []
    for number, start in enumerate(starts):
        stop = starts[(number + 1) % len(starts)]
        sides = [(start + step) % count for step in range((stop - start - 1) % count + 1)]
        edges.append(NewEdge(f"side {number + 1}", start, round(_middling(sides, ring, widths), 3)))
    return tuple(edges)


def _middling(sides: Sequence[int], ring: Sequence[Point], widths: Sequence[float]) -> float:
    """The allowance that half of an edge's length has, or more: the many short sides of a bend count by their length."""
    found = [(widths[side], math.dist(ring[side], ring[(side + 1) % len(ring)])) for side in sides]
    half, along = sum(long for _, long in found) / 2, 0.0
    for width, long in sorted(found):
        along += long
        if along >= half:
            return width
    return widths[sides[0]]


def _turn(before: Point, at: Point, after: Point) -> float:
    """How far a line turns at a point, degrees."""
    one, two = (at[0] - before[0], at[1] - before[1]), (after[0] - at[0], after[1] - at[1])
    return abs(math.degrees(math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])))


def _fold_line(body: Body, shape: Polygon | None) -> tuple[Point, Point] | None:
    """The fold that half of a piece lies on; None where none is drawn, or the piece is whole with the fold down its middle."""
    lines = [line for line in body.of(Layer.FOLD) if len(line.points) > 1]
    if not lines or shape is None:
        return None
    first, last = max((longest_stretch(line.points) for line in lines), key=lambda ends: math.dist(*ends))
    if math.dist(first, last) < 1.0:
        raise Refused("its fold line is one point", where=body.name, expected="a line along the fold")
    other = mirrored(shape, first, last)
    return None if shape.symmetric_difference(other).area < 0.002 * shape.area else (first, last)


def _side_on_fold(ring: Sequence[Point], fold: tuple[Point, Point], where: str) -> int:
    """The side of a ring that a fold line means. Raises Refused where none runs along it."""
    middle = Place((fold[0][0] + fold[1][0]) / 2, (fold[0][1] + fold[1][1]) / 2)
    likely = []
    for number, start in enumerate(ring):
        end = ring[(number + 1) % len(ring)]
        askew = _turn((0, 0), (end[0] - start[0], end[1] - start[1]), _added((end[0] - start[0], end[1] - start[1]), fold))
        if min(askew, 180 - askew) <= FOLD_WITHIN and math.dist(start, end) >= 0.3 * math.dist(*fold):
            likely.append((LineString([start, end]).distance(middle), number))
    if not likely or min(likely)[0] > FOLD_OFF:
        raise Refused(
            "no straight side of it runs along its fold line",
            where=where,
            expected="a half whose straight side lies on the fold",
            next="Draw the fold line on that side, or leave the fold out if the piece is whole",
        )
    return min(likely)[1]


def _added(at: Point, line: tuple[Point, Point]) -> Point:
    return (at[0] + line[1][0] - line[0][0], at[1] + line[1][1] - line[0][1])


def _notches(drawn: DrawnPiece, body: Body) -> tuple[Notch, ...]:
    """The notches of a piece, where they lie along its edges; marks near each other are one notch."""
    marks = body.of(Layer.NOTCH)
    if not marks:
        return ()
    trial = piece_of(put(PatternRow(name="", key="", pieces=[]), drawn))
    found = edge_lines(trial)
    # The edge that lies on the fold is no edge of the whole, and the other half's notches follow those of this one.
    lines = {edge.name: found[edge.name] for edge in drawn.piece.edges if edge.name in found and not found[edge.name].is_empty}
    along: dict[str, list[float]] = {}
    for mark in marks:
        at = _foot(mark, -drawn.piece.grain_angle, trial)
        edge = min(lines, key=lambda name: float(lines[name].distance(at)))
        along.setdefault(edge, []).append(float(lines[edge].project(at)))
    return tuple(Notch(edge, *each) for edge, found in along.items() for each in _together(found))


def _foot(mark: FoundLine, turn: float, piece: Piece) -> Place:
    """Where a mark stands, on the grain: the end of it that is nearer to the sewing line; the middle of a V or a slot."""
    ends = [affinity.rotate(Place(point), turn, origin=(0, 0)) for point in mark.points]
    if len(ends) == 2 and not mark.closed:
        return min(ends, key=lambda end: float(piece.sewing_line.exterior.distance(end)))
    return Place(sum(end.x for end in ends) / len(ends), sum(end.y for end in ends) / len(ends))


def _together(along: list[float]) -> list[tuple[float, int]]:
    """Places along an edge as notches: (at, marks)."""
    marks: list[float] = []
    for at in sorted(along):
        if not marks or at - marks[-1] > SAME_MARK:
            marks.append(at)
    notches: list[list[float]] = []
    for at in marks:
        if notches and at - notches[-1][-1] < 1.75 * MARKS_APART and len(notches[-1]) < 3:
            notches[-1].append(at)
        else:
            notches.append([at])
    return [(sum(each) / len(each), len(each)) for each in notches]


def _left_out(body: Body) -> tuple[str, ...]:
    """What a piece of Fent's has no place for."""
    kept = (Layer.SEWING, Layer.GRAIN, Layer.NOTCH, Layer.FOLD)
    counts: dict[str, int] = {}
    for line in body.on_it:
        if line.said not in kept:
            counts[str(line.said)] = counts.get(str(line.said), 0) + 1
    if body.within:
        counts["cut line inside it"] = len(body.within)
    return tuple(f"{n} {what}{'s' if n > 1 else ''}" for what, n in counts.items())
