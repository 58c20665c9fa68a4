"""Random shapes that the tests of the search share, drawn from a seed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

Coordinates = NDArray[np.float64]


def star(rng: np.random.Generator, corners: int, ragged: float = 0.7, size: float = 100.0) -> Coordinates:
    """A simple polygon round (0, 0), counter-clockwise; the more ragged, the deeper its clefts."""
    while True:
        turn = np.sort(rng.uniform(0, 2 * np.pi, corners))
        reach = size * (1 - ragged * rng.uniform(0, 1, corners))
        ring = np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])
        shape = Polygon(ring)
        if shape.is_valid and shape.area > 0.05 * size**2 and shape.exterior.is_ccw:
            return ring


GORE = ((0.0, -26.0), (118.0, -42.0), (124.0, 0.0), (118.0, 42.0), (0.0, 26.0), (4.0, 0.0))
HOOK = ((0.0, 0.0), (90.0, 0.0), (90.0, 20.0), (22.0, 20.0), (22.0, 70.0), (0.0, 70.0))
SCRAP = (
    (0.0, 0.0),
    (260.0, 12.0),
    (430.0, 0.0),
    (455.0, 160.0),
    (390.0, 300.0),
    (210.0, 330.0),
    (180.0, 250.0),
    (30.0, 310.0),
)


def box_ring(length: float, width: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
