"""Shapes as text: OGC well-known text (Simple Features, OGC 06-103r4, clause 7), with every digit that the number has.

Each figure is written as the shortest text that reads back as the very same float, so that what is written and read again is
the same to the last bit. (shapely's own writer rounds.)
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

_KINDS = re.compile(r"\s*(POLYGON|LINESTRING|MULTIPOLYGON)\s*\((.*)\)\s*", re.DOTALL)
_POINT = re.compile(r"\s*(\S+)\s+(\S+)\s*")


def written(shape: BaseGeometry) -> str:
    """A polygon, line or multipolygon as text. Raises ValueError for anything else, and for an empty one.

    >>> written(LineString([(0, 0.1), (1e-9, 2)]))
    'LINESTRING (0.0 0.1, 1e-09 2.0)'
    """
    if not shape.is_empty:
        if isinstance(shape, Polygon):
            return f"POLYGON {_polygon(shape)}"
        if isinstance(shape, LineString):
            return f"LINESTRING {_points(shape.coords)}"
        if isinstance(shape, MultiPolygon):
            return f"MULTIPOLYGON ({', '.join(_polygon(part) for part in shape.geoms)})"
    raise ValueError(f"there is no text for {shape.geom_type}{' that is empty' if shape.is_empty else ''}")


def read(text: str) -> BaseGeometry:
    """The shape that a text says. Raises ValueError for one that says none.

    >>> read("POLYGON ((0 0, 1 0, 1 1, 0 0))").area
    0.5
    """
    said = _KINDS.fullmatch(text)
    if said is None:
        raise ValueError(f"{text!r:.60} is no polygon, line or multipolygon")
    kind, inside = said[1], said[2]
    if kind == "LINESTRING":
        return LineString(_read_points(inside))
    if kind == "POLYGON":
        return _read_polygon(inside)
    return MultiPolygon([_read_polygon(part) for part in _in_brackets(inside)])


def _polygon(shape: Polygon) -> str:
    return f"({', '.join(_points(ring.coords) for ring in (shape.exterior, *shape.interiors))})"


def _points(points: Iterable[Sequence[float]]) -> str:
    return f"({', '.join(f'{x!r} {y!r}' for x, y in points)})"


def _read_polygon(text: str) -> Polygon:
    rings = [_read_points(part) for part in _in_brackets(text)]
    if not rings:
        raise ValueError(f"{text!r:.60} has no ring")
    return Polygon(rings[0], rings[1:])


def _read_points(text: str) -> list[tuple[float, float]]:
    found = [_POINT.fullmatch(part) for part in text.split(",")]
    return [(float(point[1]), float(point[2])) for point in found if point is not None or _no_point(text)]  # type: ignore[index]


def _no_point(text: str) -> bool:
    raise ValueError(f"{text!r:.60} is no list of points")


def _in_brackets(text: str) -> list[str]:
    """What stands between brackets, one after the other, with commas between them."""
    parts, depth, start = [], 0, 0
    for place, sign in enumerate(text):
        if sign == "(":
            depth += 1
            start = place + 1 if depth == 1 else start
        elif sign == ")":
            depth -= 1
            if depth == 0:
                parts.append(text[start:place])
    if depth:
        raise ValueError(f"{text!r:.60} has a bracket that is not closed")
    return parts
