"""A lay at work, and its strain: every pair of panels that overlap costs its weight × its penetration depth."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel
from .fields import Table, depth
from .rooms import Floats, Wholes


class Shapes(NamedTuple):
    """A shape is a panel at one turn, centred on its box. half: (shapes, 2) half length and width of the box; nofit:
    (shapes, shapes) region of [lying, moving]; sign: −1 where that region is to be read mirrored through the origin."""

    half: Floats
    nofit: Wholes
    sign: Floats


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
