"""A pattern piece looked over and put into its pattern: its other line, its notches and joins, the half that was not drawn."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from shapely import LineString, Point, Polygon, affinity

from . import drafting, telling
from .allowances import grown, shrunk
from .edges import Drawn, Finish, drawn, unfolded
from .given import a_count, a_figure, a_name, key_of, unknown
from .outlines import mended
from .patterns import Anchor, Join, JoinZone, NewPiece, Notch, piece_of
from .piece_lines import a_join, cut_lines, edge_lines
from .refusals import BadOutline, Refused, Taken
from .tables import PatternRow, PieceRow
from .words import Grain, Line

MOST_OF_A_PIECE = 1000
MOST_MARKS = 3


def put_in(pattern: PatternRow, piece: NewPiece) -> PieceRow:
    """Look a piece over, work out its other line, and put it into its pattern. Raises Taken, BadOutline, Refused."""
    name = a_name(piece.name, "piece")
    if key_of(name) in {row.key for row in pattern.pieces}:
        raise Taken(f"{pattern.name} has a piece {name!r} already", where="piece", next="Choose another name")
    if not math.isfinite(piece.grain_angle):
        raise Refused(f"the grain angle is {piece.grain_angle}", where=name, expected="degrees, such as 90")
    whole = drawn(piece.ring, piece.allowance, piece.edges, piece.grain_angle, name)
    fold = None
    if piece.fold:
        whole, fold = unfolded(whole, piece.fold, name)
    sewing, cut = _lines(whole, Line(piece.drawn), name)
    edges = whole.in_order()
    row = PieceRow(
        name=name,
        key=key_of(name),
        sewing_line=sewing,
        cut_line=cut,
        allowances=list(whole.allowances),
        edges=[{"name": e.name, "start": e.start, "sides": e.sides, "finish": str(e.finish)} for e in edges],
        drawn=Line(piece.drawn),
        grain_angle=float(piece.grain_angle),
        one_way=piece.one_way,
        left_and_right=piece.left_and_right,
        hidden=piece.hidden,
        off_grain=a_figure(piece.off_grain, f"{name}: off grain", unit="degrees", above=False, most=45),
        count=a_count(piece.count, f"{name}: count", least=1, most=MOST_OF_A_PIECE),
        joins=[_kept_join(join, piece.grain_angle, sewing, name) for join in piece.joins],
        join_zones=[_kept_zone(zone, sewing, name) for zone in piece.join_zones],
        grain=Grain(piece.grain),
        front=_front(piece),
        fold=None if fold is None else [list(point) for point in fold],
        draft=None if piece.draft is None else drafting.to_json(piece.draft),
    )
    pattern.pieces.append(row)
    row.notches = [_kept_notch(notch, row, name) for notch in piece.notches]
    row.anchor = None if piece.anchor is None else _kept_anchor(piece.anchor, piece.grain_angle, row, name)
    if fold is not None:
        row.notches += [_other_half(notch, row, name) for notch in row.notches]
    return row


def _kept_notch(notch: Notch, row: PieceRow, where: str) -> dict[str, Any]:
    """A notch as it is kept. Raises Refused for one that lies on no edge."""
    lines = edge_lines(piece_of(row))
    found = next((name for name in lines if key_of(name) == key_of(notch.edge)), None)
    if found is None:
        raise unknown("edge", notch.edge, lines, listed=f"fent pattern show {row.pattern.name}")
    at = a_figure(notch.at, f"{where}: notch on {found}", unit="mm", above=False)
    if at > lines[found].length:
        raise Refused(
            f"a notch lies at {telling.fine(at)} of {found}, which is {telling.fine(round(lines[found].length, 1))} long",
            where=where,
            expected="a notch on its edge, measured along the sewing line",
        )
    return {"edge": found, "at": at, "marks": a_count(notch.marks, f"{where}: marks of a notch", least=1, most=MOST_MARKS)}


def _other_half(notch: Mapping[str, Any], row: PieceRow, where: str) -> dict[str, Any]:
    """A notch of the half that was drawn, on the other: as far from where the fold leaves it."""
    name = f"{notch['edge']}, other half"
    length = edge_lines(piece_of(row))[name].length
    return _kept_notch(Notch(name, length - notch["at"], notch["marks"]), row, where)


def _kept_join(join: Join, grain_angle: float, sewing: Polygon, where: str) -> dict[str, Any]:
    """A join as it is kept, on the grain. Raises Refused."""
    line = affinity.rotate(LineString(join.line), -grain_angle, origin=(0, 0))
    width = a_figure(join.allowance, f"{where}: allowance at the join", unit="mm", above=False, most=100)
    return {"line": [list(point) for point in a_join(line, sewing, where)], "allowance": width}


def _kept_zone(zone: JoinZone, sewing: Polygon, where: str) -> dict[str, Any]:
    """A band for a join as it is kept. Raises Refused for one that does not lie within the piece."""
    low_x, low_y, high_x, high_y = sewing.bounds
    size, way = (high_y - low_y, "along") if zone.along else (high_x - low_x, "across")
    low, high = (a_figure(value, f"{where}: join zone", unit="mm", above=False, most=size) for value in (zone.low, zone.high))
    if low > high:
        raise Refused(
            f"a join zone runs from {telling.fine(low)} to {telling.fine(high)}", where=where, expected="the lesser one first"
        )
    width = a_figure(zone.allowance, f"{where}: allowance at the join", unit="mm", above=False, most=100)
    probe = JoinZone(along=zone.along, low=low, high=high, allowance=width)
    if not any(True for _ in cut_lines(sewing, probe)):
        raise Refused(
            f"no seam {way} the grain between {telling.fine(low)} and {telling.fine(high)} cuts it in two",
            where=where,
            expected="a band across the piece, where a seam runs from rim to rim",
        )
    return {"along": zone.along, "low": low, "high": high, "allowance": width}


def _kept_anchor(anchor: Anchor, grain_angle: float, row: PieceRow, where: str) -> dict[str, Any]:
    """An anchor as it is kept, on the grain. Raises Unknown for an edge that is none, Refused for a place off the piece."""
    piece = piece_of(row)
    if anchor.edge:
        notch = _kept_notch(Notch(anchor.edge, anchor.along), row, where)
        at = edge_lines(piece)[notch["edge"]].interpolate(notch["at"])
        return {"at": [at.x, at.y], "edge": notch["edge"], "along": notch["at"], "between": anchor.between}
    low_x, low_y, high_x, high_y = piece.sewing_line.bounds
    at = Point((low_x + high_x) / 2, (low_y + high_y) / 2)
    if anchor.point is not None:
        at = affinity.rotate(Point(anchor.point), -grain_angle, origin=(0, 0))
        if not piece.cut_line.buffer(1.0).covers(at):
            raise Refused("its anchor lies off the piece", where=where, expected="a point of the piece, as it is drawn")
    return {"at": [at.x, at.y], "edge": "", "along": 0.0, "between": anchor.between}


def _front(piece: NewPiece) -> bool:
    """Whether it is looked at first. Raises Refused for a piece that is hidden."""
    if piece.front and piece.hidden:
        raise Refused(f"{piece.name} is both hidden and at the front", where=piece.name, expected="one of the two, or neither")
    return piece.front


def _lines(whole: Drawn, drawn_on: Line, name: str) -> tuple[Polygon, Polygon]:
    """The sewing line and the cut line of a piece of which one was drawn. Raises BadOutline where the other cannot be."""
    ring, widths = whole.ring, whole.allowances
    if drawn_on is Line.CUT and any(edge.finish is not Finish.MITRE for edge in whole.edges):
        raise Refused(
            "corners are joined on the cut line that was drawn",
            where=name,
            expected="a sewing line that is drawn, for allowances that end bluntly or are folded back",
        )
    try:
        other = grown(ring, widths, whole.joints()) if drawn_on is Line.SEWING else shrunk(ring, widths)
    except ValueError as fault:
        raise BadOutline(
            str(fault),
            where=name,
            expected="allowances that suit the piece",
            next="Look at the allowance's unit and the outline",
        ) from None
    # The drawn line keeps its points, straight ones too, since the allowances are counted by its sides.
    known, found = Polygon(ring), mended(other.exterior.coords, name)
    return (known, found) if drawn_on is Line.SEWING else (found, known)
