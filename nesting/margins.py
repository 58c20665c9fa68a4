"""Margins: rings grown and shrunk so that gap, edge and tolerance are settled before the search begins.

Growing goes round a corner by straight pieces that touch the true arc from outside: what keeps clear of the grown ring keeps
at least the margin, and never more than 2 % of it too much. Shrinking a cloth rounds its inward corners the same way.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyclipper
from numpy.typing import NDArray

Coordinates = NDArray[np.float64]

ARC_STEP = np.pi / 8
"""The turn that one straight piece of a rounded corner covers: 22.5°, at which the overshoot is 1.9 % of the margin."""


def offset(rings: Sequence[Coordinates], distance: float, reach: float) -> list[Coordinates]:
    """Grow (distance > 0) or shrink (< 0) a region by a distance, in mm.

    rings: outer rings counter-clockwise, holes clockwise; a ring of two points is a tear, and grows to a capsule.
    reach: the largest coordinate. Returns rings wound the same way; none if nothing is left.
    """
    scale = 2.0 ** int(np.floor(np.log2(2.0**30 / (reach + abs(distance)))))
    clipper = pyclipper.Pyclipper()
    for ring in rings:
        raw = np.rint(_offset_raw(np.asarray(ring, dtype=np.float64), distance) * scale).astype(np.int64)
        if len(raw) >= 3:
            clipper.AddPath(raw.tolist(), pyclipper.PT_SUBJECT, True)
    paths = clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_POSITIVE, pyclipper.PFT_POSITIVE)
    return [np.asarray(path, dtype=np.float64) / scale for path in paths if abs(pyclipper.Area(path)) > 4 * len(path)]


def _offset_raw(ring: Coordinates, distance: float) -> Coordinates:
    """The ring's edges shifted to their right (outwards if counter-clockwise), joined at the corners; may cross itself, in
    loops of which the winding number is not positive."""
    edge = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(edge[:, 0], edge[:, 1])
    ring, edge = ring[length > 0], edge[length > 0]
    direction = np.arctan2(edge[:, 1], edge[:, 0])
    points: list[tuple[float, float]] = []
    for k in range(len(ring)):
        before, after = direction[k - 1], direction[k]
        turn = (after - before + np.pi) % (2 * np.pi) - np.pi
        if turn == -np.pi:  # the end of a tear
            turn = np.pi
        x, y = ring[k]
        if turn * distance >= 0:
            steps = max(1, int(np.ceil(abs(turn) / ARC_STEP - 1e-9)))
            away = distance / np.cos(turn / (2 * steps))
            for s in range(steps):
                a = before - np.pi / 2 + turn * (s + 0.5) / steps
                points.append((x + away * np.cos(a), y + away * np.sin(a)))
        else:
            for a in (before - np.pi / 2, None, after - np.pi / 2):
                points.append((x, y) if a is None else (x + distance * np.cos(a), y + distance * np.sin(a)))
    return np.array(points)
