"""How deep a point lies in a region, fast: each region's edges sorted into the cells of a grid.

A cell knows its kind (0 free, 1 wholly bad, 2 or 3 near the rim with a free or a bad middle) and which edges can be nearest
to any point of it. So the exact distance to the rim costs two or three edges instead of all. Many regions are packed in one
table of flat arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel

Coordinates = NDArray[np.float64]


class Table(NamedTuple):
    """Regions packed flat, in four arrays that stay in the processor's cache.

    head: (regions, 8) grid origin x, y; cells per mm each way; cells each way; first cell; 1 if what lies beyond is bad.
    cell: per cell, where its edges start in `near`, times 4, plus its kind; one more at the end.
    near: edge numbers. edge: (edges, 5) start x, y; direction x, y; 1 / length². first_edge: of each region, one more at the
    end.
    """

    head: NDArray[np.float64]
    cell: NDArray[np.int64]
    near: NDArray[np.int32]
    edge: NDArray[np.float64]
    first_edge: NDArray[np.int64]


class Field(NamedTuple):
    """One region, not yet packed."""

    x0: float
    y0: float
    per_x: float
    per_y: float
    nx: int
    ny: int
    beyond_bad: bool
    kind: NDArray[np.int8]
    first_near: NDArray[np.int64]
    near: NDArray[np.int32]
    edges: NDArray[np.float64]


OFF_MIDDLE = (0.50123, 0.49817)
"""Where in a cell its middle is taken: off the true one, so that no line through corners of the shapes passes there."""


@kernel
def _distance2(px: float, py: float, ax: float, ay: float, dx: float, dy: float, inverse: float) -> float:
    t = ((px - ax) * dx + (py - ay) * dy) * inverse
    t = min(1.0, max(0.0, t))
    ux, uy = px - ax - t * dx, py - ay - t * dy
    return ux * ux + uy * uy


@kernel
def _crosses(px: float, py: float, qx: float, qy: float, ax: float, ay: float, dx: float, dy: float) -> bool:
    """Whether the segment p–q crosses the edge a + t·d."""
    ux, uy = qx - px, qy - py
    s = ux * (ay - py) - uy * (ax - px)
    t = ux * (ay + dy - py) - uy * (ax + dx - px)
    if (s > 0) == (t > 0):
        return False
    s = dx * (py - ay) - dy * (px - ax)
    t = dx * (qy - ay) - dy * (qx - ax)
    return (s > 0) != (t > 0)


@kernel
def _inside(px: float, py: float, edges: NDArray[np.float64]) -> bool:
    inside = False
    for e in range(edges.shape[0]):
        ay, dy = edges[e, 1], edges[e, 3]
        if (ay > py) != (ay + dy > py) and px < edges[e, 0] + (py - ay) / dy * edges[e, 2]:
            inside = not inside
    return inside


BLOCK = 6
"""Cells are looked at in blocks of so many each way: most edges are too far from a block to be near to any cell of it."""


@kernel
def _fill_cells(
    edges: NDArray[np.float64], x0: float, y0: float, w: float, h: float, nx: int, ny: int, inside_bad: bool,
    off_x: float, off_y: float, kind: NDArray[np.int8], first: NDArray[np.int64], near: NDArray[np.int32],
) -> int:  # fmt: skip
    """Sort the edges into cells, block after block; `first` (cells, 2): where a cell's edges begin and end. Returns how many
    entries `near` needs; writes what fits.

    An edge is listed if it can be nearest to some point of the cell: no farther from its middle than the nearest edge is, by
    more than the cell's own breadth.
    """
    half = np.sqrt(w * w + h * h) * max(off_x, off_y, 1 - off_x, 1 - off_y)
    m = edges.shape[0]
    d = np.empty(m, dtype=np.float64)
    some = np.empty(m, dtype=np.int64)
    k = 0
    for by in range(0, ny, BLOCK):
        for bx in range(0, nx, BLOCK):
            ex, ey = min(bx + BLOCK, nx), min(by + BLOCK, ny)
            cx, cy = x0 + ((bx + ex - 1) / 2 + off_x) * w, y0 + ((by + ey - 1) / 2 + off_y) * h
            reach = 0.5 * np.sqrt(((ex - bx - 1) * w) ** 2 + ((ey - by - 1) * h) ** 2)
            nearest = np.inf
            for e in range(m):
                d[e] = _distance2(cx, cy, edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3], edges[e, 4])
                nearest = min(nearest, d[e])
            limit = (np.sqrt(nearest) + 2 * reach + 2 * half) ** 2
            count = 0
            for e in range(m):
                some[count] = e
                count += 1 if d[e] <= limit else 0
            block_bad = _inside(cx, cy, edges) == inside_bad
            for y in range(by, ey):
                for x in range(bx, ex):
                    c = y * nx + x
                    first[c, 0] = k
                    mx, my = x0 + (x + off_x) * w, y0 + (y + off_y) * h
                    bad = block_bad
                    nearest = np.inf
                    for i in range(count):
                        e = some[i]
                        d[i] = np.sqrt(_distance2(mx, my, edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3], edges[e, 4]))
                        nearest = min(nearest, d[i])
                        if _crosses(cx, cy, mx, my, edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]):
                            bad = not bad
                    if nearest > half:
                        kind[c] = 1 if bad else 0
                    else:
                        kind[c] = 3 if bad else 2
                    if bad or nearest <= half:
                        for i in range(count):
                            if d[i] <= nearest + 2 * half:
                                if k < near.size:
                                    near[k] = some[i]
                                k += 1
                    first[c, 1] = k
    return k


def make_field(rings: Sequence[Coordinates], inside_bad: bool) -> Field:
    """The field of a region given by its rings (outer and holes, any winding).

    inside_bad: True for a no-fit polygon (bad inside, free beyond); False for a room (free inside, bad outside).
    """
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    d = ends - starts
    length2 = np.sum(d * d, axis=1)
    keep = length2 > 0
    edges = np.ascontiguousarray(np.column_stack([starts, d, 1 / np.where(keep, length2, 1.0)])[keep])
    low, high = starts.min(axis=0), starts.max(axis=0)
    size = np.maximum(high - low, 1e-9)
    margin = 1e-6 * float(size.max())
    low, size = low - margin, size + 2 * margin
    cells = float(np.clip(6.0 * len(edges), 36.0, 2500.0))
    nx = int(np.clip(np.round(np.sqrt(cells * size[0] / size[1])), 1, 200))
    ny = int(np.clip(np.round(np.sqrt(cells * size[1] / size[0])), 1, 200))
    kind = np.empty(nx * ny, dtype=np.int8)
    ends = np.empty((nx * ny, 2), dtype=np.int64)
    near = np.empty(6 * nx * ny + len(edges), dtype=np.int32)
    while True:
        arguments = (low[0], low[1], size[0] / nx, size[1] / ny, nx, ny, inside_bad, *OFF_MIDDLE)
        needed = _fill_cells(edges, *arguments, kind, ends, near)
        if needed <= near.size:
            break
        near = np.empty(needed, dtype=np.int32)
    counts = ends[:, 1] - ends[:, 0]
    first = np.concatenate([[0], np.cumsum(counts)])
    row_by_row = np.repeat(ends[:, 0] - first[:-1], counts) + np.arange(needed)
    return Field(low[0], low[1], nx / size[0], ny / size[1], nx, ny, not inside_bad, kind, first, near[row_by_row], edges)


def pack(fields: Sequence[Field]) -> Table:
    """Many fields in one table."""
    cells = np.cumsum([0] + [f.nx * f.ny for f in fields])
    nears = np.cumsum([0] + [f.near.size for f in fields])
    edges = np.cumsum([0] + [len(f.edges) for f in fields])
    head = [(f.x0, f.y0, f.per_x, f.per_y, f.nx, f.ny, c, f.beyond_bad) for f, c in zip(fields, cells, strict=False)]
    cell = [(f.first_near[:-1] + n) * 4 + f.kind for f, n in zip(fields, nears, strict=False)]
    near = [f.near + e for f, e in zip(fields, edges, strict=False)]
    return Table(
        np.array(head, dtype=np.float64).reshape(-1, 8),
        np.concatenate([*cell, nears[-1:] * 4]).astype(np.int64),
        np.concatenate([*near, np.empty(0)]).astype(np.int32),
        np.ascontiguousarray(np.concatenate([*(f.edges for f in fields), np.empty((0, 5))])),
        edges.astype(np.int64),
    )


@kernel
def nearest_free(t: Table, f: int, x: float, y: float) -> tuple[float, float]:
    """The point of region f's rim that is nearest to (x, y) if that is bad, else (x, y) itself."""
    head = t.head[f]
    gx, gy = (x - head[0]) * head[2], (y - head[1]) * head[3]
    if not (0.0 <= gx < head[4] and 0.0 <= gy < head[5]):
        if head[7] == 0.0:
            return x, y
        x = min(head[0] + (head[4] - 1e-9) / head[2], max(head[0], x))
        y = min(head[1] + (head[5] - 1e-9) / head[3], max(head[1], y))
        gx, gy = (x - head[0]) * head[2], (y - head[1]) * head[3]
    cx, cy = int(gx), int(gy)
    c = int(head[6]) + cy * int(head[4]) + cx
    kind = t.cell[c] & 3
    if kind == 0:
        return x, y
    mx, my = head[0] + (cx + 0.50123) / head[2], head[1] + (cy + 0.49817) / head[3]
    bad = kind != 2
    best = np.inf
    bx, by = x, y
    for k in range(t.cell[c] >> 2, t.cell[c + 1] >> 2):
        e = t.edge[t.near[k]]
        s = min(1.0, max(0.0, ((x - e[0]) * e[2] + (y - e[1]) * e[3]) * e[4]))
        qx, qy = e[0] + s * e[2], e[1] + s * e[3]
        d = (x - qx) ** 2 + (y - qy) ** 2
        if d < best:
            best, bx, by = d, qx, qy
        if kind >= 2 and _crosses(x, y, mx, my, e[0], e[1], e[2], e[3]):
            bad = not bad
    if not bad:
        return x, y
    return bx, by


@kernel
def depth(t: Table, f: int, x: float, y: float) -> float:
    """How far (x, y) must move to leave the bad part of region f: 0 where it is free."""
    head = t.head[f]
    gx, gy = (x - head[0]) * head[2], (y - head[1]) * head[3]
    if not (0.0 <= gx < head[4] and 0.0 <= gy < head[5]):
        if head[7] == 0.0:
            return 0.0
        qx, qy = nearest_free(t, f, x, y)
        return float(np.hypot(x - qx, y - qy))
    cx, cy = int(gx), int(gy)
    c = int(head[6]) + cy * int(head[4]) + cx
    kind = t.cell[c] & 3
    if kind == 0:
        return 0.0
    bad = kind != 2
    mx, my = head[0] + (cx + 0.50123) / head[2], head[1] + (cy + 0.49817) / head[3]
    best = np.inf
    for k in range(t.cell[c] >> 2, t.cell[c + 1] >> 2):
        e = t.edge[t.near[k]]
        best = min(best, _distance2(x, y, e[0], e[1], e[2], e[3], e[4]))
        if kind >= 2 and _crosses(x, y, mx, my, e[0], e[1], e[2], e[3]):
            bad = not bad
    return float(np.sqrt(best)) if bad else 0.0


@kernel
def way_out(t: Table, f: int, x: float, y: float) -> tuple[float, float, float]:
    """As `depth`, and the unit vector towards the nearest rim (nought where it is free)."""
    qx, qy = nearest_free(t, f, x, y)
    d = float(np.hypot(qx - x, qy - y))
    if d <= 1e-12:
        return 0.0, 0.0, 0.0
    return d, (qx - x) / d, (qy - y) / d
