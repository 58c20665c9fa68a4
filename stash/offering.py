"""Up to three lays for one job, which differ in their remnants: each sought by an aim of its own."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from . import lays
from .asking import Asked, by_aim
from .plans import Foreseen, Lay
from .seeking import Effort, Found, seek
from .words import Aim
from .workroom import Workroom

MOST = 3
"""More than three lays side by side are not compared, only looked at."""
FIRST_SHARE = 0.6
"""The share of the time that the aim asked for gets, where others are offered beside it."""
BESIDE = {
    Aim.MATCHING: (Aim.LEAST_LOST, Aim.SMALL_FIRST, Aim.OLDEST_FIRST),
    Aim.FEWEST: (Aim.LEAST_LOST, Aim.SMALL_FIRST, Aim.OLDEST_FIRST),
    Aim.LEAST_LOST: (Aim.FEWEST, Aim.SMALL_FIRST, Aim.OLDEST_FIRST),
    Aim.SMALL_FIRST: (Aim.LEAST_LOST, Aim.FEWEST, Aim.OLDEST_FIRST),
    Aim.OLDEST_FIRST: (Aim.LEAST_LOST, Aim.FEWEST, Aim.SMALL_FIRST),
}
"""Which aims are offered beside each, the most different first."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A lay that is offered: the question by its aim, and what was found."""

    asked: Asked
    found: Found

    @property
    def remnants(self) -> frozenset[str]:
        return frozenset(placement.sheet for placement in self.found.result.placements)


@dataclass(frozen=True, slots=True)
class Seen:
    """An offer as it would be kept: the lay, numbered 0, and what its remnants leave."""

    offer: Offer
    lay: Lay
    leaves: tuple[Foreseen, ...]

    @property
    def lost(self) -> float:
        """Good cloth lost, mm²."""
        return sum(each.lost for each in self.leaves)


def offers(asked: Asked, effort: Effort, most: int = MOST) -> tuple[Offer, ...]:
    """The lay by the aim asked for and, where that is complete and there is time, others on other remnants.

    With `rounds` each is sought for so many; else the first has most of the time, and the others share what is left of it.
    Where it is to be cut in stacks, it is one.
    """
    if asked.terms.plies > 1 or asked.terms.stacks:
        from .stacking import seek_in_stacks

        return (Offer(*seek_in_stacks(asked, effort)),)
    most = min(most, MOST)
    began = time.monotonic()
    first = replace(effort, seconds=effort.seconds * (FIRST_SHARE if most > 1 else 1.0))
    found = [Offer(asked, seek(asked, first))]
    if most == 1 or effort.stopped() or not _is_complete(found[0]):
        return tuple(found)
    aims: Sequence[Aim] = BESIDE[asked.aim]
    for number, aim in enumerate(aims):
        left = effort.seconds - (time.monotonic() - began)
        if len(found) == most or effort.stopped() or (effort.rounds is None and left <= 0):
            break
        other = by_aim(asked, aim)
        share = replace(effort, seconds=left / (len(aims) - number), on_better=None)
        offer = Offer(other, seek(other, share))
        # What was found by another aim may be better by this one too: then there is nothing of its own to offer.
        own = _cost(other, offer.remnants) < min(_cost(other, one.remnants) for one in found)
        if _is_complete(offer) and own:
            found.append(offer)
    return tuple(found)


def looked_over(workroom: Workroom, found: Sequence[Offer]) -> tuple[Seen, ...]:
    """The offers as they would be kept, the one asked for first. One that claims to lose the least good cloth and does not is
    left out: what opening a remnant costs is only what is expected of it."""
    seen = []
    for offer in found:
        lay = lays.preview(workroom, offer.asked, offer.found.result)
        seen.append(Seen(offer, lay, lays.foresee(workroom, lay)))
    least = min(one.lost for one in seen)
    return tuple(one for n, one in enumerate(seen) if not n or one.offer.asked.aim is not Aim.LEAST_LOST or one.lost <= least)


def _cost(asked: Asked, remnants: frozenset[str]) -> float:
    """What remnants cost by the aim of a question."""
    return sum(sheet.cost or 0.0 for sheet in asked.case.sheets if sheet.id in remnants)


def _is_complete(offer: Offer) -> bool:
    """Whether it holds all that is needed, spares left aside."""
    placed = [placement.panel for placement in offer.found.result.placements]
    return all(placed.count(name) >= meant.wanted for name, meant in offer.asked.panels.items())
