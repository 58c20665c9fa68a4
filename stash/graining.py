"""Which way the grain runs on a remnant as it was measured: by a selvedge, by a side, by a pulled thread, or by an angle.

What is given back is the angle (degrees, counter-clockwise) from the outline's x to the grain arrow. A selvedge, a side or a
thread has two ends: the arrow points the way that runs most nearly from left to right.
"""

from __future__ import annotations

import math

from nesting import Point

from .outlines import Measured, Side
from .refusals import Refused
from .words import EdgeKind

ONE_WAY = 3.0
"""Degrees: selvedges that run apart by more are not of one grain, or not all selvedges."""


def by_selvedge(measured: Measured) -> float:
    """The grain along the outline's selvedge. Raises Refused where none was told, or where two disagree."""
    found = [side for side, kind in measured.sides if kind is EdgeKind.SELVEDGE]
    if not found:
        raise Refused(
            "no side of it is a selvedge",
            where="grain",
            expected="a side that is told to be one: --edges selvedge for that side",
        )
    angles = [along(*side) for side in sorted(found, key=lambda side: -math.dist(*side))]
    if any(abs((angle - angles[0] + 90) % 180 - 90) > ONE_WAY for angle in angles):
        raise Refused("its selvedges run in different ways", where="grain", expected="selvedges that lie along one grain")
    return angles[0]


def by_side(measured: Measured, number: int) -> float:
    """The grain along a side, counted from 1, the first from the first corner to the second. Raises Refused."""
    return along(*side_of(measured, number))


def side_of(measured: Measured, number: int) -> Side:
    """A side of an outline by its number. Raises Refused."""
    count = len(measured.ring)
    if not 1 <= number <= count:
        raise Refused(f"there is no side {number}", where="grain", expected=f"a side from 1 to {count}")
    return measured.ring[number - 1], measured.ring[number % count]


def by_thread(first: Point, last: Point) -> float:
    """The grain along a thread that was pulled, or a line drawn along one, by two points on it. Raises Refused."""
    if math.dist(first, last) < 1.0:
        raise Refused("the thread's two points are one", where="grain", expected="two points on it, far apart")
    return along(first, last)


def along(first: Point, last: Point) -> float:
    """The angle of a line, above −90 and up to 90 degrees: the way of it that runs most nearly from left to right.

    >>> along((0, 0), (0, 5)), along((0, 0), (-5, 0)), round(along((10, 10), (0, 0)))
    (90.0, 0.0, 45)
    """
    angle = math.degrees(math.atan2(last[1] - first[1], last[0] - first[0]))
    return (90.0 - (90.0 - angle) % 180.0) + 0.0
