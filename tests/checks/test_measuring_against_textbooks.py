"""Outlines by tape against worked examples and theorems of others.

- Bowditch's rule: C. D. Ghilani and P. R. Wolf, *Elementary Surveying*, the traverse of five sides that its chapter on
  traverse computations works through (departures, latitudes, closing error, balanced departures and latitudes); *mem*, but its
  figures are tied together by arithmetic that is done again here.
- Trilateration: Brahmagupta's quadrilateral (*Brāhmasphuṭasiddhānta*, AD 628, ch. 12; sides 25, 39, 60, 52, diagonals 56 and
  63, area 1764; *mem*, and Ptolemy's theorem holds for it); Heron's triangle 13, 14, 15, area 84 (*Metrica* I, *mem*).
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from shapely import Polygon, affinity

from stash.tying import tie
from stash.walking import walk

LENGTHS = (647.25, 203.03, 720.35, 610.24, 285.13)
AZIMUTHS = ((126, 55, 17), (178, 18, 58), (15, 31, 54), (284, 35, 20), (206, 9, 41))
DEPARTURES_LATITUDES = ((517.451, -388.815), (5.966, -202.942), (192.889, 694.045), (-590.565, 153.708), (-125.715, -255.919))
BALANCED = ((517.444, -388.835), (5.964, -202.949), (192.881, 694.022), (-590.571, 153.689), (-125.718, -255.928))


def azimuth(degrees: int, minutes: int, seconds: int) -> float:
    return degrees + minutes / 60 + seconds / 3600


def test_the_example_is_recalled_rightly() -> None:
    for length, said, (departure, latitude) in zip(LENGTHS, AZIMUTHS, DEPARTURES_LATITUDES, strict=True):
        angle = math.radians(azimuth(*said))
        assert (length * math.sin(angle), length * math.cos(angle)) == pytest.approx((departure, latitude), abs=0.0015)


def test_the_textbooks_traverse() -> None:
    """Closing error 0.026 in departure, 0.077 in latitude, 0.08 in all, of 2466.00 round (about 1 : 30,000)."""
    azimuths = [azimuth(*said) for said in AZIMUTHS]
    turns = [(before - after + 180) % 360 - 180 for before, after in pairwise([*azimuths, azimuths[0]])]
    found = walk(LENGTHS, turns)
    assert found.round == pytest.approx(2466.00)
    assert found.closing == pytest.approx(math.hypot(0.026, 0.077), abs=0.002)
    assert found.turned == pytest.approx(0, abs=1e-9)
    # Ours starts along +x; theirs along the first azimuth, which is counted with the clock from north.
    ring = affinity.rotate(Polygon(found.measured.ring), 90 - azimuths[0], origin=(0, 0)).exterior.coords
    for (a, b), balanced in zip(pairwise(ring), BALANCED, strict=True):
        assert (b[0] - a[0], b[1] - a[1]) == pytest.approx(balanced, abs=0.002)


def test_brahmaguptas_quadrilateral() -> None:
    found = tie({"AB": 250, "BC": 390, "CD": 600, "DA": 520, "AC": 560, "BD": 630})
    assert 56 * 63 == 25 * 60 + 39 * 52  # Ptolemy
    assert Polygon(found.measured.ring).area == pytest.approx(176_400, rel=1e-6)
    assert max(abs(each.off) for each in found.ties) < 1e-6


def test_herons_triangle() -> None:
    assert Polygon(tie({"AB": 130, "BC": 140, "CA": 150}).measured.ring).area == pytest.approx(8400, rel=1e-6)
