"""Which lines of a drawing belong together: the bodies in it (the outlines of pieces or remnants), and what lies on each."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from shapely import MultiPoint, Polygon
from shapely import Point as Place

from nesting import Point

from . import graining, telling
from .drawings import Layer
from .found_lines import FoundDrawing, FoundLine
from .line_roles import by_word
from .outlines import mended
from .refusals import Refused

BESIDE = 40.0
"""mm off a body within which a line still is of it, where there are several: a grain line beside its piece, a fold's arrow."""
ON_RIM = 0.5
"""mm off the rim within which a line is meant to lie on it."""


@dataclass(slots=True)
class Body:
    """An outline of a drawing with all that lies on it. `within`: outlines of its own kind that lie inside it."""

    name: str
    line: FoundLine
    shape: Polygon
    within: list[Polygon] = field(default_factory=list)
    on_it: list[FoundLine] = field(default_factory=list)

    def of(self, *layers: Layer) -> list[FoundLine]:
        """What of these kinds lies on it."""
        return [line for line in self.on_it if line.said in layers]


def bodies(found: FoundDrawing, lines: Sequence[FoundLine], kinds: Collection[Layer], names: Sequence[str] = ()) -> list[Body]:
    """The bodies whose outlines are of these kinds, with what lies on each. `names` are theirs, from left to right.

    Raises Refused where there is none, an outline is open, or a line belongs to none; BadOutline for one that is none.
    """
    outlines = [line for line in lines if line.said in kinds]
    _refuse_open(outlines)
    if not outlines:
        raise Refused(
            f"it has no {' or '.join(kinds)}",
            where="lines",
            expected="at least one closed line that is the outline",
            next="Say which lines it is by their layer or colour",
        )
    found_bodies = _outermost(outlines)
    found_bodies.sort(key=lambda body: (body.shape.bounds[0], body.shape.bounds[1]))
    _name(found_bodies, found, names)
    for line in lines:
        if line.said not in kinds:
            _whose(line, found_bodies).on_it.append(line)
    return found_bodies


def _at(x: float, y: float) -> str:
    """A point of the drawing."""
    return f"{telling.fine(round(x))} across and {telling.fine(round(y))} up"


def _refuse_open(outlines: Sequence[FoundLine]) -> None:
    for line in outlines:
        if not line.closed:
            what = "is one point"
            if len(line.points) > 1:
                what = f"is open: its ends are {telling.fine(round(math.dist(line.points[0], line.points[-1]), 1))} apart"
            x, y = line.points[-1]
            raise Refused(
                f"a {line.said} {what}, {_at(x, y)}",
                where=line.group or line.layer or line.name or "lines",
                expected="a closed outline",
                next="Close it in the drawing program, or say that it is left out",
            )


def _outermost(outlines: Sequence[FoundLine]) -> list[Body]:
    """A body for each outline that lies in no other."""
    shapes = [(line, mended(line.points, line.group or line.layer or line.name or "outline")) for line in outlines]
    shapes.sort(key=lambda each: -each[1].area)
    found: list[Body] = []
    for line, shape in shapes:
        inside = next((body for body in found if body.shape.buffer(ON_RIM).contains(shape)), None)
        if inside is None:
            found.append(Body("", line, shape))
        elif shape.symmetric_difference(inside.shape).area > ON_RIM * inside.shape.length:  # not one line drawn twice
            inside.within.append(shape)
    return found


def _name(found_bodies: list[Body], found: FoundDrawing, names: Sequence[str]) -> None:
    """A name for each, none twice: as told, its group's, the words on it, its layer's, or its number."""
    if names and len(names) != len(found_bodies):
        raise Refused(
            f"{len(names)} names are told for {len(found_bodies)} outlines",
            where="names",
            expected="one for each, from left to right",
        )
    groups = [body.line.group for body in found_bodies]
    layers = [body.line.layer for body in found_bodies]
    taken: set[str] = set()
    for number, body in enumerate(found_bodies):
        told = names[number] if names else ""
        if not told and groups.count(groups[number]) == 1:
            told = groups[number]
        if not told:
            told = next((words.text for words in found.words if body.shape.contains(Place(words.at))), "")
        if not told and layers.count(layers[number]) == 1 and by_word(layers[number]) is None:
            told = layers[number] if layers[number] != "0" else ""
        told = " ".join(told.split())[:60] or f"piece {number + 1}"
        body.name = next(each for each in (told, *(f"{told} {n}" for n in range(2, 10_000))) if each.casefold() not in taken)
        taken.add(body.name.casefold())


def _whose(line: FoundLine, found_bodies: Sequence[Body]) -> Body:
    """The body that a line is of: one of its own group, that holds it or is nearest. Raises Refused where all are far."""
    shape = MultiPoint(line.points)
    alike = [body for body in found_bodies if line.group and body.line.group == line.group] or list(found_bodies)
    middle = shape.centroid
    holding = [body for body in alike if body.shape.buffer(ON_RIM).contains(middle)]
    nearest = min(holding or alike, key=lambda body: float(body.shape.exterior.distance(shape)))
    off = float(nearest.shape.distance(shape))
    if len(found_bodies) > 1 and off > BESIDE:
        raise Refused(
            f"a {line.said} {_at(middle.x, middle.y)} lies {telling.fine(round(off))} from every outline",
            where="lines",
            expected="lines on the piece or remnant that they are of, or near it",
            next="Move it there, or leave such lines out",
        )
    return nearest


def longest_stretch(points: Sequence[Point]) -> tuple[Point, Point]:
    """The longest straight part of a line, such as the shaft of an arrow."""
    return max(pairwise(points), key=lambda ends: math.dist(*ends))


def grain_of(body: Body, *, arrow: bool) -> float | None:
    """The angle of a body's grain line (degrees), None where it has none. `arrow`: its line runs along the grain arrow, from
    its first point to its last, as in the groups and blocks that Fent writes; else the way of it that runs most nearly from
    left to right is taken. Raises Refused where two disagree."""
    angles = []
    for line in body.of(Layer.GRAIN):
        if len(line.points) < 2:
            raise Refused("a grain line is one point", where=body.name, expected="a line along the grain")
        first, last = longest_stretch([*line.points, line.points[0]] if line.closed else line.points)
        along = graining.along(first, last)
        if arrow:
            along = math.degrees(math.atan2(last[1] - first[1], last[0] - first[0]))
        angles.append(along)
    if not angles:
        return None
    # Lines have no direction here: 179° and −1° are one.
    apart = max(abs((angle - angles[0] + 90) % 180 - 90) for angle in angles)
    if apart > graining.ONE_WAY:
        raise Refused(
            f"two grain lines run {apart:.0f}° apart", where=body.name, expected="one grain line, or none that differ"
        )
    return angles[0] + 0.0
