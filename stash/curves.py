"""Curves of a drawing made into short straight sides, each within a given distance of the curve; what turns and scales them.

A chord's greatest distance from a Bézier curve is at most an eighth of the square of its share of the curve times the greatest
second derivative (the error of linear interpolation), and from a circle it is r (1 − cos(half its angle)), the sagitta.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from nesting import Point

from .refusals import Refused

MOST_SIDES = 5000
"""Of one curve: with more, the size or the tolerance is mistaken."""


@dataclass(frozen=True, slots=True)
class Affine:
    """x' = a x + c y + e, y' = b x + d y + f: a matrix as SVG writes it (SVG 2, 8.5)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, first: Affine) -> Affine:
        """What does `first`, and then this.

        >>> (Affine(e=5) @ Affine(a=2, d=2)).at((1, 1)), (Affine(a=2, d=2) @ Affine(e=5)).at((1, 1))
        ((7.0, 2.0), (12.0, 2.0))
        """
        return Affine(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    def at(self, point: Point) -> Point:
        """Where a point comes to lie."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    @property
    def stretch(self) -> float:
        """How much longer it makes any length at most: the larger singular value."""
        squares = self.a**2 + self.b**2 + self.c**2 + self.d**2
        area = self.a * self.d - self.b * self.c
        return math.sqrt((squares + math.sqrt(max(squares**2 - 4 * area**2, 0.0))) / 2)


def turned(degrees: float) -> Affine:
    """A turn about (0, 0), from x towards y."""
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return Affine(cosine, sine, -sine, cosine)


def bezier(controls: Sequence[Point], within: float) -> list[Point]:
    """The points after the first of a quadratic or cubic curve, by its three or four control points.

    >>> len(bezier([(0, 0), (50, 50), (100, 0)], 0.1)), bezier([(0, 0), (1, 1), (2, 2)], 0.1)
    (16, [(2, 2)])
    """
    degree = len(controls) - 1
    bends = [
        math.hypot(p[0] - 2 * q[0] + r[0], p[1] - 2 * q[1] + r[1])
        for p, q, r in zip(controls, controls[1:], controls[2:], strict=False)
    ]
    sides = _sides(math.sqrt(degree * (degree - 1) * max(bends) / (8 * within)))
    return [*(_on_bezier(controls, i / sides) for i in range(1, sides)), controls[-1]]


def arc(radius: Point, start: float, sweep: float, place: Affine, within: float) -> list[Point]:
    """The points after the first of an arc of an ellipse round (0, 0), by angles in radians; `place` then lays it out."""
    rx, ry = radius
    reach = max(rx, ry) * place.stretch
    step = 2 * math.acos(max(1 - within / reach, -1.0)) if reach > 0 else math.pi
    sides = _sides(max(abs(sweep) / max(step, 1e-9), 4 * abs(sweep) / (2 * math.pi)))  # a circle is a square at least
    angles = (start + sweep * i / sides for i in range(1, sides + 1))
    return [place.at((rx * math.cos(angle), ry * math.sin(angle))) for angle in angles]


def _sides(wanted: float) -> int:
    """Raises Refused where they are too many, or no number."""
    if not wanted <= MOST_SIDES:
        raise Refused(
            f"one curve takes more than {MOST_SIDES} straight sides",
            where="curve",
            expected="a drawing at its true size",
            next="Look at its unit, or allow the sides to lie farther from the curve",
        )
    return max(math.ceil(wanted - 1e-9), 1)


def _on_bezier(controls: Sequence[Point], share: float) -> Point:
    """A point of the curve, by de Casteljau's construction."""
    points = list(controls)
    while len(points) > 1:
        points = [(p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])) for p, q in pairwise(points)]
    return points[0]
