"""The count by lines: exact where rows fill a strip, never below a lay that is known, silent about bodies with a bay."""

from __future__ import annotations

import pytest
from shapely import Polygon, box

from nesting.bounds_hats import Way
from nesting.bounds_lines import most_by_lines


def squares(length: float, width: float) -> tuple[list[Way], Polygon]:
    """Squares of 10 on a rectangle: the middle may be anywhere 5 from its rim."""
    way = Way(0, box(-5, -5, 5, 5), box(5, 5, length - 5, width - 5).buffer(1e-6))
    return [way], box(0, 0, length, width)


@pytest.mark.parametrize(
    ("length", "width", "laid", "most"),
    [
        (100, 30, 30, 30),
        (100, 10, 10, 10),
        (10, 59, 5, 5),  # area says 5.9
        (13, 59, 5, 6),  # area says 7.67
        (105, 35, 30, 36),
    ],
)
def test_squares_on_a_rectangle(length: float, width: float, laid: int, most: int) -> None:
    found = most_by_lines(*squares(length, width))
    assert found is not None
    assert laid <= found <= most


def test_a_taper_one_way_takes_its_widest_side() -> None:
    body = Polygon([(-50, -45), (50, -30), (50, 30), (-50, 45)])
    ways = [Way(0, body, box(50, 45, 52, 955).buffer(1e-6))]
    assert most_by_lines(ways, box(0, 0, 102, 1000)) == 11  # 1000 / 90 = 11.1; by area 13.6


def test_a_body_with_a_bay_says_nothing() -> None:
    bay = Polygon([(-5, -5), (5, -5), (5, 5), (0, 0), (-5, 5)])
    assert most_by_lines([Way(0, bay, box(5, 5, 95, 25))], box(0, 0, 100, 30)) is None
    assert most_by_lines([], box(0, 0, 1, 1)) is None
