"""Margins against shapely's buffers: what is grown holds the true margin, and at most 2 % of it too much."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Polygon

from nesting.margins import offset
from nesting.nofit import rings_to_region
from tests.nesting.shapes import star

NEAR = 1e-3


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("distance", [0.5, 3.0, 8.0])
def test_growing(seed: int, distance: float) -> None:
    ring = star(np.random.default_rng(seed), 4 + seed % 14)
    grown = rings_to_region(offset([ring], distance, 200.0))
    assert grown.buffer(NEAR).contains(Polygon(ring).buffer(distance, quad_segs=64))
    assert Polygon(ring).buffer(1.0197 * distance, quad_segs=256).buffer(NEAR).contains(grown)


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("distance", [0.5, 3.0, 8.0])
def test_shrinking(seed: int, distance: float) -> None:
    ring = star(np.random.default_rng(seed), 4 + seed % 14, 0.5)
    shrunk = rings_to_region(offset([ring], -distance, 200.0))
    truth = Polygon(ring).buffer(-distance, quad_segs=64)
    assert truth.buffer(NEAR).contains(shrunk)
    assert shrunk.buffer(NEAR).contains(Polygon(ring).buffer(-1.0197 * distance, quad_segs=256))


def test_a_tear_grows_to_a_capsule() -> None:
    tear = np.array([(0.0, 0.0), (30.0, 0.0)])
    grown = rings_to_region(offset([tear], 2.0, 100.0))
    assert grown.contains(LineString(tear).buffer(1.999, quad_segs=64))
    assert grown.area == pytest.approx(LineString(tear).buffer(2.0, quad_segs=64).area, rel=0.01)


def test_what_is_narrower_than_the_margins_is_gone() -> None:
    ribbon = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 5.0), (0.0, 5.0)])
    assert offset([ribbon], -2.6, 100.0) == []
