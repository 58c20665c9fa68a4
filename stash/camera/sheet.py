"""What gives a photograph its scale: the printed sheet with its marks, a sheet of A4, or a card.

Each lies flat on the table beside the cloth. Its coordinates are in mm from its own middle, x along its long side. Every
straight side of it that can be told from what lies round it is a `Side` to which points seen on it must fall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from nesting import Point, Ring

from ..words import Scale

MARK, CELLS = 36.0, 6
"""mm a mark is wide, and the cells in that: four of the pattern and a black rim of one."""
MARK_PLACES: tuple[Point, ...] = ((-115.5, 77.0), (0.0, 77.0), (115.5, 77.0), (115.5, -77.0), (0.0, -77.0), (-115.5, -77.0))
"""Middles of a sheet's marks; they keep 10 mm from the rim of A4 and 6 mm from that of letter paper."""
SHEETS = 4
"""Kinds of sheet there are, so that two or more in one photograph are told apart."""
SQUARE = 100.0
"""mm, either way: what is measured to see whether the printer kept the scale."""
A4: Point = (297.0, 210.0)
"""ISO 216."""
LETTER: Point = (279.4, 215.9)
"""8 1/2 × 11 in."""
CARD: Point = (85.60, 53.98)
"""ISO/IEC 7810, ID-1."""
CARD_CORNER = 3.48
"""mm: the greatest radius of an ID-1 card's corners (ISO/IEC 7810: 3.18 ± 0.30), within which its sides are not straight."""
SCALE_SIGMA = {
    Scale.SHEET: 0.0010,
    Scale.A4: 2.0 / math.sqrt(6) / A4[0],
    Scale.CARD: 0.0020,
}
"""Standard uncertainty of each scale itself, as a part of a length. A printed sheet: its square was read within 0.2 mm of
100 mm, anywhere within alike (JCGM 100, 4.3.7). A4: ISO 216 lets a side of 297 mm be out by 2 mm, and most are nearer
(triangular, JCGM 100, 4.3.9). A card: ISO/IEC 7810 lets its length be out by 0.13 mm
(mem), alike anywhere: 0.0009; and its face is 0.76 mm nearer to the camera, which is some 500 mm away: 0.0015 more."""


@dataclass(frozen=True, slots=True)
class Outlined:
    """A thing of known shape on the table: the ring of its corners, mm, and how far from each a side begins to be straight."""

    name: str
    ring: Ring
    from_corner: float


def sheet_marks(number: int) -> dict[int, Outlined]:
    """The marks of a sheet (1 to 4), by the number that each bears."""
    half = MARK / 2
    return {
        (number - 1) * len(MARK_PLACES) + i: Outlined(
            f"mark {i + 1} of sheet {number}",
            ((x - half, y + half), (x + half, y + half), (x + half, y - half), (x - half, y - half)),
            2.5,
        )
        for i, (x, y) in enumerate(MARK_PLACES)
    }


def sheet_of(mark: int) -> int:
    """The number of the sheet that bears a mark."""
    return mark // len(MARK_PLACES) + 1


def paper_or_card(scale: Scale) -> Outlined:
    """A sheet of A4, or a card, from its far left corner round with the clock, as a picture's y runs down."""
    length, width = CARD if scale is Scale.CARD else A4
    x, y = length / 2, width / 2
    corners = ((-x, y), (x, y), (x, -y), (-x, -y))
    if scale is Scale.CARD:
        return Outlined("the card", corners, CARD_CORNER + 1.0)
    return Outlined("the A4 sheet", corners, 4.0)


def dark_cells(mark: int) -> tuple[tuple[int, int], ...]:
    """The dark cells (row from the top, column from the left) of a mark, its rim included."""
    picture = dictionary().generateImageMarker(mark, CELLS)
    return tuple((row, column) for row in range(CELLS) for column in range(CELLS) if picture[row, column] == 0)


def dictionary() -> Any:
    """The family of marks: OpenCV's ArUco, 4 × 4 cells, of which 24 are used."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
