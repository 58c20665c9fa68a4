"""Strips for binding: how much of one width can be cut from a piece of cloth, along the grain, across it or on the bias.

The strips lie side by side, parallel, a gap apart; where the first begins is tried in several places, and the best is kept. So
what is given can be cut, and a cleverer cutter may find a little more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from .forms import Sheet
from .outlines import united

ALONG, ACROSS, BIAS = 0.0, 90.0, 45.0
"""Degrees from the grain: true bias is at 45°, where cloth gives most."""
OFFSETS = 8
"""Places that are tried for the first strip."""
HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Strips:
    """Strips of one width: their lengths, mm, the longest first, and where they lie on the cloth."""

    lengths: tuple[float, ...]
    shapes: tuple[Polygon, ...]

    @property
    def total(self) -> float:
        return sum(self.lengths)


def strips(cloth: BaseGeometry, width: float, *, angle: float = BIAS, gap: float = 0.0, shortest: float = 0.0) -> Strips:
    """The strips of `width` mm (at least `shortest` long, square at their ends) that are found to go into the cloth.

    >>> strips(box(0, 0, 1000, 210), 40, angle=ALONG).lengths
    (1000.0, 1000.0, 1000.0, 1000.0, 1000.0)
    """
    if width <= 0 or cloth.is_empty:
        return Strips((), ())
    turned = affinity.rotate(cloth, -angle, origin=(0, 0))
    low, high = turned.bounds[1], turned.bounds[3]
    best: list[tuple[float, Polygon]] = []
    for n in range(OFFSETS):
        found = list(_from(turned, low + n * (width + gap) / OFFSETS, high, width, gap, max(shortest, HAIR)))
        if sum(length for length, _ in found) > sum(length for length, _ in best) + HAIR:
            best = found
    best.sort(key=lambda one: -one[0])
    shapes = tuple(affinity.rotate(shape, angle, origin=(0, 0)) for _, shape in best)
    return Strips(tuple(length for length, _ in best), shapes)


def bias_strips(cloth: BaseGeometry, width: float, *, gap: float = 0.0, shortest: float = 0.0) -> Strips:
    """Strips at 45°, their ends cut along the warp, so that they are joined on the straight grain; lengths along their middle.

    A shear along the strip makes such a strip a rectangle of the same length, which is looked for.

    >>> square = box(0, 0, 200, 200)
    >>> [round(length, 1) for length in bias_strips(square, 40, shortest=100).lengths]
    [202.8, 200.0, 125.7, 120.0]
    """
    turned = affinity.rotate(cloth, -BIAS, origin=(0, 0))
    sheared = affinity.affine_transform(turned, (1, 1, 0, 1, 0, 0))
    found = strips(sheared, width, angle=ALONG, gap=gap, shortest=shortest)
    shapes = (affinity.affine_transform(shape, (1, -1, 0, 1, 0, 0)) for shape in found.shapes)
    return Strips(found.lengths, tuple(affinity.rotate(shape, BIAS, origin=(0, 0)) for shape in shapes))


def joined_length(lengths: Sequence[float], allowance: float) -> float:
    """How long bias strips are once they are joined end to end, by seams along the warp with so much on either side (mm).

    A seam at 45° to the strip takes √2 of its allowance off the length of either strip.

    >>> round(joined_length([300.0, 200.0, 100.0], 6.0), 2)
    566.06
    """
    return sum(lengths) - max(0, len(lengths) - 1) * 2 * math.sqrt(2) * allowance


def clear_cloth(sheet: Sheet, edge: float) -> BaseGeometry:
    """The cloth of a sheet that is clear of its edges, holes and flaws."""
    spots = [*sheet.holes, *(flaw.ring for flaw in sheet.flaws)]
    taken = [(LineString(spot) if len(spot) == 2 else Polygon(spot)).buffer(max(edge, HAIR)) for spot in spots]
    inside = Polygon(sheet.outline).buffer(-edge, join_style="mitre") if edge else Polygon(sheet.outline)
    return inside.difference(united(taken)) if taken else inside


def _from(
    cloth: BaseGeometry, low: float, high: float, width: float, gap: float, shortest: float
) -> Iterator[tuple[float, Polygon]]:
    """The strips from `low` up: of each band what no gap in the cloth blocks over the whole width."""
    left, _, right, _ = cloth.bounds
    shapely.prepare(cloth)
    while low + width <= high + HAIR:
        band = box(left - 1, low, right + 1, low + width)
        missing = shapely.difference(band, cloth)
        # A part of what is missing blocks its own shadow on the band's length, and no more.
        blocked = sorted((part.bounds[0], part.bounds[2]) for part in _parts(missing) if part.area > HAIR)
        at = left
        for begin, end in [*blocked, (right, right)]:
            if begin - at >= shortest:
                yield begin - at, box(at, low, begin, low + width)
            at = max(at, end)
        low += width + gap


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    return list(getattr(shape, "geoms", [shape]))
