"""The convolution of two polygons' boundaries: the closed curves whose winding number counts how often the polygons meet.

Walking round one polygon while the other keeps the vertex whose turn holds the walking direction gives closed curves; the
winding number of these at a point p is the number of parts of A ∩ (p − B), for A and B each in one piece without holes
(Guibas, Ramshaw & Stolfi, "A kinetic framework for computational geometry", FOCS 1983; for discs in the plane every part
of the intersection is itself a disc, so the Euler characteristic counts the parts). So the points with a winding number
that is not zero are the Minkowski sum, whatever the number of reflex corners.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from .compiled import kernel

Whole = NDArray[np.int64]


@kernel
def _turn(a: float, b: float) -> float:
    """The turn from direction a to direction b, in (−π, π]."""
    t = b - a
    while t <= -np.pi:
        t += 2 * np.pi
    while t > np.pi:
        t -= 2 * np.pi
    return t


@kernel
def _within(direction: int, first: int, last: int, n: int, left: bool) -> bool:
    """Whether rank `direction` lies in the turn from rank `first` (left out) to `last` (taken in), `left` = anticlockwise.

    Ranks are all different, so a tie of parallel edges is broken the same way wherever it is looked at: that is what
    keeps the curves closed.
    """
    if left:
        return (direction - first) % n <= (last - first) % n
    return (first - direction) % n <= (first - last) % n


@kernel
def _segments(ra: Whole, rb: Whole, left_a: NDArray[np.bool_], left_b: NDArray[np.bool_], out: Whole) -> int:
    """Fill `out` with (from, to) nodes, node = i·m + j, of every edge of one polygon met by a vertex of the other.

    An edge met by a reflex vertex is walked backwards.
    """
    n, m = ra.size, rb.size
    total = n + m
    k = 0
    for i in range(n):
        for j in range(m):
            here = i * m + j
            # Edge i of A runs from its vertex i to i + 1; vertex j of B turns from edge j − 1 to edge j.
            if _within(ra[i], rb[j - 1], rb[j], total, left_b[j]):
                there = ((i + 1) % n) * m + j
                if left_b[j]:
                    out[k, 0], out[k, 1] = here, there
                else:
                    out[k, 0], out[k, 1] = there, here
                k += 1
            if _within(rb[j], ra[i - 1], ra[i], total, left_a[i]):
                there = i * m + (j + 1) % m
                if left_a[i]:
                    out[k, 0], out[k, 1] = here, there
                else:
                    out[k, 0], out[k, 1] = there, here
                k += 1
    return k


@kernel
def _closed_walks(segments: Whole, nodes: int) -> tuple[Whole, Whole]:
    """String the segments into closed walks: the nodes in order, and where each walk starts (with the end last)."""
    k = segments.shape[0]
    first = np.full(nodes, -1, dtype=np.int64)
    following = np.full(k, -1, dtype=np.int64)
    for e in range(k):
        following[e] = first[segments[e, 0]]
        first[segments[e, 0]] = e
    walk = np.empty(k, dtype=np.int64)
    starts = np.empty(k + 1, dtype=np.int64)
    used = 0
    walks = 0
    for e in range(k):
        node = segments[e, 0]
        if first[node] == -1:
            continue
        starts[walks] = used
        walks += 1
        while first[node] != -1:
            edge = first[node]
            first[node] = following[edge]
            walk[used] = node
            used += 1
            node = segments[edge, 1]
    starts[walks] = used
    return walk[:used], starts[: walks + 1]


def convolution(a: Whole, b: Whole) -> list[Whole]:
    """The closed curves of the convolution of two rings.

    a, b: (n, 2) and (m, 2) whole coordinates below 2**30, counter-clockwise, no two neighbouring points alike.
    Returns a list of (k, 2) rings.
    """
    n, m = len(a), len(b)
    angle_a = np.arctan2(*(np.roll(a, -1, axis=0) - a).T[::-1].astype(np.float64))
    angle_b = np.arctan2(*(np.roll(b, -1, axis=0) - b).T[::-1].astype(np.float64))
    rank = np.empty(n + m, dtype=np.int64)
    rank[np.argsort(np.concatenate([angle_a, angle_b]), kind="stable")] = np.arange(n + m)
    left_a, left_b = _turns_left(angle_a), _turns_left(angle_b)
    segments = np.empty((2 * n * m, 2), dtype=np.int64)
    k = _segments(rank[:n], rank[n:], left_a, left_b, segments)
    walk, starts = _closed_walks(segments[:k], n * m)
    points = a[walk // m] + b[walk % m]
    return [points[s:e] for s, e in itertools.pairwise(starts) if e - s > 2]


def _turns_left(angle: NDArray[np.float64]) -> NDArray[np.bool_]:
    turn = (angle - np.roll(angle, 1)) % (2 * np.pi)
    left: NDArray[np.bool_] = turn < np.pi
    return left
