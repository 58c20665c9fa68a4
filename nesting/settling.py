"""Settling: counts fixed, a lay is pushed together so that what is left of the sheet is most useful.

Two means by turns. *Pressing*: each panel in turn goes to the free place that is nearest to one corner or side. *Widening*:
the largest rectangle left is taken out of the sheet a little larger than it is, and the panels are eased apart on the rest.
A lay is kept only if what it leaves is more useful: the largest rectangle on the grain first, then the fewest parts, then the
least rim round them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from .clearances import cloth_of
from .easing import Easing
from .filling import CORNERS, Step, best_corner, steps_of
from .forms import Sheet
from .instance import NONE, Instance
from .outlines import united
from .packing import Packing, Tables
from .rectangle import Rectangle, largest_rectangle
from .strain import Lay, empty_lay

PASSES = 4
"""How often all panels are pressed towards a corner, at most."""
GROWTH, LEAST_GROWTH = 0.12, 0.01
"""The share by which a rectangle is widened at first, and at last: halved where it fails, doubled where it succeeds."""
PATIENCE = 20
"""Rounds of easing for one widening."""
ALIKE = 400
"""Rectangles are alike, and the parts decide, if they differ by less than this fraction of the cloth."""
SIDES = ((-1, 0), (1, 0), (0, -1), (0, 1))


@dataclass(frozen=True, slots=True)
class Usefulness:
    """What a lay leaves: its largest rectangle clear of flaws, the parts that are apart by more than the gap, and the rim
    round them, mm."""

    rectangle: Rectangle | None
    parts: int
    rim: float
    whole: float

    @property
    def order(self) -> tuple[int, int, float]:
        """More is better."""
        area = self.rectangle.area if self.rectangle else 0.0
        return int(ALIKE * area / self.whole), -self.parts, -self.rim


class Settling:
    """The lay of one sheet, while it is being settled. `steps`: its panels, their sheet number 0; `held`: those that stay."""

    def __init__(
        self, instance: Instance, sheet: Sheet, tables: Tables, held: list[Step], steps: list[Step], seed: int
    ) -> None:
        self.instance, self.sheet, self.tables, self.held, self.steps, self.seed = instance, sheet, tables, held, steps, seed
        self.cloth = cloth_of(sheet)
        # What is left is the more useful the less of it is flawed: so panels that may bear a flaw come to lie over it.
        flawed = [Polygon(f.ring) if len(f.ring) > 2 else LineString(f.ring).buffer(instance.lie) for f in sheet.flaws]
        self.clear = self.cloth.difference(united(flawed)) if flawed else self.cloth
        self.moved = False
        self._useful: Usefulness | None = None
        self._corner = 0
        self._side = 0
        self._growth = GROWTH
        self._last_side = 0

    @property
    def useful(self) -> Usefulness:
        """What the lay in hand leaves."""
        if self._useful is None:
            self._useful = self._usefulness(self.steps)
        return self._useful

    @property
    def done(self) -> bool:
        return self._corner >= len(CORNERS) and (self.useful.rectangle is None or self._growth < LEAST_GROWTH)

    def advance(self, budget: float, stop: Callable[[], bool]) -> None:
        """Press towards the next corner or, when all have been, widen once. The first call only looks at what there is."""
        if self._useful is None:
            self._useful = self._usefulness(self.steps)  # of many panels it takes half a second: the clock is looked at after
        elif self._corner < len(CORNERS):
            pressed = self._pressed(CORNERS[self._corner], stop)
            self._corner += 1
            if not stop():
                self._consider(pressed)
        elif not self.done:
            self._widen(budget, stop)

    def _consider(self, steps: list[Step]) -> bool:
        useful = self._usefulness(steps)
        if useful.order <= self.useful.order:
            return False
        self.steps, self._useful, self.moved = steps, useful, True
        return True

    def _usefulness(self, steps: list[Step]) -> Usefulness:
        shapes, lie = self.instance.shapes, self.instance.lie
        panels = [Polygon(shapes[s].ring + np.array([x, y])) for s, _, x, y in [*self.held, *steps]]
        left = self.cloth.difference(united(panels))
        clear = left if self.clear is self.cloth else self.clear.difference(united(panels))
        rectangles = [largest_rectangle(part) for part in _parts(clear) if part.area > lie]
        best = max((r for r in rectangles if r is not None), key=lambda r: r.area, default=None)
        apart = _parts(left.buffer(-(self.instance.case.gap / 2 + lie), join_style="mitre"))
        return Usefulness(best, len(apart), sum(part.length for part in apart), self.cloth.area)

    # --- pressing -----------------------------------------------------------------------------------------------------

    def _pressed(self, corner: tuple[float, float], stop: Callable[[], bool]) -> list[Step]:
        """The lay with all panels as near to the corner as they go, one after the other."""
        fixed, n = len(self.held), len(self.held) + len(self.steps)
        lay = empty_lay(n)
        for i, (s, _, x, y) in enumerate([*self.held, *self.steps]):
            lay.shape[i], lay.at[i] = s, (x, y)
        for _ in range(PASSES):
            moved = False
            scores = [self._score(corner, int(lay.shape[i]), *lay.at[i]) for i in range(fixed, n)]
            for i in [fixed + int(k) for k in np.argsort(scores, kind="stable")]:
                if not stop():
                    moved |= self._press(lay, i, corner)
            if not moved:
                break
        return steps_of(lay)[fixed:]

    def _score(self, corner: tuple[float, float], s: int, x: float, y: float) -> float:
        """How far from the corner the panel reaches."""
        half = self.instance.half[s]
        return corner[0] * x + corner[1] * y + abs(corner[0]) * float(half[0]) + abs(corner[1]) * float(half[1])

    def _press(self, lay: Lay, i: int, corner: tuple[float, float]) -> bool:
        """Move panel i to the free place nearest to the corner; it is the last in the lay meanwhile."""
        t, shapes, rooms = self.tables
        last = len(lay.at) - 1
        for column in (lay.at, lay.shape):
            column[[i, last]] = column[[last, i]]
        widest = int(np.max(np.diff(t.first_edge), initial=0))
        most = widest * len(lay.at) + int(np.max(np.diff(rooms.table.first_edge), initial=4)) + 4
        edges, owner = np.empty((most, 4)), np.empty(most, dtype=np.int64)
        now = int(lay.shape[last]), float(lay.at[last, 0]), float(lay.at[last, 1])
        best = self._score(corner, *now) - self.instance.lie
        found: tuple[int, float, float] | None = None
        for s in self.instance.of_panel[self.instance.shapes[now[0]].panel]:
            if rooms.region[0, s] == NONE:
                continue
            reach = self._score(corner, s, 0.0, 0.0)
            touch = self.instance.touch
            value, x, y = best_corner(t, shapes, rooms, lay, last, s, 0, *corner, touch, edges, owner, best - reach)
            if value + reach < best:
                best, found = value + reach, (s, x, y)
        if found is not None:
            lay.shape[last], lay.at[last] = found[0], found[1:]
        for column in (lay.at, lay.shape):
            column[[i, last]] = column[[last, i]]
        return found is not None

    # --- widening -----------------------------------------------------------------------------------------------------

    def _widen(self, budget: float, stop: Callable[[], bool]) -> None:
        """Try the rectangle wider on one side, the four of them by turns; less of it after four failures."""
        wider = self._wider(SIDES[self._side % 4])
        self._side += 1
        packing = None if wider is None else self._around(wider)
        for _ in range(PATIENCE):
            if packing is None or packing.found is not None or packing.stalls or stop():
                break
            packing.advance(budget)
        if packing is not None and packing.found is not None and self._consider(packing.found):
            self._growth = min(GROWTH, self._growth * 2)
            self._last_side = self._side
        elif self._side - self._last_side >= 4:
            self._growth /= 2
            self._last_side = self._side

    def _wider(self, side: tuple[int, int]) -> Polygon | None:
        """The rectangle grown on that side, if it still lies on the cloth and off the panels that stay."""
        r = self.useful.rectangle
        assert r is not None
        more = self._growth * (r.length if side[0] else r.width)
        x0, x1 = r.x - more * (side[0] < 0), r.x + r.length + more * (side[0] > 0)
        y0, y1 = r.y - more * (side[1] < 0), r.y + r.width + more * (side[1] > 0)
        low_x, low_y, high_x, high_y = self.cloth.bounds
        wider = shapely.box(max(x0, low_x), max(y0, low_y), min(x1, high_x), min(y1, high_y))
        shapes = self.instance.shapes
        stays = any(wider.intersects(Polygon(shapes[s].ring + np.array([x, y]))) for s, _, x, y in self.held)
        if stays or wider.area < r.area * (1 + LEAST_GROWTH / 2) or wider.difference(self.clear).area > self.instance.lie:
            return None
        return wider

    def _around(self, out: Polygon) -> Packing | None:
        """The panels on the sheet without that rectangle, to be eased apart; None where one has no room left at all."""
        inner = out.buffer(-self.instance.case.edge, join_style="mitre")  # as a hole it gets the edge back
        if not isinstance(inner, Polygon) or inner.is_empty:
            return None
        ring = tuple((float(x), float(y)) for x, y in inner.exterior.coords[:-1])
        self.seed += 1
        sheet = replace(self.sheet, id=f"{self.sheet.id}\n{self.seed}", holes=(*self.sheet.holes, ring))
        tables = self.instance.tables([sheet])
        self.instance.forget(sheet)
        steps = [self._with_room(step, tables) for step in self.steps]
        known = [step for step in steps if step is not None]
        if len(known) < len(steps):
            return None
        packing = Packing(self.instance, tables, known, self.held, [], self.seed)
        easing: Easing = packing.easing
        easing.keep_in()
        easing.restart()
        return packing

    def _with_room(self, step: Step, tables: Tables) -> Step | None:
        """The step, or another shape of the same panel there, that has room on the sheet."""
        region = tables[2].region[0]
        s, h, x, y = step
        others = self.instance.of_panel[self.instance.shapes[s].panel]
        return next(((z, h, x, y) for z in [s, *others] if region[z] != NONE), None)


def _parts(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]
