"""A cloth's weight worked out from a weighed piece, and how far it can be trusted.

Mass per unit area is mass ÷ area of a conditioned piece (BS 2471; ASTM D3776 option C, whose piece is at least 100 cm²;
ISO 139: 20 °C, 65 % relative humidity, which a workroom can only come near). What scale and tape may be out by is carried
through as the root of the sum of squares, as for readings that do not depend on each other (JCGM 100, *GUM*, 5.1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from . import telling
from .amounts import MM2_IN_M2
from .cloths import HEAVIEST
from .given import a_count, a_figure
from .refusals import Refused

LEAST_PIECE = 10_000.0
"""mm²: 100 cm², the least piece that ASTM D3776 option C weighs."""
WORST = 0.05
"""A weight that may be out by more than this share is refused: a twentieth, less than lies between two cloths that are told
apart by hand (common practice, no source)."""
TAPE = 1.0
"""mm by which a measure on the tape may be out, unless it is said."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weight in g/m², and by how many g/m² it may be out."""

    weight: float
    within: float

    @property
    def share(self) -> float:
        """By what share of itself the weight may be out: 0.05 is ±5 %."""
        return self.within / self.weight


def weigh_piece(mass: float, length: float, width: float, *, scale: float, tape: float = TAPE, pieces: int = 1) -> Weighing:
    """The weight of a cloth from one piece of it, or from `pieces` equal ones weighed together.

    `mass`: g, of all together, which the scale may be out by `scale` g (a kitchen scale that shows whole grams: 0.5).
    `length`, `width`: mm, of each, which the tape may be out by `tape` mm.
    Raises Refused for less than 100 cm² in all, and for a weight that may be out by more than 5 %: it says by how much, and
    how much cloth would have to be weighed.

    >>> said = weigh_piece(21.6, 400, 300, scale=0.5)
    >>> f"{said.weight:.0f} ± {said.within:.1f} g/m²"
    '180 ± 4.2 g/m²'
    """
    mass = a_figure(mass, "mass", unit="g")
    length, width = a_figure(length, "length", unit="mm"), a_figure(width, "width", unit="mm")
    scale = a_figure(scale, "what the scale may be out by", unit="g")
    tape = a_figure(tape, "what the tape may be out by", unit="mm", above=False)
    area = length * width * a_count(pieces, "pieces", least=1)
    by_tape = math.hypot(tape / length, tape / width)
    share = math.hypot(scale / mass, by_tape)
    if area < LEAST_PIECE or share > WORST:
        raise _too_little(area, mass, share, scale, by_tape)
    weight = mass / (area / MM2_IN_M2)
    if weight > HEAVIEST:
        raise Refused(
            f"the piece would weigh {telling.cloth_weight(round(weight))}",
            where="weighing",
            expected=f"at most {telling.cloth_weight(HEAVIEST)}: was a unit mistaken?",
        )
    return Weighing(weight, share * weight)


def _too_little(area: float, mass: float, share: float, scale: float, by_tape: float) -> Refused:
    """Why a piece is no weighing, and how much of the cloth would be one."""
    least = LEAST_PIECE
    if by_tape < WORST:
        # The tape's share is taken as it is: on a larger piece it is less, so that this errs to the careful side.
        least = max(least, scale / math.sqrt(WORST**2 - by_tape**2) / (mass / area))
    what = f"{telling.area(area)} of cloth is too little to weigh"
    if share > WORST:
        what = f"{what}: {telling.mass(mass)} on this scale may be out by {100 * share:.0f} %"
    return Refused(
        what,
        where="weighing",
        expected=f"a weight to be trusted within {100 * WORST:.0f} %, of at least {telling.area(LEAST_PIECE)}",
        next=f"Weigh at least {telling.area(_rounded_up(least))} of it in one or more pieces, or use a finer scale",
    )


def _rounded_up(figure: float) -> float:
    """To two figures, never down."""
    unit = 10.0 ** (math.floor(math.log10(figure)) - 1)
    return math.ceil(round(figure / unit, 6)) * unit
