"""Easing panels apart: guided local search on weighted penetration depths, in compiled code.

Every pair of panels on one sheet that overlap costs its weight × its penetration depth. The panels that overlap are taken in
random order; each goes to the best place found among samples of all it may reach, the best of them refined. Pairs that go
on overlapping grow heavier (guided local search: Voudouris & Tsang 1999; on no-fit polygons: Umetani et al. 2009, Imamichi
et al. 2009), which drives the lay out of its dead ends. Panels never leave their room.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel
from .fields import Table, depth, nearest_free

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]


class Shapes(NamedTuple):
    """A shape is a panel at one turn, centred on its box. half: (shapes, 2) half length and width of the box; nofit:
    (shapes, shapes) region of [lying, moving]; sign: −1 where that region is to be read mirrored through the origin."""

    half: Floats
    nofit: Wholes
    sign: Floats


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


class Lay(NamedTuple):
    """Where the panels are: middle (n, 2), shape, sheet; kind (n, 2): first and last + 1 of its shapes; moves: may it."""

    at: Floats
    shape: Wholes
    sheet: Wholes
    kind: Wholes
    moves: NDArray[np.bool_]


class Strain(NamedTuple):
    """weight, depth: (n, n) of the pairs. tally: least total depth so far, sweeps since it last fell, pair evaluations so far,
    total depth now. best_at, best_shape, best_sheet: the lay with the least total depth."""

    weight: Floats
    depth: Floats
    tally: Floats
    best_at: Floats
    best_shape: Wholes
    best_sheet: Wholes


def empty_lay(n: int) -> Lay:
    """Room for n pieces, none of which is anywhere yet."""
    whole = np.zeros(n, dtype=np.int64)
    return Lay(np.zeros((n, 2)), whole, whole.copy(), np.zeros((n, 2), dtype=np.int64), np.ones(n, dtype=np.bool_))


def empty_strain(n: int) -> Strain:
    whole = np.zeros(n, dtype=np.int64)
    tally = np.array([np.inf, 0.0, 0.0, 0.0])
    return Strain(np.ones((n, n)), np.zeros((n, n)), tally, np.zeros((n, 2)), whole, whole.copy())


SAMPLES, NEARBY = 24, 8
"""Places tried over all the room, and near where the panel is; the best three are refined."""


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
def strain_at(
    t: Table, shapes: Shapes, lay: Lay, weight: Floats, i: int, s: int, h: int, x: float, y: float, limit: float
) -> float:
    """Weighted depth of panel i against all others, were it of shape s at (x, y) on sheet h; stops beyond `limit`."""
    total: float = 0.0
    hw, hh = shapes.half[s, 0], shapes.half[s, 1]
    for j in range(lay.at.shape[0]):
        dx, dy = x - lay.at[j, 0], y - lay.at[j, 1]
        z = lay.shape[j]
        if abs(dx) >= hw + shapes.half[z, 0] or abs(dy) >= hh + shapes.half[z, 1] or lay.sheet[j] != h or j == i:
            continue
        g = shapes.sign[z, s]
        d = depth(t, shapes.nofit[z, s], g * dx, g * dy)
        if d > 0.0:
            total += weight[i, j] * d
            if total >= limit:
                return total
    return total


FAR = 1e7
"""What parts the sheets where boxes are compared."""


@kernel
def boxes_of(shapes: Shapes, lay: Lay, i: int) -> Floats:
    """(4, n) middle and half size of each panel's box, sheets apart; that of panel i meets no other."""
    n = lay.at.shape[0]
    boxes = np.empty((4, n), dtype=np.float64)
    for j in range(n):
        z = lay.shape[j]
        boxes[0, j], boxes[1, j] = lay.at[j, 0] + FAR * lay.sheet[j], lay.at[j, 1]
        boxes[2, j], boxes[3, j] = shapes.half[z, 0], shapes.half[z, 1]
    boxes[2, i] = -np.inf
    return boxes


@kernel
def meeting(boxes: Floats, h: int, x: float, y: float, hw: float, hh: float, near: Wholes) -> int:
    """Write the panels whose boxes meet a box of half size hw × hh at (x, y) on sheet h; returns how many."""
    x += FAR * h
    count = 0
    for j in range(boxes.shape[1]):
        near[count] = j
        meets = (abs(x - boxes[0, j]) < hw + boxes[2, j]) & (abs(y - boxes[1, j]) < hh + boxes[3, j])
        count += 1 if meets else 0
    return count


@kernel
def strain_among(
    t: Table, shapes: Shapes, lay: Lay, weight: Floats, i: int, s: int, x: float, y: float, limit: float, near: Wholes,
    count: int,
) -> float:  # fmt: skip
    """As `strain_at`, against the panels listed only."""
    total: float = 0.0
    hw, hh = shapes.half[s, 0], shapes.half[s, 1]
    for k in range(count):
        j = near[k]
        dx, dy = x - lay.at[j, 0], y - lay.at[j, 1]
        z = lay.shape[j]
        if abs(dx) >= hw + shapes.half[z, 0] or abs(dy) >= hh + shapes.half[z, 1]:
            continue
        g = shapes.sign[z, s]
        d = depth(t, shapes.nofit[z, s], g * dx, g * dy)
        if d > 0.0:
            total += weight[i, j] * d
            if total >= limit:
                return total
    return total


@kernel
def _on_run(run: Floats, x: float, y: float) -> tuple[float, float]:
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
            px, py = _on_run(rooms.run[k], x, y)
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
        return _on_run(run, run[0] + share * (run[2] - run[0]), run[1] + share * (run[3] - run[1]))
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


@kernel
def _remember(top: Floats, value: float, s: int, h: int, x: float, y: float) -> None:
    """Keep the place among the best few, the worst of which is last."""
    k = top.shape[0] - 1
    if value >= top[k, 0]:
        return
    while k > 0 and top[k - 1, 0] > value:
        for c in range(5):  # one by one: assigning a slice costs seconds of compiling
            top[k, c] = top[k - 1, c]
        k -= 1
    top[k, 0], top[k, 1], top[k, 2], top[k, 3], top[k, 4] = value, s, h, x, y


@kernel
def _refine(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, weight: Floats, i: int, place: Floats, step: float, least: float,
    boxes: Floats, near: Wholes,
) -> int:  # fmt: skip
    """Walk from a place downhill, steps halving from `step` to `least` (a compass search). Returns evaluations."""
    s, h = int(place[1]), int(place[2])
    evaluations = 0
    dx, dy = step, step
    first = True
    reach = 2.0 * step
    cx, cy = place[3], place[4]
    count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
    while max(dx, dy) > least and place[0] > 0.0 and evaluations < 400:  # a rim can lead round and round by rounding
        moved = False
        for k in range(4):
            hop_x, hop_y = max(dx, rooms.lattice[h, s, 0]), max(dy, rooms.lattice[h, s, 1])  # to the next bar at the least
            sx = hop_x if k == 0 else (-hop_x if k == 1 else 0.0)
            sy = hop_y if k == 2 else (-hop_y if k == 3 else 0.0)
            x, y = into_room(rooms, h, s, place[3] + sx, place[4] + sy)
            if x != x or (x == place[3] and y == place[4]):
                continue
            if abs(x - cx) > reach or abs(y - cy) > reach:
                cx, cy = x, y
                count = meeting(boxes, h, cx, cy, shapes.half[s, 0] + reach, shapes.half[s, 1] + reach, near)
            value = strain_among(t, shapes, lay, weight, i, s, x, y, place[0], near, count)
            evaluations += 1
            if value < place[0] * (1.0 - 1e-9):
                place[0], place[3], place[4] = value, x, y
                moved = True
        if moved and not first:
            dx, dy = dx * 1.2, dy * 1.2
        elif not moved:
            dx, dy = dx * 0.45, dy * 0.45
        first = False
    return evaluations


@kernel
def _choose_place(rooms: Rooms, lay: Lay, i: int, rng: NDArray[np.uint64]) -> tuple[int, int]:
    """A random sheet and shape that go together, or (−1, −1)."""
    first, count = lay.kind[i, 0], lay.kind[i, 1] - lay.kind[i, 0]
    for _ in range(12):
        h = int(uniform(rng) * rooms.region.shape[0])
        s = first + int(uniform(rng) * count)
        if rooms.region[h, s] != -1:
            return s, h
    return -1, -1


@kernel
def relocate(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, weight: Floats, i: int, least: float, rng: NDArray[np.uint64]
) -> int:
    """Move panel i to the best place found, if that is better than where it is. Returns evaluations."""
    s, h, x, y = lay.shape[i], lay.sheet[i], lay.at[i, 0], lay.at[i, 1]
    now = strain_at(t, shapes, lay, weight, i, s, h, x, y, np.inf)
    boxes, near = boxes_of(shapes, lay, i), np.empty(lay.at.shape[0], dtype=np.int64)
    top = np.full((3, 5), np.inf)
    top[0, 0], top[0, 1], top[0, 2], top[0, 3], top[0, 4] = now, s, h, x, y
    size = min(shapes.half[s, 0], shapes.half[s, 1])
    evaluations = 1
    for _ in range(SAMPLES):
        zs, zh = _choose_place(rooms, lay, i, rng)
        if zs < 0:
            continue
        px, py = anywhere(rooms, zh, zs, rng)
        if px != px:
            continue
        evaluations += 1
        count = meeting(boxes, zh, px, py, shapes.half[zs, 0], shapes.half[zs, 1], near)
        value = strain_among(t, shapes, lay, weight, i, zs, px, py, top[2, 0], near, count)
        _remember(top, value, zs, zh, px, py)
    for _ in range(NEARBY):
        zs = lay.kind[i, 0] + int(uniform(rng) * (lay.kind[i, 1] - lay.kind[i, 0]))
        if rooms.region[h, zs] == -1:
            continue
        px, py = into_room(rooms, h, zs, x + (uniform(rng) - 0.5) * size, y + (uniform(rng) - 0.5) * size)
        if px != px:
            continue
        evaluations += 1
        count = meeting(boxes, h, px, py, shapes.half[zs, 0], shapes.half[zs, 1], near)
        value = strain_among(t, shapes, lay, weight, i, zs, px, py, top[2, 0], near, count)
        _remember(top, value, zs, h, px, py)
    best = 0
    for k in range(3):
        if top[k, 0] < np.inf:
            evaluations += _refine(t, shapes, rooms, lay, weight, i, top[k], 0.2 * size, 0.01 * size, boxes, near)
            if top[k, 0] < top[best, 0]:
                best = k
    evaluations += _refine(t, shapes, rooms, lay, weight, i, top[best], 0.01 * size, least, boxes, near)
    if top[best, 0] < now:
        lay.at[i, 0], lay.at[i, 1] = top[best, 3], top[best, 4]
        lay.shape[i], lay.sheet[i] = int(top[best, 1]), int(top[best, 2])
    return evaluations


@kernel
def measure(t: Table, shapes: Shapes, lay: Lay, depths: Floats, i: int) -> float:
    """Write the depths of panel i against all others; returns their sum."""
    total = 0.0
    s, h = lay.shape[i], lay.sheet[i]
    for j in range(lay.at.shape[0]):
        d = 0.0
        if j != i and lay.sheet[j] == h:
            z = lay.shape[j]
            dx, dy = lay.at[i, 0] - lay.at[j, 0], lay.at[i, 1] - lay.at[j, 1]
            if abs(dx) < shapes.half[s, 0] + shapes.half[z, 0] and abs(dy) < shapes.half[s, 1] + shapes.half[z, 1]:
                g = shapes.sign[z, s]
                d = depth(t, shapes.nofit[z, s], g * dx, g * dy)
        depths[i, j] = d
        depths[j, i] = d
        total += d
    return total


@kernel
def _reweigh(strain: Strain, touch: float, low: float, high: float, fade: float) -> float:
    """Make pairs that overlap heavier by how deep they are, let the others fade towards 1. Returns the total depth."""
    n = strain.depth.shape[0]
    deepest, total = 0.0, 0.0
    for i in range(n):
        for j in range(i):
            deepest = max(deepest, strain.depth[i, j])
            if strain.depth[i, j] > touch:
                total += strain.depth[i, j]
    for i in range(n):
        for j in range(i):
            d = strain.depth[i, j]
            w = strain.weight[i, j]
            w = w * (low + (high - low) * d / deepest) if d > touch else max(1.0, w * fade)
            strain.weight[i, j] = w
            strain.weight[j, i] = w
    return total


@kernel
def separate(
    t: Table, shapes: Shapes, rooms: Rooms, lay: Lay, strain: Strain, rng: NDArray[np.uint64], touch: float, patience: int,
    budget: float, low: float, high: float, fade: float,
) -> int:  # fmt: skip
    """Sweep until nothing overlaps (1), patience is out (2) or the budget of evaluations is spent (0: call again).

    touch: a pair no deeper than this counts as touching.
    """
    n = lay.at.shape[0]
    order = np.arange(n)
    spent = 0.0
    while True:
        count = 0
        for i in range(n):
            if lay.moves[i]:
                for j in range(n):
                    if strain.depth[i, j] > touch:
                        order[count] = i
                        count += 1
                        break
        if count == 0:
            strain.tally[3] = 0.0
            return 1
        for k in range(count - 1, 0, -1):
            m = int(uniform(rng) * (k + 1))
            order[k], order[m] = order[m], order[k]
        for k in range(count):
            i = order[k]
            over = False
            for j in range(n):
                over |= strain.depth[i, j] > touch
            if over:
                spent += relocate(t, shapes, rooms, lay, strain.weight, i, 0.5 * touch, rng)
                measure(t, shapes, lay, strain.depth, i)
        total = _reweigh(strain, touch, low, high, fade)
        strain.tally[3] = total
        if total < 0.98 * strain.tally[0]:
            strain.tally[1] = 0.0
        else:
            strain.tally[1] += 1.0
        if total < strain.tally[0]:
            strain.tally[0] = total
            for i in range(n):
                strain.best_at[i, 0], strain.best_at[i, 1] = lay.at[i, 0], lay.at[i, 1]
                strain.best_shape[i], strain.best_sheet[i] = lay.shape[i], lay.sheet[i]
        if total == 0.0:
            strain.tally[2] += spent
            return 1
        if strain.tally[1] > patience:
            strain.tally[2] += spent
            return 2
        if spent > budget:
            strain.tally[2] += spent
            return 0
