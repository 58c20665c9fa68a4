"""The rim of a thing in the picture, to a fraction of a pixel; and a ring of few corners that follows it.

A ring's corners are those for which the points of the rim are, in the least squares, nearest to its sides; so each side stands
where all of its points say, and a corner where its two sides meet, whatever a thread that has come loose says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from . import edges
from .picture import Picture

Floats = NDArray[Any]

EVERY = 4.0
"""Pixels between points of the rim."""
FIRST_REACH, REACH, BESIDE = 14.0, 6.0, 7.0
"""Pixels that are looked at on either side of the expected edge, at first and again; and those beyond, for the tones there."""
ALIKE = 15
"""Neighbouring points of the rim over which the tones on either side are taken."""
SMOOTH = 7
"""Neighbours over which an edge's place is the median, for the second look to begin from."""
ROUNDS = 12
MOST_CORNERS = 300
HUBER = 2.0
SHARPENED = 3.0
"""Points of the rim that a side is long at most to be what a corner was cut off by."""
KEEP = 0.4
"""mm: how firmly a corner is held to where it was along what no side tells."""


@dataclass(frozen=True, slots=True)
class Rim:
    """Points of a rim (n × 2, pixels, in order), which of them are clear, and what was seen there (see `edges.Found`)."""

    points: Floats
    clear: NDArray[Any]
    contrast: Floats
    noise: Floats
    width: Floats


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring of corners (n × 2, mm), the covariance of their places (2n × 2n, mm²) from the rim's points alone, and by how
    much the points are off its sides (mm, root of the mean of squares)."""

    corners: Floats
    covariance: Floats
    off: float


def followed(picture: Picture, ring: Floats) -> Rim:
    """The rim near a rough ring (n × 2, pixels), whose inside is to the right of its way. Looked at twice."""
    points = _evenly(_smoothed(ring, 2.0), EVERY)
    normals = _normals(points, 5)
    seen = edges.across(picture, points, normals, FIRST_REACH, beside=BESIDE, alike=ALIKE)
    moved = _median_of_neighbours(np.where(seen.clear, seen.at, np.nan), SMOOTH)
    points = points + np.nan_to_num(moved, nan=0.0)[:, None] * normals
    points = _evenly(points, EVERY)
    normals = _normals(points, 4)
    seen = edges.across(picture, points, normals, REACH, beside=BESIDE, alike=ALIKE)
    at = np.where(seen.clear, seen.at, 0.0)
    return Rim(points + at[:, None] * normals, seen.clear, seen.contrast, seen.noise, seen.width)


def fitted(points: Floats, clear: NDArray[Any], tolerance: float, *, sigma: float, alike: float) -> Ring:
    """A ring that follows the points (n × 2, mm, in order round) within about `tolerance` (mm).

    `sigma`: mm by which a point is out, of which `alike` neighbours are out alike.
    """
    good = points[clear]
    corners = _simplified(good, tolerance)
    corners, _ = _settled(good, corners)
    corners = _sharpened(_without_needless(corners, tolerance), SHARPENED * float(_apart(good)))
    corners, (jacobian, weights, off) = _settled(good, corners)
    information = (jacobian * weights[:, None]).T @ jacobian / (max(off, sigma) ** 2 * alike)
    information += np.eye(information.shape[0]) / (10 * KEEP) ** 2
    return Ring(corners, np.linalg.inv(information), off)


def _settled(points: Floats, corners: Floats) -> tuple[Floats, tuple[Floats, Floats, float]]:
    """The corners moved until the points are nearest to the sides between them (Gauss and Newton, Huber's weights)."""
    first = corners.copy()
    count = len(corners)
    off = math.inf
    for _ in range(ROUNDS):
        side, along, away, normal = _nearest_side(points, corners)
        jacobian = np.zeros((len(points), 2 * count))
        rows = np.arange(len(points))
        after = (side + 1) % count
        for axis in (0, 1):
            jacobian[rows, 2 * side + axis] += -(1 - along) * normal[:, axis]
            jacobian[rows, 2 * after + axis] += -along * normal[:, axis]
        typical = max(1.4826 * float(np.median(np.abs(away))), 0.02)
        weights = np.minimum(1.0, HUBER * typical / np.maximum(np.abs(away), 1e-9))
        weights[np.abs(away) > 12 * typical + 1.0] = 0.0
        # What no side tells (how far along a straight side a corner is) is held where it was.
        hold = typical**2 / KEEP**2
        matrix = (jacobian * weights[:, None]).T @ jacobian + hold * np.eye(2 * count)
        pull = -(jacobian * weights[:, None]).T @ away - hold * (corners - first).ravel()
        step = np.linalg.solve(matrix, pull).reshape(-1, 2)
        corners = corners + step
        off = float(np.sqrt((weights * away**2).sum() / max(weights.sum(), 1.0)))
        if np.abs(step).max() < 1e-3:
            break
    return corners, (jacobian, weights, off)


def _nearest_side(points: Floats, corners: Floats) -> tuple[NDArray[Any], Floats, Floats, Floats]:
    """For each point the side it is nearest to, how far along that (0 to 1), how far off (signed), and the side's normal."""
    a, b = corners, np.roll(corners, -1, axis=0)
    way = b - a
    long2 = np.maximum((way**2).sum(axis=1), 1e-12)
    best = np.full(len(points), np.inf)
    side = np.zeros(len(points), dtype=np.int64)
    along = np.zeros(len(points))
    for i in range(len(corners)):
        part = np.clip((points - a[i]) @ way[i] / long2[i], 0, 1)
        far = ((points - a[i] - part[:, None] * way[i]) ** 2).sum(axis=1)
        nearer = far < best
        best[nearer], side[nearer], along[nearer] = far[nearer], i, part[nearer]
    normals = np.column_stack([-way[:, 1], way[:, 0]]) / np.sqrt(long2)[:, None]
    normal = normals[side]
    away = ((points - a[side] - along[:, None] * way[side]) * normal).sum(axis=1)
    return side, along, away, normal


def _simplified(points: Floats, tolerance: float) -> Floats:
    """Corners of a ring that keep within a tolerance of the points (Douglas and Peucker, 1973)."""
    for times in (1.0, 1.5, 2.0, 3.0, 5.0, 8.0):
        found = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), tolerance * times, True)
        if len(found) <= MOST_CORNERS:
            break
    return np.asarray(found.reshape(-1, 2).astype(float))


def _apart(points: Floats) -> float:
    """How far points of a rim are apart."""
    return float(np.median(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)))


def _sharpened(corners: Floats, short: float) -> Floats:
    """Corners made one again that were cut off by a side no longer than `short`, where its neighbours, much longer, meet: what
    is looked at along a rim goes round a corner by a few points."""
    i = 0
    while i < len(corners) and len(corners) > 3:
        before, first, last, after = (corners[(i + k) % len(corners)] for k in (-1, 0, 1, 2))
        side = float(np.linalg.norm(last - first))
        ways = np.column_stack([first - before, last - after])
        longs = np.linalg.norm(ways, axis=0)
        turn = abs(float(np.linalg.det(ways))) / max(float(longs[0] * longs[1]), 1e-9)
        if side <= short and longs.min() > 2 * side and turn > 0.3:
            part = np.linalg.solve(np.column_stack([ways[:, 0], -ways[:, 1]]), last - first)
            meets = first + part[0] * ways[:, 0]
            if (part >= 0).all() and max(np.linalg.norm(meets - first), np.linalg.norm(meets - last)) < 1.5 * side:
                corners[i] = meets
                corners = np.delete(corners, (i + 1) % len(corners), axis=0)
                continue
        i += 1
    return corners


def _without_needless(corners: Floats, tolerance: float) -> Floats:
    """Corners left out, one at a time, that are no farther than a tolerance from the side that would do without them."""
    while len(corners) > 3:
        before, after = np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0)
        way = after - before
        long = np.maximum(np.linalg.norm(way, axis=1), 1e-9)
        bow = np.abs(way[:, 0] * (corners - before)[:, 1] - way[:, 1] * (corners - before)[:, 0]) / long
        behind = ((corners - before) * way).sum(axis=1) / long**2
        bow[(behind < 0) | (behind > 1)] = np.inf  # a spike is no bow
        near = np.linalg.norm(corners - before, axis=1)
        bow = np.where(near < tolerance, 0.0, bow)
        least = int(bow.argmin())
        if bow[least] > tolerance:
            break
        corners = np.delete(corners, least, axis=0)
    return corners


def _evenly(ring: Floats, apart: float) -> Floats:
    """Points on a ring, as far apart as that."""
    closed = np.vstack([ring, ring[:1]])
    way = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = max(12, int(way[-1] / apart))
    at = np.linspace(0, way[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, way, closed[:, i]) for i in (0, 1)])


def _smoothed(ring: Floats, sigma: float) -> Floats:
    """A ring of neighbouring pixels without its steps."""
    reach = int(3 * sigma)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    wrapped = np.vstack([ring[-reach:], ring, ring[:reach]]) if len(ring) > reach else ring
    return np.column_stack([np.convolve(wrapped[:, i], kernel, "valid" if len(ring) > reach else "same") for i in (0, 1)])


def _normals(points: Floats, reach: int) -> Floats:
    """Outward normals: to the left of the way, which runs with the clock as seen."""
    way = np.roll(points, -reach, axis=0) - np.roll(points, reach, axis=0)
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
    return np.column_stack([way[:, 1], -way[:, 0]])


def _median_of_neighbours(values: Floats, wide: int) -> Floats:
    """The median over neighbours in a ring, where any is a number."""
    half = wide // 2
    stacked = np.stack([np.roll(values, shift) for shift in range(-half, half + 1)])
    some = np.isfinite(stacked).any(axis=0)
    found = np.full(len(values), np.nan)
    if some.any():
        found[some] = np.nanmedian(stacked[:, some], axis=0)
    return found
