"""The constructive fill: panels go in one by one, each to the place that is farthest into a corner.

The places tried are those where a lay is tight: corners of the room and of the no-fit polygons of what lies already, and
where the rims of these cross. That is the classical bottom-left placement on no-fit polygons; the corner is given as a
direction, so that four corners and slants between them give different fills.
"""

from __future__ import annotations

import numpy as np

from .compiled import kernel
from .fields import Table, depth
from .rooms import Floats, Rooms, Wholes
from .strain import Lay, Shapes, empty_lay


@kernel
def _free(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, count: int, s: int, h: int, x: float, y: float, touch: float
) -> bool:
    """Whether shape s may lie at (x, y) on sheet h among the first `count` panels of the lay."""
    b = rooms.box[h, s]
    if x < b[0] - touch or x > b[1] + touch or y < b[2] - touch or y > b[3] + touch:
        return False
    step = rooms.lattice[h, s]
    for k in range(2):
        if step[k] > 0.0:
            v = ((x if k == 0 else y) - step[2 + k]) / step[k]
            if abs(v - np.round(v)) * step[k] > 1e-6:
                return False
    for j in range(count):
        if lay.sheet[j] != h:
            continue
        z = lay.shape[j]
        dx, dy = x - lay.at[j, 0], y - lay.at[j, 1]
        if abs(dx) < shapes.half[s, 0] + shapes.half[z, 0] and abs(dy) < shapes.half[s, 1] + shapes.half[z, 1]:
            g = shapes.sign[z, s]
            if depth(t, shapes.nofit[z, s], g * dx, g * dy) > touch:
                return False
    f = rooms.region[h, s]
    return f < 0 or depth(rooms.table, f, x, y) <= touch


@kernel
def _edges_of(t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, count: int, s: int, h: int, out: Floats, owner: Wholes) -> int:
    """All rims that shape s can touch on sheet h, as segments (x, y, dx, dy), and whose each is (−1: the room's)."""
    k = 0
    b = rooms.box[h, s]
    f = rooms.region[h, s]
    if f < 0:
        for c in range(4):
            out[k, 0] = b[0] if c in (0, 3) else b[1]
            out[k, 1] = b[2] if c in (0, 1) else b[3]
            out[k, 2] = b[1] - b[0] if c == 0 else (b[0] - b[1] if c == 2 else 0.0)
            out[k, 3] = b[3] - b[2] if c == 1 else (b[2] - b[3] if c == 3 else 0.0)
            owner[k] = -1
            k += 1
    else:
        for e in range(rooms.table.first_edge[f], rooms.table.first_edge[f + 1]):
            for c in range(4):  # one by one: assigning a slice costs seconds of compiling
                out[k, c] = rooms.table.edge[e, c]
            owner[k] = -1
            k += 1
    for j in range(count):
        if lay.sheet[j] != h:
            continue
        z = lay.shape[j]
        g, f = shapes.sign[z, s], shapes.nofit[z, s]
        for e in range(t.first_edge[f], t.first_edge[f + 1]):
            x, y = lay.at[j, 0] + g * t.edge[e, 0], lay.at[j, 1] + g * t.edge[e, 1]
            dx, dy = g * t.edge[e, 2], g * t.edge[e, 3]
            if min(x, x + dx) <= b[1] and max(x, x + dx) >= b[0] and min(y, y + dy) <= b[3] and max(y, y + dy) >= b[2]:
                out[k, 0], out[k, 1], out[k, 2], out[k, 3] = x, y, dx, dy
                owner[k] = j
                k += 1
    return k


@kernel
def _on_lattice(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, count: int, s: int, h: int, to_x: float, to_y: float, touch: float,
    edges: Floats, best: float, bx: float, by: float,
) -> tuple[float, float, float]:  # fmt: skip
    """As `best_corner`, on cloth with a repeat: where a rim crosses a line of the lattice, or at its points."""
    b, step = rooms.box[h, s], rooms.lattice[h, s]
    if step[0] > 0.0 and step[1] > 0.0:
        for i in range(int(np.ceil((b[0] - step[2]) / step[0])), int(np.floor((b[1] - step[2]) / step[0])) + 1):
            for j in range(int(np.ceil((b[2] - step[3]) / step[1])), int(np.floor((b[3] - step[3]) / step[1])) + 1):
                x, y = step[2] + i * step[0], step[3] + j * step[1]
                score = to_x * x + to_y * y
                if score < best and _free(t, shapes, rooms, lay, count, s, h, x, y, touch):
                    best, bx, by = score, x, y
        return best, bx, by
    k = 0 if step[0] > 0.0 else 1
    for a in range(edges.shape[0]):
        start, along = edges[a, k], edges[a, 2 + k]
        low, high = min(start, start + along), max(start, start + along)
        for i in range(int(np.ceil((low - step[2 + k]) / step[k])), int(np.floor((high - step[2 + k]) / step[k])) + 1):
            line = step[2 + k] + i * step[k]
            share = (line - start) / along if along != 0.0 else 0.0
            x = line if k == 0 else edges[a, 0] + share * edges[a, 2]
            y = line if k == 1 else edges[a, 1] + share * edges[a, 3]
            score = to_x * x + to_y * y
            if score < best and _free(t, shapes, rooms, lay, count, s, h, x, y, touch):
                best, bx, by = score, x, y
    return best, bx, by


@kernel
def best_corner(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, count: int, s: int, h: int, to_x: float, to_y: float,
    touch: float, edges: Floats, owner: Wholes, limit: float,
) -> tuple[float, float, float]:  # fmt: skip
    """The free place of shape s on sheet h with the least to_x·x + to_y·y below `limit`: (that, x, y); inf if none."""
    best, bx, by = limit, 0.0, 0.0
    found = False
    n = _edges_of(t, shapes, rooms, lay, count, s, h, edges, owner)
    for a in range(n):
        x, y = edges[a, 0], edges[a, 1]
        score = to_x * x + to_y * y
        if score < best and _free(t, shapes, rooms, lay, count, s, h, x, y, touch):
            best, bx, by, found = score, x, y, True
    step = rooms.lattice[h, s]
    if step[0] > 0.0 or step[1] > 0.0:
        best, bx, by = _on_lattice(t, shapes, rooms, lay, count, s, h, to_x, to_y, touch, edges[:n], best, bx, by)
        return (best, bx, by) if best < limit else (np.inf, 0.0, 0.0)
    low = np.empty(n, dtype=np.float64)
    for a in range(n):
        first = to_x * edges[a, 0] + to_y * edges[a, 1]
        low[a] = min(first, first + to_x * edges[a, 2] + to_y * edges[a, 3])
    for a in range(n):
        if low[a] >= best:
            continue
        ax, ay, adx, ady = edges[a, 0], edges[a, 1], edges[a, 2], edges[a, 3]
        ax0, ax1, ay0, ay1 = min(ax, ax + adx), max(ax, ax + adx), min(ay, ay + ady), max(ay, ay + ady)
        for c in range(a):
            if low[c] >= best or owner[c] == owner[a]:
                continue
            cx, cy, cdx, cdy = edges[c, 0], edges[c, 1], edges[c, 2], edges[c, 3]
            if min(cx, cx + cdx) > ax1 or max(cx, cx + cdx) < ax0 or min(cy, cy + cdy) > ay1 or max(cy, cy + cdy) < ay0:
                continue
            det = adx * cdy - ady * cdx
            if det == 0.0:
                continue
            u = ((cx - ax) * cdy - (cy - ay) * cdx) / det
            v = ((cx - ax) * ady - (cy - ay) * adx) / det
            if u < 0.0 or u > 1.0 or v < 0.0 or v > 1.0:
                continue
            x, y = ax + u * adx, ay + u * ady
            score = to_x * x + to_y * y
            if score < best and _free(t, shapes, rooms, lay, count, s, h, x, y, touch):
                best, bx, by, found = score, x, y, True
    return (best, bx, by) if found else (np.inf, 0.0, 0.0)


Step = tuple[int, int, float, float]
"""A panel put down: its shape, the number of its sheet, the middle of its box."""


def steps_of(lay: Lay) -> list[Step]:
    at, shape, sheet = lay.at.tolist(), lay.shape.tolist(), lay.sheet.tolist()
    return [(s, h, x, y) for s, h, (x, y) in zip(shape, sheet, at, strict=True)]


CORNERS = ((1.0, 0.02), (0.02, 1.0), (1.0, -0.02), (0.02, -1.0), (-1.0, 0.02), (-0.02, 1.0), (1.0, 0.6), (-1.0, -0.6))
"""Directions that fills are pressed away from: the sides, in both ways along them, and two slants."""


class Filler:
    """Fills sheets one panel at a time."""

    def __init__(self, tables: tuple[Table, Shapes, Rooms], shapes_of: list[range], areas: Floats, touch: float) -> None:
        self.t, self.shapes, self.rooms = tables
        self.shapes_of, self.areas, self.touch = shapes_of, areas, touch

    def fill(
        self,
        wanted: list[int],
        sheets: list[int],
        corner: tuple[float, float],
        laid: list[Step],
        hint: list[int] | None = None,
    ) -> list[Step]:
        """Put down copies of the panels, those of most area first, on the sheets in order; what finds no place is left out.

        wanted: copies of each panel (those in `laid` not counted). Returns the steps after `laid`.
        """
        room = len(laid) + sum(wanted)
        lay = empty_lay(room)
        count = 0
        for s, h, x, y in laid:
            lay.shape[count], lay.sheet[count], lay.at[count] = s, h, (x, y)
            count += 1
        widest = int(np.max(np.diff(self.t.first_edge), initial=0))
        most = widest * room + int(np.max(np.diff(self.rooms.table.first_edge), initial=4)) + 4
        edges, owner = np.empty((most, 4)), np.empty(most, dtype=np.int64)
        left = list(wanted)
        for k in hint or sorted(range(len(wanted)), key=lambda k: -self.areas[k]):
            open_sheets = list(sheets)
            while left[k] > 0 and open_sheets:
                h = open_sheets[0]
                best = (np.inf, 0.0, 0.0)
                shape = -1
                for s in self.shapes_of[k]:
                    if self.rooms.region[h, s] == -1:
                        continue
                    # Turns are compared by how far the panel then reaches back from the corner, not by their middles.
                    reach = abs(corner[0]) * self.shapes.half[s, 0] + abs(corner[1]) * self.shapes.half[s, 1]
                    limit = best[0] - reach
                    value, x, y = best_corner(
                        self.t, self.shapes, self.rooms, lay, count, s, h, *corner, self.touch, edges, owner, limit
                    )
                    if value + reach < best[0]:
                        best, shape = (value + reach, x, y), s
                if shape < 0:
                    open_sheets.pop(0)
                    continue
                lay.shape[count], lay.sheet[count], lay.at[count] = shape, h, best[1:]
                count += 1
                left[k] -= 1
        return steps_of(lay)[len(laid) : count]
