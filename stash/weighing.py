"""A cloth's weight worked out from a weighed piece, and how far it can be trusted.

Mass per unit area is mass ÷ area of a conditioned piece (BS 2471; ASTM D3776 option C, whose piece is at least 100 cm²; ISO 139:
20 °C, 65 % relative humidity, which a workroom can only come near). What scale and tape may be out by is carried through by the
root of the sum of squares, as for readings that do not depend on each other (JCGM 100, *GUM*, 5.1).
"""

from __future__ import annotations

from dataclasses import dataclass

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
    Raises Refused for less than 100 cm² in all, and for a weight that may be out by more than 5 %: it says by how much, and how
    much cloth would have to be weighed.
    """
    raise NotImplementedError
