"""Where each panel may be: its rooms on the sheets, in compiled code."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel
from .fields import Table, nearest_free

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]


class Rooms(NamedTuple):
    """Where each shape may be on each sheet. box: (sheets, shapes, 4) lowest and highest x, y of its middle; region: the
    region within that box, −2 when it is the whole box, −1 when there is no room; open_first, open_count, open_cell: the
    cells of each region that are not wholly bad; lattice: (sheets, shapes, 4) step and offset along x and y (0: any);
    run_span: (sheets, shapes, 2) where in `run` its runs on the lattice begin and end: (n, 5) their ends, and the step along
    x or 0; table: the regions, packed."""

    box: Floats
    region: Wholes
    open_first: Wholes
    open_cell: Wholes
    lattice: Floats
    run_span: Wholes
    run: Floats
    table: Table


@kernel
def uniform(rng: NDArray[np.uint64]) -> float:
    """The next number in [0, 1): splitmix64 (Steele, Lea & Flood 2014), the state in rng[0]."""
    rng[0] += np.uint64(0x9E3779B97F4A7C15)
    z = rng[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return float(z >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@kernel
def on_run(run: Floats, x: float, y: float) -> tuple[float, float]:
    """The place on a run, which is level or upright, that is nearest to (x, y)."""
    x = min(max(run[0], run[2]), max(min(run[0], run[2]), x))
    y = min(max(run[1], run[3]), max(min(run[1], run[3]), y))
    if run[4] > 0.0:
        x = run[0] + np.round((x - run[0]) / run[4]) * run[4]
    return x, y


@kernel
def into_room(rooms: Rooms, h: int, s: int, x: float, y: float) -> tuple[float, float]:
    """The place in the room that is nearest to (x, y); on a lattice, that on its runs."""
    first, end = rooms.run_span[h, s, 0], rooms.run_span[h, s, 1]
    if end > first:
        best, bx, by = np.inf, 0.0, 0.0
        for k in range(first, end):
            px, py = on_run(rooms.run[k], x, y)
            off = (px - x) * (px - x) + (py - y) * (py - y)
            if off < best:
                best, bx, by = off, px, py
        return bx, by
    b, f = rooms.box[h, s], rooms.region[h, s]
    x, y = min(b[1], max(b[0], x)), min(b[3], max(b[2], y))
    return nearest_free(rooms.table, f, x, y) if f >= 0 else (x, y)


@kernel
def anywhere(rooms: Rooms, h: int, s: int, rng: NDArray[np.uint64]) -> tuple[float, float]:
    """A random place in the room."""
    first, end = rooms.run_span[h, s, 0], rooms.run_span[h, s, 1]
    if end > first:
        run = rooms.run[first + int(uniform(rng) * (end - first))]
        share = uniform(rng)
        return on_run(run, run[0] + share * (run[2] - run[0]), run[1] + share * (run[3] - run[1]))
    b = rooms.box[h, s]
    f = rooms.region[h, s]
    if f < 0:
        x, y = b[0] + uniform(rng) * (b[1] - b[0]), b[2] + uniform(rng) * (b[3] - b[2])
    else:
        begin, count = rooms.open_first[f], rooms.open_first[f + 1] - rooms.open_first[f]
        c = rooms.open_cell[begin + int(uniform(rng) * count)]
        head = rooms.table.head[f]
        nx = int(head[4])
        x = head[0] + (c % nx + uniform(rng)) / head[2]
        y = head[1] + (c // nx + uniform(rng)) / head[3]
    return into_room(rooms, h, s, x, y)
