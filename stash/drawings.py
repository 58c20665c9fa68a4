"""A drawing at true scale: what `svg_writing` and `dxf_writing` write, made of pattern pieces, remnants or anything else.

A `Drawing` is a row of `Part`s (one for each piece, remnant or lay), each with its outlines, lines, spots and words. All of
them are in mm, x to the right and y up, whichever way a file counts, and each says by its `Layer` what it is, so that a knife,
a printer and whoever opens the file can tell a cut from a sewing line. A part is made of what the stash holds (`of_piece`,
`of_remnant`), or put together by hand:

    part = Part("front", outlines=(Outline(Layer.CUT, ring),), words=(Words((10, 10), "front"),))
    drawing = Drawing("coat", beside([part, of_piece(sleeve), part.moved(x=0, y=0, turn=180)]))
    svg_writing.written(drawing)   # text of an SVG, width and height in mm
    dxf_writing.written(drawing)   # text of a DXF, $INSUNITS 4 (mm)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from nesting import Point, Ring

if TYPE_CHECKING:
    from shapely import Polygon

    from .patterns import Piece
    from .remnants import Remnant

LETTERS = 8.0
"""mm: how high words are written, to be read at arm's length on the table."""
APART = 20.0
"""mm between parts that lie beside each other."""
GRAIN_SHARE = 0.6
"""How much of the piece's length, at its middle, its grain line takes."""


class Layer(StrEnum):
    """What a line of a drawing is."""

    CUT = "cut line"
    SEWING = "sewing line"
    GRAIN = "grain line"
    NOTCH = "notch"
    FOLD = "fold line"
    INNER = "inner line"
    CUT_OUT = "cut-out"
    DRILL = "drill hole"
    REMNANT = "remnant"
    HOLE = "hole"
    FLAW = "flaw"
    SELVEDGE = "selvedge"
    RAW = "raw edge"
    KEEPER = "keeper"
    MEASURE = "measure"
    WORDS = "words"


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed line, its first point not repeated. `name`: what it is called, where the layer does not say all (a flaw's
    kind)."""

    layer: Layer
    ring: Ring
    name: str = ""


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open line of two points or more. A grain line is an arrow from its first to its last."""

    layer: Layer
    points: tuple[Point, ...]
    name: str = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """A single point, such as a drill hole."""

    layer: Layer
    at: Point


@dataclass(frozen=True, slots=True)
class Words:
    """Words that begin at a point, `height` mm high, turned counter-clockwise by `turn` degrees; `middle`: they are centred
    on it."""

    at: Point
    text: str
    height: float = LETTERS
    turn: float = 0.0
    middle: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """What belongs together: a piece, a remnant, a lay. `said`: facts that a file can keep beside it (`one-way`: `yes`)."""

    name: str
    outlines: tuple[Outline, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    spots: tuple[Spot, ...] = ()
    words: tuple[Words, ...] = ()
    said: Mapping[str, str] = field(default_factory=dict)

    def points(self) -> Iterator[Point]:
        """All its points; of words the corners of the box that they take, near enough."""
        yield from (point for outline in self.outlines for point in outline.ring)
        yield from (point for stroke in self.strokes for point in stroke.points)
        yield from (spot.at for spot in self.spots)
        for words in self.words:
            yield from _box(words)

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y. Raises ValueError for an empty part."""
        xs, ys = zip(*self.points(), strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def moved(self, x: float = 0.0, y: float = 0.0, *, turn: float = 0.0, flipped: bool = False) -> Part:
        """The same, laid as the engine lays a panel: flipped across the grain ((x, y) to (x, −y)) if `flipped`, turned
        counter-clockwise about (0, 0) by `turn`, then shifted. Words are turned, never mirrored."""
        cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        if turn % 90 == 0:
            cosine, sine = float(round(cosine)), float(round(sine))  # so that a square stays exactly square

        def at(point: Point) -> Point:
            px, py = point[0], -point[1] if flipped else point[1]
            return (x + cosine * px - sine * py, y + sine * px + cosine * py)

        return self._each(at, lambda words: (-words.turn if flipped else words.turn) + turn)

    def _each(self, at: Callable[[Point], Point], turned: Callable[[Words], float]) -> Part:
        return replace(
            self,
            outlines=tuple(replace(each, ring=tuple(map(at, each.ring))) for each in self.outlines),
            strokes=tuple(replace(each, points=tuple(map(at, each.points))) for each in self.strokes),
            spots=tuple(replace(each, at=at(each.at)) for each in self.spots),
            words=tuple(replace(each, at=at(each.at), turn=turned(each)) for each in self.words),
        )


@dataclass(frozen=True, slots=True)
class Drawing:
    """Parts on one ground. `margin`: mm left free round all of them where the file has a frame."""

    title: str
    parts: tuple[Part, ...]
    margin: float = 10.0

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y, with the margin. Raises ValueError where there is nothing."""
        boxes = [part.bounds() for part in self.parts]
        low_x, low_y = min(box[0] for box in boxes), min(box[1] for box in boxes)
        high_x, high_y = max(box[2] for box in boxes), max(box[3] for box in boxes)
        return low_x - self.margin, low_y - self.margin, high_x + self.margin, high_y + self.margin


def beside(parts: Iterable[Part], *, apart: float = APART) -> tuple[Part, ...]:
    """The parts one beside the other from left to right, the first where it is, none touching the next."""
    placed: list[Part] = []
    for part in parts:
        if placed:
            _, low, edge, _ = placed[-1].bounds()
            left, own_low, _, _ = part.bounds()
            part = part.moved(edge + apart - left, low - own_low)
        placed.append(part)
    return tuple(placed)


def of_piece(piece: Piece) -> Part:
    """A pattern piece as the stash holds it, its grain along x: both lines, grain, notches, fold, joins and its name."""
    from .piece_lines import notch_ticks

    said = {"pattern": piece.pattern, "count": str(piece.count)}
    said |= {"one-way": "yes"} if piece.one_way else {}
    said |= {"left-and-right": "yes"} if piece.left_and_right else {}
    said |= {"hidden": "yes"} if piece.hidden else {}
    said |= {"off-grain": f"{piece.off_grain:g}"} if piece.off_grain else {}
    grain = grain_in(piece.sewing_line)
    strokes = [Stroke(Layer.GRAIN, grain)]
    strokes += [Stroke(Layer.NOTCH, _out_to(piece.cut_line, tick)) for tick in notch_ticks(piece)]
    strokes += [Stroke(Layer.FOLD, piece.fold)] if piece.fold else []
    strokes += [Stroke(Layer.INNER, join.line, "join") for join in piece.joins]
    return Part(
        piece.name,
        outlines=(Outline(Layer.CUT, _ring(piece.cut_line)), Outline(Layer.SEWING, _ring(piece.sewing_line))),
        strokes=tuple(strokes),
        words=(_over(grain, piece.name),),
        said=said,
    )


def of_remnant(remnant: Remnant) -> Part:
    """A remnant as the stash holds it: on its grain, right side up, with its holes, flaws, tears and edges, and its tag."""
    from .words import EdgeKind, FaultKind

    outlines, strokes = [Outline(Layer.REMNANT, _ring(remnant.outline))], []
    for fault in remnant.faults:
        layer = Layer.HOLE if fault.kind is FaultKind.HOLE else Layer.FLAW
        if fault.shape.geom_type == "Polygon":
            outlines.append(Outline(layer, _ring(fault.shape), str(fault.kind)))
        else:
            strokes.append(Stroke(layer, _line(fault.shape.coords), str(fault.kind)))
    for edge in remnant.edges:
        layer = Layer.SELVEDGE if edge.kind is EdgeKind.SELVEDGE else Layer.RAW
        strokes.append(Stroke(layer, _line(edge.line.coords)))
    grain = grain_in(remnant.outline)
    strokes.append(Stroke(Layer.GRAIN, grain))
    said = {"cloth": remnant.cloth.name} | ({"one-way": "yes"} if remnant.one_way else {})
    return Part(remnant.tag, tuple(outlines), tuple(strokes), words=(_over(grain, remnant.tag),), said=said)


def _out_to(cut_line: Polygon, tick: tuple[Point, Point]) -> tuple[Point, Point]:
    """A notch's mark with the end last that lies on the cut line: of an edge without allowance it goes inward."""
    from shapely import Point as Place

    first, last = (cut_line.exterior.distance(Place(end)) for end in tick)
    return tick if last <= first else tick[::-1]


def grain_in(shape: Polygon) -> tuple[Point, Point]:
    """A grain line along x in the middle of a shape, wholly inside it."""
    from shapely import LineString

    low, _, high, _ = shape.bounds
    at = shape.centroid if shape.covers(shape.centroid) else shape.representative_point()
    inside = shape.intersection(LineString([(low - 1, at.y), (high + 1, at.y)]))
    longest = max((part for part in getattr(inside, "geoms", [inside])), key=lambda part: float(part.length))
    left, _, right, _ = longest.bounds
    off = (right - left) * (1 - GRAIN_SHARE) / 2
    return ((left + off, at.y), (right - off, at.y))


def _over(grain: Sequence[Point], text: str) -> Words:
    """Words over the middle of a grain line."""
    (left, y), (right, _) = grain[0], grain[-1]
    height = min(LETTERS, max((right - left) / max(len(text), 1), 2.0))
    return Words(((left + right) / 2, y + height / 2), text, height, middle=True)


def _box(words: Words) -> Iterator[Point]:
    """The corners of what words take: six tenths of their height for a letter."""
    wide = 0.6 * words.height * len(words.text)
    start = -wide / 2 if words.middle else 0.0
    cosine, sine = math.cos(math.radians(words.turn)), math.sin(math.radians(words.turn))
    for px, py in ((start, 0.0), (start + wide, 0.0), (start + wide, words.height), (start, words.height)):
        yield (words.at[0] + cosine * px - sine * py, words.at[1] + sine * px + cosine * py)


def _ring(polygon: Polygon) -> Ring:
    return _line(polygon.exterior.coords[:-1])


def _line(points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(point[0]), float(point[1])) for point in points)
