"""No-fit polygons, and the room that a sheet leaves for a panel.

The no-fit polygon of A and B is where B's reference point may not be: inside it the two overlap, on its rim they touch.
Both come from the convolution of the rings, summed by pyclipper on whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import pyclipper
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from .convolution import Whole, convolution

Coordinates = NDArray[np.float64]

SLIVER = 4.0
"""Holes of a no-fit polygon narrower than this many units of the whole-number grid are rounding, not room."""


SPIKE = 8.0
"""A ring that goes out and comes back within this many units has no room between: clipping leaves such spikes, with tips that
lie anywhere, where two edges are so nearly parallel that rounding decides whether they meet."""


class Grid:
    """The whole numbers that convolutions are summed on: a power of two of them to the millimetre.

    reach: the largest coordinate, in mm, that will be put on it.
    """

    def __init__(self, reach: float) -> None:
        self.scale = 2.0 ** int(np.floor(np.log2(2.0**28 / max(reach, 1e-9))))

    def whole(self, ring: Coordinates) -> Whole:
        """The ring on the grid, counter-clockwise, neighbours alike dropped; empty when nothing is left of it."""
        points = np.rint(np.asarray(ring, dtype=np.float64) * self.scale).astype(np.int64)
        points = points[np.any(points != np.roll(points, 1, axis=0), axis=1)]
        if len(points) < 3:
            return np.empty((0, 2), dtype=np.int64)
        return np.ascontiguousarray(points if _doubled_area(points.astype(np.float64)) > 0 else points[::-1])

    def rings(self, paths: Iterable[Sequence[Sequence[int]]], smallest: float) -> list[Coordinates]:
        """Paths as rings in mm; those whose mean width is under `smallest` grid units are left out."""
        kept = []
        for path in paths:
            points = _without_spikes(np.asarray(path, dtype=np.float64))
            if len(points) < 3:
                continue
            around = float(np.sum(np.hypot(*(points - np.roll(points, 1, axis=0)).T)))
            if abs(_doubled_area(points)) > smallest * around:
                kept.append(points / self.scale)
        return kept


def _doubled_area(points: Coordinates) -> float:
    """Twice the area within the ring, negative where it runs clockwise."""
    x, y = (points - points[:1]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _without_spikes(ring: Coordinates) -> Coordinates:
    """The ring less each corner at which it turns right round and comes back along itself."""
    while len(ring) >= 3:
        before, after = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
        shorter = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
        longer = np.maximum(np.hypot(*before.T), np.hypot(*after.T))
        across = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
        spikes = (np.sum(before * after, axis=1) > 0) & (across <= SPIKE * longer) & (shorter > SPIKE)
        if not spikes.any():
            break
        ring = np.delete(ring, int(np.argmax(spikes)), axis=0)
    return ring


def no_fit_polygon(a: Coordinates, b: Coordinates, grid: Grid | None = None) -> list[Coordinates]:
    """Where B may not be put: the rings of A ⊕ (−B), outer ones counter-clockwise, pockets that hold B clockwise.

    a, b: (n, 2) and (m, 2) rings of simple polygons, mm. A translation t makes B + t overlap A exactly when t is inside.

    >>> square = np.array([(0, 0), (2, 0), (2, 2), (0, 2)], dtype=float)
    >>> sorted(no_fit_polygon(square, square)[0].tolist())
    [[-2.0, -2.0], [-2.0, 2.0], [2.0, -2.0], [2.0, 2.0]]
    """
    grid = grid or Grid(float(np.max(np.abs(a))) + float(np.max(np.abs(b))))
    curves = convolution(grid.whole(a), grid.whole(-np.asarray(b)))
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths([c.tolist() for c in curves], pyclipper.PT_SUBJECT, True)
    paths = clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return grid.rings(paths, SLIVER)


def room(
    cloth: BaseGeometry, spots: Sequence[tuple[Polygon, Coordinates]], shape: Coordinates, grid: Grid
) -> list[Coordinates]:
    """Where a panel's reference point may be so that the panel lies on the cloth and off the spots.

    cloth: where the panel may lie (holes and parts allowed); spots: pairs of a place to keep clear of and the ring (the
    panel's sound part, in the panel's own coordinates) that must keep clear of it; shape: the panel's (n, 2) ring.
    Returns rings, outer ones counter-clockwise. A panel that fits exactly leaves a room without area, which is lost:
    shrink the shape by a tolerance beforehand.
    """
    x0, y0, x1, y1 = cloth.bounds
    left, low = shape.min(axis=0)
    right, high = shape.max(axis=0)
    if right - left > x1 - x0 or high - low > y1 - y0:
        return []
    positions = grid.whole(np.array(box(x0 - left, y0 - low, x1 - right, y1 - high).exterior.coords[:-1]))
    if not len(positions):
        return []
    mirrored = grid.whole(-shape)
    clipper = pyclipper.Pyclipper()
    clipper.AddPath(positions.tolist(), pyclipper.PT_SUBJECT, True)
    for part in _outside(cloth, 4.0 / grid.scale, max(right - left, high - low)):
        _forbid(clipper, part, mirrored, grid)
    for spot, sound in spots:
        _forbid(clipper, np.array(spot.exterior.coords[:-1]), grid.whole(-sound), grid)
    paths = clipper.Execute(pyclipper.CT_DIFFERENCE, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return grid.rings(paths, 1.0)


def _forbid(clipper: pyclipper.Pyclipper, part: Coordinates, mirrored: Whole, grid: Grid) -> None:
    ring = grid.whole(part)
    if len(ring):
        clipper.AddPaths([c.tolist() for c in convolution(ring, mirrored)], pyclipper.PT_CLIP, True)


def _outside(cloth: BaseGeometry, lap: float, margin: float) -> list[Coordinates]:
    """All that is round the cloth, and its holes, as rings without holes.

    What has a hole is cut in two, the halves lapping by `lap` so that rounding opens no crack between them.
    """
    x0, y0, x1, y1 = cloth.bounds
    frame = box(x0, y0, x1, y1).buffer(margin, join_style="mitre").difference(cloth)
    waiting = [p for p in _parts(frame) if p.area > 0]
    rings = []
    while waiting:
        part = waiting.pop()
        if not part.interiors:
            rings.append(np.array(part.exterior.coords[:-1]))
            continue
        hole = Polygon(part.interiors[0])
        middle = (hole.bounds[0] + hole.bounds[2]) / 2
        a, b, c, d = part.bounds
        waiting += _parts(part.intersection(box(a, b, middle + lap, d))) + _parts(
            part.intersection(box(middle - lap, b, c, d))
        )
    return rings


def _parts(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [p for part in getattr(shape, "geoms", []) for p in _parts(part)]


def rings_to_region(rings: Sequence[Coordinates]) -> BaseGeometry:
    """The rings as one shapely region: outer rings counter-clockwise, holes clockwise."""
    outer = [Polygon(r) for r in rings if Polygon(r).exterior.is_ccw]
    holes = [Polygon(r) for r in rings if not Polygon(r).exterior.is_ccw]
    region: BaseGeometry = MultiPolygon(outer).buffer(0) if outer else Polygon()
    for hole in holes:
        region = region.difference(hole.buffer(0))
    return region


def turned(ring: Coordinates, turn: float, flipped: bool) -> Coordinates:
    """The ring flipped across the grain if `flipped`, then turned counter-clockwise by `turn` degrees about (0, 0)."""
    if flipped:
        ring = ring * np.array([1.0, -1.0])
    quarter = turn / 90.0
    if quarter == int(quarter):
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][int(quarter) % 4]
    else:
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return ring @ np.array([[cos, sin], [-sin, cos]], dtype=np.float64)


__all__ = ["Grid", "no_fit_polygon", "rings_to_region", "room", "turned"]
