"""Easing panels apart: guided local search on weighted penetration depths, in compiled code.

Every pair of panels on one sheet that overlap costs its weight × its penetration depth. The panels that overlap are taken in
random order; each goes to the best place found among samples of all it may reach, the best of them refined. Pairs that go
on overlapping grow heavier (guided local search: Voudouris & Tsang 1999; on no-fit polygons: Umetani et al. 2009, Imamichi
et al. 2009), which drives the lay out of its dead ends. Panels never leave their room.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel
from .fields import Table, depth
from .rooms import Floats, Rooms, anywhere, into_room, uniform
from .sliding import downhill
from .strain import Lay, Shapes, Strain, boxes_of, meeting, strain_among, strain_at

SAMPLES, NEARBY = 24, 8
"""Places tried over all the room, and near where the panel is; the best three are refined."""


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
        evaluations += 1
        count = meeting(boxes, zh, px, py, shapes.half[zs, 0], shapes.half[zs, 1], near)
        value = strain_among(t, shapes, lay, weight, i, zs, px, py, top[2, 0], near, count)
        _remember(top, value, zs, zh, px, py)
    for _ in range(NEARBY):
        zs = lay.kind[i, 0] + int(uniform(rng) * (lay.kind[i, 1] - lay.kind[i, 0]))
        if rooms.region[h, zs] == -1:
            continue
        px, py = into_room(rooms, h, zs, x + (uniform(rng) - 0.5) * size, y + (uniform(rng) - 0.5) * size)
        evaluations += 1
        count = meeting(boxes, h, px, py, shapes.half[zs, 0], shapes.half[zs, 1], near)
        value = strain_among(t, shapes, lay, weight, i, zs, px, py, top[2, 0], near, count)
        _remember(top, value, zs, h, px, py)
    best = 0
    for k in range(3):
        if top[k, 0] < np.inf:
            evaluations += downhill(t, shapes, rooms, lay, weight, i, top[k], size, least, False, boxes, near)
            if top[k, 0] < top[best, 0]:
                best = k
    evaluations += downhill(t, shapes, rooms, lay, weight, i, top[best], size, least, True, boxes, near)
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
