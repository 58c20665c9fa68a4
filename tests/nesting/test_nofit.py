"""Rooms and no-fit polygons: what clipping leaves behind."""

from pathlib import Path

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Polygon

from nesting import read_case
from nesting.instance import Instance
from nesting.nofit import SPIKE, Grid

GRID = Grid(4096.0)


def whole(*corners: tuple[float, float]) -> list[list[int]]:
    return [[round(x * GRID.scale), round(y * GRID.scale)] for x, y in corners]


def test_a_spike_is_taken_off_and_what_it_stood_on_stays() -> None:
    spiked = whole((0, 0), (2, 0), (2, 1), (50, 40), (2, 1 + 1e-5), (2, 2), (0, 2))
    (ring,) = GRID.rings([spiked], 1.0)
    assert abs(Polygon(ring).area - 4.0) < 1e-4
    assert ring.max() < 2.1


def test_a_narrow_wedge_that_is_wider_than_rounding_stays() -> None:
    wide = 4 * SPIKE / GRID.scale
    wedge = whole((0, 0), (2, 0), (2, 1), (50, 1), (2, 1 + wide), (2, 2), (0, 2))
    (ring,) = GRID.rings([wedge], 1.0)
    assert ring[:, 0].max() == 50.0


def test_a_ring_that_is_all_spike_is_no_room() -> None:
    assert GRID.rings([whole((0, 0), (50, 40), (1e-5, 0))], 0.0) == []


def test_each_corner_of_a_planted_room_is_a_place_on_the_cloth(benchmarks: Path) -> None:
    case = read_case((benchmarks / "planted" / "cuff-24-5032.json").read_text())
    instance = Instance(case)
    cloth = instance.cloth(case.sheets[0])
    for s, shape in enumerate(instance.shapes):
        room = instance.room(case.sheets[0], s)
        assert room is not None
        assert len(room.corners) > 10
        for x, y in room.corners:
            outside = translate(Polygon(shape.ring), x, y).difference(cloth).area
            assert outside < instance.lie * np.hypot(*shape.half), (s, x, y)
