"""Which two panels cannot both lie on a sheet: of all the ways that the one may lie from the other, each is an overlap.

Where two may be, seen from the one, is the Minkowski sum of the one's positions and the other's, mirrored; where they overlap,
that of their bodies. If the first lies within the second, there is no lay that has both.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement

import shapely
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from .bounds_hats import Way
from .bounds_shapes import SAFE, polygons, reach
from .offers import LinearCut, Offer

MOST_WAYS = 24
"""Of more ways to lie on one sheet the pairs are not looked at."""
FEW = 4
"""A panel of which more could lie there is not looked at: little would be gained by leaving it out."""


def pair_cuts(offer: Offer, ways: Sequence[Way]) -> tuple[LinearCut, ...]:
    """Of each two panels that exclude each other, that not both are laid; of a panel that excludes itself, that one is."""
    there = {way.panel for way in ways if 0 < offer.most[way.panel] <= FEW}
    if len(ways) > MOST_WAYS:
        return ()
    cuts = []
    for one, other in combinations_with_replacement(sorted(there), 2):
        if one == other and offer.most[one] == 1:
            continue
        mine, others = ([way for way in ways if way.panel == k] for k in (one, other))
        if all(_excluded(a, b) for a in mine for b in others):
            # Only one of the two is laid, so that this holds of however many of it there are.
            weights = [0.0] * len(offer.most)
            for k in {one, other}:
                weights[k] = 1.0 if one == other else 1.0 / offer.most[k]
            cuts.append(LinearCut(tuple(weights), 1.0))
    return tuple(cuts)


def _excluded(one: Way, other: Way) -> bool:
    """Whether the two overlap wherever they lie."""
    apart = reach(MultiPolygon(polygons(other.positions)), _mirrored(one.positions))
    overlap = reach(one.body, _mirrored(other.body))
    return bool(overlap.buffer(-SAFE).covers(apart))


def _mirrored(shape: BaseGeometry) -> BaseGeometry:
    return shapely.affinity.scale(shape, -1, -1, origin=(0, 0))
