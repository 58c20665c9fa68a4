"""The lost tag: cloth in hand, two measures and a weight. Which remnant is it?

Each reading is held against what the stash says, in units of what both may be out by (`spread`); readings are taken as normal and
independent, so that the squares of these distances add up to −2 log likelihood, the usual chi-square. The candidates share out
the likelihood among them.
"""

from __future__ import annotations

from dataclasses import dataclass

from .finding import Listed
from .workroom import Workroom

FARTHEST = 4.0
"""A reading farther off than this many spreads is of another remnant (of normal readings 1 in 16 000 is so far off)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """A piece of cloth whose tag is lost: its two greatest measures along and across the thread, either way round (mm), and its
    weight (g); what is not known is left out, but something must be said. `cloth`, `fibre`, `colour`: if they are sure."""

    measures: tuple[float, float] | None = None
    mass: float | None = None
    cloth: str | None = None
    fibre: str | None = None
    colour: str | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A remnant that it may be. `share`: its share of the likelihood of all candidates, 0 to 1. `distance`: how far off all
    readings are together, in spreads (0: to the point). `why`: reading by reading, in words with mm and g."""

    remnant: Listed
    share: float
    distance: float
    why: tuple[str, ...]


def which(workroom: Workroom, in_hand: InHand, *, most: int = 5) -> tuple[Candidate, ...]:
    """The remnants that it may be, the likeliest first; of those in the bin, held or lost. None if none comes near.

    Raises Refused where neither measures nor mass are given, Unknown.
    """
    raise NotImplementedError
