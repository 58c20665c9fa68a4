"""A line on the cloth that shows its grain: a thread of another colour laid along it, or a line drawn with chalk or pen."""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting import Point

from ..refusals import Refused
from .picture import Picture

Floats = NDArray[Any]

FINE = 0.5
"""mm a pixel of the cloth laid flat: a thread or a chalk line is one to four of them wide."""
WIDEST = 4.0
"""mm a line is wide at most."""
SHORTEST = 60.0
"""mm a line is long at least: told to 0.5 mm at each end, it shows the grain within a degree."""
STRAIGHT = 1.2
"""mm it may stray from straight."""
APART = 3.0
"""Degrees by which two lines may differ before they say two things."""
MARGIN = 6.0
"""mm kept from the rim, whose own edge is a line."""


def line_on(picture: Picture, ring: Floats, holes: list[Floats], to_picture: object) -> tuple[Point, Point]:
    """The ends, mm on the table, of the line that lies or is drawn on the cloth within a ring. Raises Refused where there is
    none, or where two run different ways."""
    flat, cloth, corner = _laid_flat(picture, ring, holes, to_picture)
    found = _lines(flat, cloth)
    if not found:
        raise Refused(
            "no line can be seen on the cloth",
            where="grain",
            expected=f"a thread of another colour laid along the grain, or a line drawn along it, {SHORTEST:.0f} mm or more",
            next="Pull the thread taut before you lay it; or tell the grain in another way",
        )
    longest = found[0]
    rivals = [each for each in found[1:] if _long(each) > 0.5 * _long(longest)]
    if any(abs((_way(each) - _way(longest) + 90) % 180 - 90) > APART for each in rivals):
        raise Refused(
            "two lines on the cloth run different ways",
            where="grain",
            expected="one line, along the grain",
            next="Take the other away; or tell the grain in another way",
        )
    ends = [(float(corner[0] + x * FINE), float(corner[1] - y * FINE)) for x, y in longest]
    return ends[0], ends[1]


def _laid_flat(
    picture: Picture, ring: Floats, holes: list[Floats], to_picture: object
) -> tuple[NDArray[Any], NDArray[Any], Floats]:
    """The cloth laid flat (its tones), where it is cloth, and the table's mm at its far left corner."""
    assert callable(to_picture)
    left, low = ring.min(axis=0)
    right, high = ring.max(axis=0)
    wide, tall = int((right - left) / FINE) + 1, int((high - low) / FINE) + 1
    step = 16
    columns, rows = np.arange(0, wide + step, step), np.arange(0, tall + step, step)
    grid = np.stack(np.meshgrid(left + columns * FINE, high - rows * FINE), axis=2)
    seen = to_picture(grid.reshape(-1, 2)).reshape(*grid.shape).astype(np.float32)
    x, y = np.meshgrid(np.arange(wide, dtype=np.float32) / step, np.arange(tall, dtype=np.float32) / step)
    where = [cv2.remap(seen[:, :, i], x, y, cv2.INTER_LINEAR) for i in (0, 1)]
    tones = cv2.cvtColor(
        cv2.remap(picture, where[0], where[1], cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE), cv2.COLOR_BGR2Lab
    ).astype(np.float32)
    cloth: NDArray[Any] = np.zeros((tall, wide), dtype=np.uint8)
    cv2.fillPoly(cloth, [np.round((ring - [left, high]) / [FINE, -FINE]).astype(np.int32)], 1)
    for hole in holes:
        cv2.fillPoly(cloth, [np.round((hole - [left, high]) / [FINE, -FINE]).astype(np.int32)], 0)
    reach = 2 * int(MARGIN / FINE) + 1
    cloth = cv2.erode(cloth, np.ones((reach, reach), np.uint8), borderValue=0)
    # What is as narrow as a line stands out of its surroundings; broad things do not.
    broad = 2 * int(WIDEST / FINE) + 1
    out = np.zeros((tall, wide), dtype=np.float32)
    soft = cv2.GaussianBlur(tones, (0, 0), 1.2)
    for channel in range(3):
        around = cv2.medianBlur(soft[:, :, channel].astype(np.uint8), broad).astype(np.float32)
        out += (soft[:, :, channel] - around) ** 2
    return np.sqrt(out), cloth, np.array([left, high])


def _lines(out: NDArray[Any], cloth: NDArray[Any]) -> list[list[tuple[float, float]]]:
    """Straight lines that stand out of the cloth, the longest first, by their ends."""
    own = out[cloth > 0]
    if own.size < 1000:
        return []
    usual = float(np.median(own))
    least = max(6.0, 5 * usual)
    marked: NDArray[Any] = ((out > least) & (cloth > 0)).astype(np.uint8)
    marked = cv2.morphologyEx(marked, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(marked, connectivity=8)
    pieces = []
    for i in range(1, count):
        if max(stats[i, cv2.CC_STAT_WIDTH], stats[i, cv2.CC_STAT_HEIGHT]) * FINE >= SHORTEST / 3:
            rows, columns = np.nonzero(labels == i)
            pieces.append(np.column_stack([columns, rows]).astype(float))
    found = []
    for points in pieces:
        middle = points.mean(axis=0)
        _, sizes, ways = np.linalg.svd(points - middle, full_matrices=False)
        along = (points - middle) @ ways[0]
        aside = (points - middle) @ ways[1]
        if np.quantile(np.abs(aside), 0.9) * FINE > STRAIGHT + WIDEST / 2 or sizes[0] < 8 * sizes[1]:
            continue
        ends = [tuple(middle + ways[0] * end) for end in (along.min(), along.max())]
        if _long(ends) >= SHORTEST:
            found.append([(float(x), float(y)) for x, y in ends])
    return sorted(found, key=lambda each: -_long(each))


def _long(line: list[tuple[float, float]]) -> float:
    return math.dist(*line) * FINE


def _way(line: list[tuple[float, float]]) -> float:
    (ax, ay), (bx, by) = line
    return math.degrees(math.atan2(-(by - ay), bx - ax))
