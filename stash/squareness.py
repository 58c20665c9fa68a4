"""Whether the weft of a remnant is square to its warp, and what is said where it is not.

Skew is measured as how far a weft thread has run off over a width, and told as that share of it (as ASTM D3882 does for bow
and skew; from memory). A panel cut from cloth that is out of square hangs twisted once it is washed, and a stripe or check
runs askew in it. Cloth is pulled square, damped and pressed before it is measured and chalked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .given import a_figure

if TYPE_CHECKING:
    from .plans import Lay

TOLERATED = 2.0
"""Per cent: what is warned of is more than this. Trade limits for woven cloth are about 3, for stripes and checks 2 (common
practice, no source)."""
MOST = 30.0
"""Degrees: what leans more than this is cloth whose grain was taken wrong."""


def a_skew(given: float | None) -> float | None:
    """Degrees by which the weft is out of square to the warp, above 0 where the far end of a weft thread leans to the right.
    Raises Refused for more than cloth can be."""
    if given is None:
        return None
    a_figure(abs(given), "skew", unit="degrees", above=False, most=MOST)
    return float(given)


def per_cent(skew: float) -> float:
    """How far a weft thread runs off, in per cent of the width that it crosses.

    >>> round(per_cent(math.degrees(math.atan2(12, 400))), 6)
    3.0
    """
    return 100.0 * abs(math.tan(math.radians(skew)))


def is_skewed(skew: float | None) -> bool:
    """Whether a remnant is out of square by more than is tolerated; not where nobody has looked."""
    return skew is not None and per_cent(skew) > TOLERATED


@dataclass(frozen=True, slots=True)
class OutOfSquare:
    """A remnant of a lay that is out of square: by how many degrees (to the right above 0), which is so much per cent."""

    tag: str
    skew: float
    per_cent: float


def out_of_square(lay: Lay) -> tuple[OutOfSquare, ...]:
    """The remnants of a lay that must be pulled square before they are chalked."""
    there = ((sheet.remnant.tag, sheet.remnant.skew) for sheet in lay.sheets if not sheet.dropped)
    return tuple(OutOfSquare(tag, skew, per_cent(skew)) for tag, skew in there if skew is not None and is_skewed(skew))
