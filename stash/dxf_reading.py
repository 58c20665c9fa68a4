"""The lines of a DXF, in mm, by ezdxf: lines, arcs, circles, ellipses, splines and polylines, through all blocks.

It may come from anyone: nothing that it refers to is fetched, and how large it is, how deep its blocks stand in each other and
how many lines they come to are limited. `$INSUNITS` tells its unit; where it does not, a person is asked.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from nesting import Point

from . import strange_files
from .dxf_writing import NUMBERS
from .found_lines import FARTHEST, Counted, FoundDrawing, FoundLine, FoundWords, joined
from .refusals import Refused

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities.dxfentity import DXFEntity

MILLIMETRES = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4, 13: 0.001, 14: 100.0}
"""mm of a unit by `$INSUNITS`: inch, foot, mm, cm, m, yard, micron, decimetre. 0 is none; others (miles, light years) are a
mistake in a drawing of cloth."""
BINARY = b"AutoCAD Binary DXF"
BY_LAYER, BY_BLOCK = 256, 0
MOST_CONTROLS = 2000
"""Control points of one spline."""
_NOUGHT = re.compile(rb"^[ \t]*0[ \t]*\r?$", re.MULTILINE)
MOST_NOUGHTS = 20 * strange_files.MOST_LINES
"""Lines with a 0 alone: each entity begins with one, and a line of the drawing has up to ten more among its figures."""
STANDARD = {number: layer for layer, number in NUMBERS.items()}
PASSED_OVER = {"IMAGE": "a picture", "HATCH": "a hatching", "DIMENSION": "a dimension", "LEADER": "a leader"}


def read(held: bytes, *, unit: float | None = None, within: float, where: str = "drawing") -> FoundDrawing:
    """What a DXF holds. `unit`: mm of a drawing unit, where a person says so.

    Raises Refused: no DXF, damaged, of unknown size, too large.
    """
    from ezdxf.lldxf.const import DXFError

    damage = (*strange_files.DAMAGE, DXFError)
    try:
        document = _document(held)
        told = document.header.get("$INSUNITS", 0)
    except damage as fault:
        if isinstance(fault, Refused):
            raise
        raise _damaged(fault) from fault
    size = unit if unit is not None else MILLIMETRES.get(told)
    if size is None:
        raise Refused(
            "it does not say which unit it is drawn in"
            if told == 0
            else f"its unit is number {told}, in which no cloth is cut",
            where="unit",
            expected="the length of one of its units: mm, cm, in …",
            next="Say so with --unit",
        )
    reader = _Reader(document, size, within)
    try:
        reader.count(document.modelspace())
        reader.walk(document.modelspace(), "", 0, BY_LAYER, "0")
    except damage as fault:
        if isinstance(fault, Refused):
            raise
        raise _damaged(fault) from fault
    return FoundDrawing(
        lines=tuple(joined(reader.counted.lines)),
        words=tuple(reader.words),
        sized_by="as told" if unit is not None else "$INSUNITS",
        passed_over=tuple(dict.fromkeys(reader.passed_over)),
    )


def _damaged(fault: BaseException) -> Refused:
    told = " ".join(str(fault).split())[:120] or type(fault).__name__
    return Refused(f"it is no DXF that can be read ({told})", where="drawing", expected="a DXF that is whole")


def _document(held: bytes) -> Document:
    """The document that ezdxf makes of a file. Raises Refused for one in the binary form, and whatever ezdxf raises."""
    from ezdxf.filemanagement import read as load

    if held.startswith(BINARY):
        raise Refused(
            "it is a DXF in the binary form", where="drawing", expected="a DXF as text", next="Save it as text (ASCII)"
        )
    if b"SECTION" not in held[:4096] or held.count(b"\x00") > 0:
        raise Refused("it is no DXF", where="drawing", expected="a file that a drawing program has saved as DXF")
    # An entity begins with a 0 on a line of its own, and takes far more memory than text: they are counted first.
    if sum(1 for _ in _NOUGHT.finditer(held)) > MOST_NOUGHTS:
        raise strange_files.too_much(f"{strange_files.MOST_LINES} lines")
    try:
        text = held.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = held.decode("cp1252", errors="replace")
    return load(io.StringIO(text.replace("\r\n", "\n")))


class _Reader:
    """Goes through the entities of one file."""

    def __init__(self, document: Document, unit: float, within: float) -> None:
        self.document = document
        self.unit = unit
        self.within = within
        self.counted = Counted()
        self.words: list[FoundWords] = []
        self.lines_in: dict[str, int] = {}
        self.passed_over: list[str] = []
        self.unseen = {layer.dxf.name.casefold() for layer in document.layers if layer.is_off() or layer.is_frozen()}

    def count(self, entities: Iterable[DXFEntity], deep: int = 0) -> int:
        """How many lines it will come to, blocks in blocks counted as often as they are drawn, before any is. Raises Refused
        where they are too many, or a block is within itself."""
        if deep > strange_files.DEEPEST:
            raise strange_files.too_much(f"{strange_files.DEEPEST} blocks within each other")
        lines = 0
        for entity in entities:
            inserted: Any = entity if entity.dxftype() == "INSERT" else None
            times = 1 if inserted is None else max(int(inserted.mcount), 1)
            block = None if inserted is None else inserted.block()
            if block is not None and block.name not in self.lines_in:
                self.lines_in[block.name] = self.count(block, deep + 1)
            lines += times * (1 if block is None else 1 + self.lines_in[block.name])
            if lines > strange_files.MOST_LINES:
                raise strange_files.too_much(f"{strange_files.MOST_LINES} lines")
        return lines

    def walk(self, entities: Iterable[DXFEntity], group: str, deep: int, colour: int, layer: str) -> None:
        """Read entities, and the blocks that they insert. `colour`, `layer`: those of the block's insertion."""
        if deep > strange_files.DEEPEST:
            raise strange_files.too_much(f"{strange_files.DEEPEST} blocks within each other")
        for entity in entities:
            self.counted.look()
            kind = entity.dxftype()
            on = str(entity.dxf.get("layer", "0"))
            on = layer if on == "0" else on  # what stands on layer 0 of a block is on the layer of its insertion
            if on.casefold() in self.unseen or entity.dxf.get("invisible", 0):
                self.passed_over.append("what is hidden")
            elif kind == "INSERT":
                self._insert(entity, group, deep, self._number(entity, on, colour), on)
            elif kind in ("TEXT", "MTEXT"):
                self._text(entity, group)
            elif kind in PASSED_OVER:
                self.passed_over.append(PASSED_OVER[kind])
            else:
                for points, closed in self._drawn(entity, kind):
                    self._add(points, closed, on, self._colour(entity, on, colour), group)

    def _insert(self, insert: Any, group: str, deep: int, colour: int, layer: str) -> None:
        """A block where it is inserted, as often as it is."""
        block = insert.block()
        if block is None:
            raise Refused(f"it inserts {insert.dxf.name!r:.60}, which is not in it", where="drawing", expected="a whole DXF")
        if block.block is not None and (block.block.is_xref or block.block.is_xref_overlay):
            raise Refused(
                f"it refers to another file ({block.name!r:.60})",
                where="drawing",
                expected="a drawing that is whole in one file",
            )
        named = group or ("" if block.name.startswith("*") else block.name)
        for single in insert.multi_insert() if insert.mcount > 1 else [insert]:
            self.walk(_taken_apart(single), named, deep + 1, colour, layer)

    def _text(self, entity: Any, group: str) -> None:
        text = entity.plain_text() if entity.dxftype() == "TEXT" else entity.plain_text(split=False)
        # Of a mirrored text the place is told in coordinates of its own.
        at = entity.ocs().to_wcs(entity.dxf.insert) if entity.dxftype() == "TEXT" else entity.dxf.insert
        if text.strip():
            self.words.append(FoundWords(at=self._mm(at), text=" ".join(str(text).split())[:200], group=group))

    def _add(self, points: list[Any], closed: bool, layer: str, colour: str, group: str) -> None:
        flat = [self._mm(point) for point in points]
        if closed and len(flat) > 1 and math.dist(flat[0], flat[-1]) <= 1e-9:
            flat.pop()
        if flat:
            closed = closed and len(flat) > 2
            self.counted.add(
                FoundLine(points=tuple(flat), closed=closed, layer=layer, colour=colour, group=group, said=STANDARD.get(layer))
            )

    def _mm(self, point: Any) -> Point:
        x, y = _flat(point)
        return (x * self.unit, y * self.unit)

    def _drawn(self, entity: Any, kind: str) -> Iterator[tuple[list[Any], bool]]:
        """The points of an entity in its own unit, and whether it is closed. Nothing for what draws no line."""
        sagitta = self.within / self.unit
        if kind == "LINE":
            yield [entity.dxf.start, entity.dxf.end], False
        elif kind == "POINT":
            yield [entity.dxf.location], False
        elif kind in ("ARC", "CIRCLE"):
            self._reach(entity.dxf.radius)
            # A tolerance near the radius would leave no shape of a small circle.
            yield list(entity.flattening(min(sagitta, 0.1 * abs(entity.dxf.radius)))), kind == "CIRCLE"
        elif kind == "ELLIPSE":
            self._reach(entity.dxf.major_axis.magnitude)
            sweep = abs(entity.dxf.end_param - entity.dxf.start_param)
            yield list(entity.flattening(sagitta)), math.isclose(sweep, 2 * math.pi, rel_tol=1e-6)
        elif kind == "SPLINE":
            yield list(self._spline(entity, sagitta)), bool(entity.closed)
        elif kind == "LWPOLYLINE" or (kind == "POLYLINE" and entity.is_2d_polyline):
            if entity.has_arc:
                yield self._bulged(entity, sagitta), bool(entity.is_closed)
            else:
                corners = entity.vertices_in_wcs() if kind == "LWPOLYLINE" else entity.points_in_wcs()
                yield list(corners), bool(entity.is_closed)
        elif kind == "POLYLINE" and entity.is_3d_polyline:
            yield list(entity.points()), bool(entity.is_closed)
        elif kind in ("3DFACE", "SOLID", "MESH", "3DSOLID", "POLYLINE", "BODY", "REGION"):
            self.passed_over.append("a surface")

    def _spline(self, entity: Any, sagitta: float) -> Iterator[Any]:
        controls = [*entity.control_points, *entity.fit_points]
        if len(controls) > MOST_CONTROLS or entity.dxf.degree > 10:
            raise strange_files.too_much(f"{MOST_CONTROLS} control points in a spline")
        for point in controls:
            self._reach(max(abs(float(point[0])), abs(float(point[1]))))
        for count, point in enumerate(entity.flattening(sagitta)):
            if count > strange_files.MOST_POINTS // 10:
                raise strange_files.too_much(f"{strange_files.MOST_POINTS // 10} points in a spline")
            yield point

    def _bulged(self, entity: Any, sagitta: float) -> list[Any]:
        """The points of a polyline with arcs in it. An arc runs counter-clockwise whichever way the line does."""
        corners = entity.vertices_in_wcs() if entity.dxftype() == "LWPOLYLINE" else entity.points_in_wcs()
        points: list[Point] = [_flat(next(iter(corners)))]
        for part in entity.virtual_entities():
            self.counted.look()
            for drawn, _ in self._drawn(part, part.dxftype()):
                more = [_flat(point) for point in drawn]
                backwards = math.dist(points[-1], more[0]) > math.dist(points[-1], more[-1])
                points += (more[::-1] if backwards else more)[1:]
        return points

    def _reach(self, length: float) -> None:
        if not abs(length) * self.unit <= FARTHEST:
            raise Refused("it reaches farther than a kilometre", where="drawing", expected="a drawing at its true size")

    def _number(self, entity: Any, layer: str, above: int) -> int:
        """The number of an entity's colour."""
        number = int(entity.dxf.get("color", BY_LAYER))
        if number == BY_BLOCK:
            return above
        if number == BY_LAYER and layer in self.document.layers:
            return abs(int(self.document.layers.get(layer).dxf.color))
        return number

    def _colour(self, entity: Any, layer: str, above: int) -> str:
        from ezdxf.colors import aci2rgb, int2rgb

        if entity.dxf.hasattr("true_color"):
            red, green, blue = int2rgb(entity.dxf.true_color)
        else:
            number = self._number(entity, layer, above)
            red, green, blue = aci2rgb(number) if 1 <= number <= 255 else (0, 0, 0)
            if number == 7:  # black on white paper, white on a black screen
                red = green = blue = 0
        return f"#{red:02x}{green:02x}{blue:02x}"


def _flat(point: Any) -> Point:
    return (float(point[0]), float(point[1]))


def _taken_apart(insert: Any) -> Iterator[DXFEntity]:
    """The entities of a block as they come to lie. Raises Refused where one cannot be laid out so."""
    failed: list[str] = []
    yield from insert.virtual_entities(skipped_entity_callback=lambda entity, reason: failed.append(f"{entity}: {reason}"))
    if failed:
        raise Refused(f"a block cannot be taken apart ({failed[0][:80]})", where="drawing", expected="blocks of plain lines")
