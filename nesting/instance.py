"""A case made ready for the search: panels as shapes, sheets as rooms, no-fit polygons made when first needed.

A *shape* is a panel flipped or not, at one turn, moved so that the middle of its box is at (0, 0). Gap, edge and tolerance
are settled here: the ring that must keep clear of other panels is grown by half the gap; rooms keep the edge; and every
panel is shrunk by a hair (`SHRINK`), so that what fits exactly fits. What is left of `examine`'s tolerance, which is several
times as much, is the search's: pairs no deeper than `TOUCH` count as touching.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from .fields import Field, Table, make_field, pack
from .forms import Case, Panel, Placement, Ring, Sheet
from .margins import offset
from .nofit import Grid, no_fit_polygon, rings_to_region, room, turned
from .outlines import united
from .repeats import runs_in
from .rooms import Rooms
from .strain import Shapes
from .tolerances import LIE_SHARE
from .turns import may_be_turned

Coordinates = NDArray[np.float64]

SHRINK = 0.2
"""By how much of examine's tolerance each panel is shrunk before its no-fit polygons and rooms are made."""
TOUCH = 0.2
"""How deep, in examine's tolerances, two panels may overlap and still be said to touch."""

BOX, NONE = -2, -1
"""In place of a region's number: the room is its whole box; there is no room."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A panel at one turn. `middle`: of its box, from the panel's own origin; rings are about that middle.

    half: half length and width of the outline; `ring`: the outline less a hair; `swollen`: that grown by half the gap;
    `sound`: the part that no flaw may touch, less a hair; `anchor` from the middle.
    """

    panel: int
    turn: float
    flipped: bool
    middle: Coordinates
    half: Coordinates
    ring: Coordinates
    swollen: Coordinates
    sound: Coordinates
    anchor: Coordinates | None


@dataclass(frozen=True, slots=True)
class Room:
    """Where a shape may be on a sheet: box (lowest, highest x; lowest, highest y), and the region in it unless all of it: as
    a field, and by its `rings`. On a repeat only the `runs` of it, as `repeats.runs_in` gives them."""

    box: tuple[float, float, float, float]
    region: Field | None = None
    open_cells: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    corners: Coordinates = field(default_factory=lambda: np.empty((0, 2)))
    rings: tuple[Coordinates, ...] = ()
    runs: Coordinates = field(default_factory=lambda: np.empty((0, 5)))

    def whole(self) -> BaseGeometry:
        """All of it as a shape: a line or a point where the panel just fits."""
        if self.rings:
            return rings_to_region(self.rings)
        x0, x1, y0, y1 = self.box
        return MultiPoint([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]).convex_hull


def turns_of(panel: Panel) -> list[float]:
    """The turns tried: those allowed and, where the panel may lie off grain, some between."""
    shares = (0.0, -1.0, 1.0, -0.5, 0.5) if panel.off_grain > 0 else (0.0,)
    turns: list[float] = []
    for turn in panel.turns:
        for share in shares:
            t = (turn + share * panel.off_grain) % 360.0
            if all(abs(t - other) > 1e-9 for other in turns):
                turns.append(t)
    return turns


class Instance:
    """Shapes of all panels of a case, and on demand their no-fit polygons and rooms."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.areas = np.array([Polygon(p.outline).area for p in case.panels])
        self.lie = LIE_SHARE * math.sqrt(float(self.areas.min()))
        self.touch = TOUCH * self.lie
        reach = max(float(np.max(np.ptp(np.array(p.outline), axis=0))) for p in case.panels)
        self.grid = Grid(4 * (reach + case.gap))
        self.shapes: list[Shape] = []
        self.of_panel: list[range] = []
        for k, panel in enumerate(case.panels):
            first = len(self.shapes)
            self._add_shapes(k, panel)
            self.of_panel.append(range(first, len(self.shapes)))
        self.half = np.array([s.half for s in self.shapes])
        self._number: dict[tuple[int, int], int] = {}
        self._fields: list[Field] = []
        self._rings: list[list[Coordinates]] = []
        self._packed: tuple[Table, Shapes] | None = None
        self._rooms: dict[tuple[str, int], Room | None] = {}

    def _add_shapes(self, k: int, panel: Panel) -> None:
        """Add the panel at each of its turns, once where turning changes nothing."""
        alike: list[Coordinates] = []
        plain = panel.sound is None and panel.anchor is None and all(s.turns is None for s in self.case.sheets)
        for flipped in (False, True) if panel.flip else (False,):
            for turn in turns_of(panel):
                ring = turned(np.array(panel.outline), turn, flipped)
                centred = ring - (ring.min(axis=0) + ring.max(axis=0)) / 2
                if plain and any(_same_ring(centred, other) for other in alike):
                    continue
                alike.append(centred)
                self.shapes.append(self._shape(k, panel, turn, flipped))

    def _shape(self, k: int, panel: Panel, turn: float, flipped: bool) -> Shape:
        ring = turned(np.array(panel.outline), turn, flipped)
        middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
        centred = ring - middle
        hair = SHRINK * self.lie
        less = _shrunk(centred, hair)
        swollen = less
        if self.case.gap > 0:
            swollen = max(offset([less], self.case.gap / 2, self.grid_reach(centred)), key=len)
        anchor = None if panel.anchor is None else turned(np.array([panel.anchor]), turn, flipped)[0] - middle
        sound = _shrunk(turned(np.array(panel.sound or panel.outline), turn, flipped) - middle, hair)
        return Shape(k, turn, flipped, middle, centred.max(axis=0), less, swollen, sound, anchor)

    def fixed_shape(self, p: Placement) -> int:
        """The number of the shape that a fixed placement has; it is added if it lies at a turn that is not tried."""
        k = next(k for k, panel in enumerate(self.case.panels) if panel.id == p.panel)
        for s, shape in enumerate(self.shapes):
            if shape.panel == k and shape.flipped == p.flipped and abs((shape.turn - p.turn + 180) % 360 - 180) < 1e-9:
                return s
        panel = self.case.panels[k]
        self.shapes.append(self._shape(k, panel, p.turn, p.flipped))
        self.half = np.array([s.half for s in self.shapes])
        return len(self.shapes) - 1

    def middle_of(self, p: Placement) -> tuple[float, float]:
        middle = self.shapes[self.fixed_shape(p)].middle
        return p.x + float(middle[0]), p.y + float(middle[1])

    def grid_reach(self, ring: Coordinates) -> float:
        return float(np.max(np.abs(ring))) + self.case.gap + self.case.edge

    # --- no-fit polygons ----------------------------------------------------------------------------------------------

    def no_fit(self, a: int, b: int) -> tuple[int, float]:
        """The region where shape b (moving) overlaps shape a (lying), and −1 if it is to be read mirrored.

        NFP(b, a) is NFP(a, b) mirrored through the origin; so is that of both shapes turned by half.
        """
        if (a, b) in self._number:
            return self._number[a, b], 1.0
        if (b, a) in self._number:
            return self._number[b, a], -1.0
        p, q = self._half_turned(a), self._half_turned(b)
        if p is not None and q is not None:
            if (p, q) in self._number:
                return self._number[p, q], -1.0
            if (q, p) in self._number:
                return self._number[q, p], 1.0
        rings = no_fit_polygon(self.shapes[a].swollen, self.shapes[b].swollen, self.grid)
        self._number[a, b] = len(self._fields)
        self._fields.append(make_field(rings, inside_bad=True))
        self._rings.append(rings)
        return self._number[a, b], 1.0

    def _half_turned(self, a: int) -> int | None:
        """The same panel turned by another half turn, if it is among the shapes."""
        s = self.shapes[a]
        for b in self.of_panel[s.panel]:
            other = self.shapes[b]
            if other.flipped == s.flipped and abs((other.turn - s.turn) % 360.0 - 180.0) < 1e-9:
                return b
        return None

    def rings_of(self, region: int) -> list[Coordinates]:
        return self._rings[region]

    # --- rooms --------------------------------------------------------------------------------------------------------

    def room(self, sheet: Sheet, s: int) -> Room | None:
        """Where shape s may be on the sheet; None where it may not or cannot."""
        key = (sheet.id, s)
        if key not in self._rooms:
            self._rooms[key] = self._make_room(sheet, self.shapes[s])
        return self._rooms[key]

    def forget(self, sheet: Sheet) -> None:
        """Forget the rooms of a sheet that will not be asked for again."""
        for s in range(len(self.shapes)):
            self._rooms.pop((sheet.id, s), None)

    def _make_room(self, sheet: Sheet, shape: Shape) -> Room | None:
        panel = self.case.panels[shape.panel]
        if panel.on is not None and sheet.id not in panel.on:
            return None
        if not may_be_turned(shape.turn, panel, sheet):
            return None
        cloth = self.cloth(sheet)
        if cloth.is_empty:
            return None
        spots = self._spots(sheet, panel, shape)
        x0, y0, x1, y1 = cloth.bounds
        low, high = shape.ring.min(axis=0), shape.ring.max(axis=0)  # a sharp corner draws back farther than the others
        box = (x0 - float(low[0]), x1 - float(high[0]), y0 - float(low[1]), y1 - float(high[1]))
        if box[1] < box[0] or box[3] < box[2]:
            return None
        if not spots and cloth.area > (1 - 1e-12) * (x1 - x0) * (y1 - y0):
            corners = np.array([(x, y) for x in box[:2] for y in box[2:]])
            return _on_repeat(Room(box, corners=corners), sheet, shape)
        grid = Grid(2 * max(abs(v) for v in cloth.bounds) + 2 * float(np.max(np.abs(shape.ring))))
        rings = room(cloth, spots, shape.ring, grid)
        if not rings:
            return None
        region = make_field(rings, inside_bad=False)
        corners = np.concatenate(rings)
        low, high = corners.min(axis=0), corners.max(axis=0)
        open_cells = np.flatnonzero(region.kind != 1).astype(np.int64)
        found = Room((low[0], high[0], low[1], high[1]), region, open_cells, corners, tuple(rings))
        return _on_repeat(found, sheet, shape)

    def cloth(self, sheet: Sheet) -> BaseGeometry:
        """The cloth that panels may lie on: the outline less its holes, the edge kept from both."""
        reach = float(np.max(np.abs(np.array(sheet.outline)))) + self.case.edge
        edge = self.case.edge
        outline = _anticlockwise(np.array(sheet.outline))
        region = rings_to_region(offset([outline], -edge, reach)) if edge > 0 else Polygon(outline)
        holes = [self._grown(h, edge, reach) for h in sheet.holes]
        return region.difference(united(holes)) if holes else region

    def _grown(self, ring: Ring, edge: float, reach: float) -> BaseGeometry:
        """A hole or flaw with the edge round it; a tear is given a hair's width where there is no edge."""
        points = np.array(ring)
        if len(points) == 2:
            return rings_to_region(offset([points], max(edge, self.lie), reach))
        if edge == 0:
            return Polygon(points)
        return rings_to_region(offset([_anticlockwise(points)], edge, reach))

    def _spots(self, sheet: Sheet, panel: Panel, shape: Shape) -> list[tuple[Polygon, Coordinates]]:
        """The flaws that this panel's sound part must keep clear of."""
        reach = float(np.max(np.abs(np.array(sheet.outline)))) + self.case.edge
        flaws = [] if panel.hidden else [f for f in sheet.flaws if panel.id not in f.spares]
        grown = [self._grown(f.ring, self.case.edge, reach) for f in flaws]
        parts = [p for g in grown for p in getattr(g, "geoms", [g]) if not p.is_empty]
        return [(Polygon(p.exterior), shape.sound) for p in parts]

    # --- for the kernels ----------------------------------------------------------------------------------------------

    def tables(self, sheets: list[Sheet]) -> tuple[Table, Shapes, Rooms]:
        """Regions, shapes and rooms as the kernels want them, for some of the sheets."""
        return *self._all_no_fits(), self._rooms_of(sheets)

    def _all_no_fits(self) -> tuple[Table, Shapes]:
        """No-fit polygons of all shapes with all, made once; again only after a shape was added."""
        count = len(self.shapes)
        if self._packed is None or len(self._packed[1].half) != count:
            nofit = np.zeros((count, count), dtype=np.int64)
            sign = np.ones((count, count))
            for a in range(count):
                for b in range(a + 1):
                    nofit[a, b], sign[a, b] = self.no_fit(a, b)
                    nofit[b, a], sign[b, a] = nofit[a, b], -sign[a, b]
            half = np.array([np.abs(s.swollen).max(axis=0) for s in self.shapes])
            self._packed = pack(self._fields), Shapes(half, nofit, sign)
        return self._packed

    def _rooms_of(self, sheets: list[Sheet]) -> Rooms:
        count = len(self.shapes)
        box = np.zeros((len(sheets), count, 4))
        region = np.full((len(sheets), count), NONE, dtype=np.int64)
        lattice = np.zeros((len(sheets), count, 4))
        run_span = np.zeros((len(sheets), count, 2), dtype=np.int64)
        runs: list[Coordinates] = []
        found = [self.room(sheet, s) for sheet in sheets for s in range(count)]
        regions = [r for r in found if r is not None and r.region is not None]
        number = {id(r): k for k, r in enumerate(regions)}
        for k, r in enumerate(found):
            if r is not None:
                h, s = divmod(k, count)
                box[h, s] = r.box
                region[h, s] = number.get(id(r), BOX)
                lattice[h, s] = lattice_of(sheets[h], self.shapes[s])
                before = sum(map(len, runs))
                run_span[h, s] = before, before + len(r.runs)
                runs.append(r.runs)
        first = np.cumsum([0] + [len(r.open_cells) for r in regions]).astype(np.int64)
        cells = np.concatenate([*(r.open_cells for r in regions), np.empty(0, dtype=np.int64)]).astype(np.int64)
        rows = np.concatenate([*runs, np.empty((0, 5))])
        packed = pack([r.region for r in regions if r.region is not None])
        return Rooms(box, region, first, cells, lattice, run_span, rows, packed)

    # --- to and from placements ---------------------------------------------------------------------------------------

    def placement(self, sheet: str, s: int, x: float, y: float) -> Placement:
        """Shape s with its middle at (x, y), as a placement of its panel."""
        shape = self.shapes[s]
        dx, dy = float(x - shape.middle[0]), float(y - shape.middle[1])
        return Placement(sheet, self.case.panels[shape.panel].id, dx, dy, shape.turn, shape.flipped)


def _on_repeat(room: Room, sheet: Sheet, shape: Shape) -> Room | None:
    """The room with its runs, on a repeat that the shape must keep; None where it has no place on it."""
    lattice = lattice_of(sheet, shape)
    if not any(lattice[:2]):
        return room
    runs = runs_in(room.whole(), lattice)
    return replace(room, runs=runs) if len(runs) else None


def lattice_of(sheet: Sheet, shape: Shape) -> tuple[float, float, float, float]:
    """Steps and offsets of the shape's middle that keep its anchor on the sheet's repeat."""
    if shape.anchor is None:
        return (0.0, 0.0, 0.0, 0.0)
    ax, ay = shape.anchor
    return (sheet.repeat[0], sheet.repeat[1], sheet.repeat_at[0] - ax, sheet.repeat_at[1] - ay)


def _anticlockwise(ring: Coordinates) -> Coordinates:
    x, y = ring[:, 0], ring[:, 1]
    return ring if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) > 0 else ring[::-1]


def _shrunk(ring: Coordinates, hair: float) -> Coordinates:
    """The ring less a hair all round; as it is where that would take it apart."""
    less = Polygon(ring).buffer(-hair, join_style="mitre")
    if not isinstance(less, Polygon) or less.is_empty or less.interiors:
        return _anticlockwise(ring)
    return _anticlockwise(np.array(less.exterior.coords[:-1]))


def _same_ring(a: Coordinates, b: Coordinates) -> bool:
    """Whether two centred rings are the same polygon, whichever corner they begin with."""
    if len(a) != len(b):
        return False
    size = float(np.max(np.abs(a)))
    return any(np.allclose(a, np.roll(b, k, axis=0), rtol=0, atol=1e-9 * size) for k in range(len(b)))
