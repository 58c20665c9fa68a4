"""Marks: the points of an outline that a person finds again at once and can name by a letter.

These are its corners: where the rim turns, seen a little way to either side, so that a rounded corner is one and an arc of
many short sides is none. An outline with less than two has the ends of its longest chord, and of the chord across that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .forms import Point

if TYPE_CHECKING:
    from shapely import Polygon

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""I and O are left out, which chalk cannot tell from 1 and 0."""
REACH = 8.0
"""mm to either side over which the turn of a rim is looked at: less than the shortest side of a piece that is sewn."""
TURNS = 25.0
"""Degrees that a rim turns at a corner which is seen as one at arm's length."""
APART = 15.0
"""mm between two marks, at least: nearer ones are taken for each other."""
STRAIGHT = 1.0
"""mm that the rim may bow between two corners and still take a rule."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of an outline and its letter; how far the rim turns there, degrees (0 where it is no corner)."""

    letter: str
    at: Point
    turn: float


def marks_of(outline: Polygon, *, small: bool = False) -> tuple[Mark, ...]:
    """The marks of an outline, lettered along it counter-clockwise from its lower left: in capitals, or in `small` letters.

    >>> from shapely import box
    >>> [(mark.letter, mark.at) for mark in marks_of(box(0, 0, 300, 200))]
    [('A', (0.0, 0.0)), ('B', (300.0, 0.0)), ('C', (300.0, 200.0)), ('D', (0.0, 200.0))]
    """
    from shapely.geometry.polygon import orient

    rim = orient(outline).exterior
    found = _corners(rim)
    if len(found) < 2:
        found += [(point, 0.0) for point in _chord_ends(outline) if all(_far(point, other) for other, _ in found)]
    low = outline.bounds[0] + outline.bounds[1]
    first = min(range(len(found)), key=lambda n: (round(found[n][0][0] + found[n][0][1] - low, 3), n))
    ordered = sorted(found, key=lambda each: _along(rim, each[0]))
    start = ordered.index(found[first])
    letters = LETTERS.lower() if small else LETTERS
    return tuple(
        Mark(letter, point, turn)
        for letter, (point, turn) in zip(letters, ordered[start:] + ordered[:start], strict=False)  # 24 are enough
    )


def straight_sides(outline: Polygon, marks: tuple[Mark, ...]) -> list[tuple[int, int]]:
    """The sides that take a rule: from which mark to which (their numbers), counter-clockwise."""
    import numpy as np
    from shapely import LineString
    from shapely.geometry.polygon import orient
    from shapely.ops import substring

    rim = orient(outline).exterior
    line = LineString(rim.coords)
    sides = []
    for n, mark in enumerate(marks):
        other = marks[(n + 1) % len(marks)]
        start, end = _along(rim, mark.at), _along(rim, other.at)
        run = list(substring(line, start, line.length).coords) if end <= start else []
        run += list(substring(line, 0.0 if end <= start else start, end).coords)
        if np.hypot(*np.subtract(mark.at, other.at)) < 1e-9:
            continue
        chord = LineString([mark.at, other.at])
        if chord.hausdorff_distance(LineString(run)) <= STRAIGHT:
            sides.append((n, (n + 1) % len(marks)))
    return sides


def _corners(rim: object) -> list[tuple[Point, float]]:
    """Corners and their turns, those that turn most first where two would be too near."""
    import numpy as np
    import shapely

    places = np.asarray(rim.coords)[:-1]  # type: ignore[attr-defined]
    length = rim.length  # type: ignore[attr-defined]
    reach = min(REACH, length / 12)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(np.vstack([places, places[:1]]), axis=0).T))])[:-1]
    before, after = (
        shapely.get_coordinates(shapely.line_interpolate_point(rim, (along + s * reach) % length)) for s in (-1, 1)
    )
    into, out = places - before, after - places
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    turns = np.degrees(np.abs(np.arctan2(cross, (into * out).sum(axis=1))))
    found: list[tuple[Point, float]] = []
    for n in sorted(range(len(places)), key=lambda n: (-round(float(turns[n]), 3), n)):
        point = float(places[n, 0]), float(places[n, 1])
        if turns[n] >= TURNS and all(_far(point, other, min(APART, length / 8)) for other, _ in found):
            found.append((point, float(turns[n])))
    return found[: len(LETTERS)]


def _chord_ends(outline: Polygon) -> list[Point]:
    """The ends of the longest chord between points of the rim, and of the longest one square to it through its middle."""
    import numpy as np
    from shapely import LineString

    places = np.asarray(outline.convex_hull.exterior.coords)[:-1]
    between = np.hypot(*(places[:, None] - places[None]).T)
    one, other = np.unravel_index(int(np.argmax(between)), between.shape)
    a, b = places[one], places[other]
    middle, along = (a + b) / 2, (b - a) / 2
    square = np.array([-along[1], along[0]])
    across = LineString([middle - 2 * square, middle + 2 * square]).intersection(outline.exterior)
    points = [np.asarray(point.coords[0]) for point in getattr(across, "geoms", [across]) if point.geom_type == "Point"]
    points.sort(key=lambda point: float((point - middle) @ square))
    return [(float(x), float(y)) for x, y in [a, b, *(points[:1] + points[-1:] if len(points) > 1 else [])]]


def _far(one: Point, other: Point, apart: float = 1.0) -> bool:
    return (one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2 >= apart**2


def _along(rim: object, point: Point) -> float:
    from shapely import Point as Place

    return float(rim.project(Place(point)))  # type: ignore[attr-defined]
