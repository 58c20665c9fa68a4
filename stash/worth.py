"""How useful a remnant is whole, what good cloth a lay loses, and what opening a remnant costs by the aim of a job.

**Useful area.** A remnant is the more useful the larger the largest rectangle on its grain, R: what one can still decide
about. Of that rectangle the share R / (R + `HALF_USE`) counts, and of what lies beside it half of that share. A strip that
is as wide as a binding and `LONG_STRIP` long is never less than half useful: binding is what such strips are for. (Common
practice, no source: the figures are ours, and only their order matters.)

**Good cloth lost** by a lay is what goes to the rag bag, and of each keeper the part by which it is less useful than it was
as a part of the whole: keeper × (useful share of the whole − useful share of the keeper), if that is more than nothing.

**Cost.** What opening a remnant is expected to cost before it is known what will lie on it. By the aim `least lost` it is its
useful area, more where it is not sure what it is (only computed, or only rough), less the longer it has been kept.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from .amounts import square_mm
from .words import Aim

if TYPE_CHECKING:
    from shapely import Polygon

    from nesting import Panel, Sheet

    from .tables import RemnantRow

HALF_USE = 100_000.0
"""mm²: a rectangle of this size (50 × 20 cm) is half as useful as endless cloth."""
LONG_STRIP = 1000.0
"""mm: the length from which on a strip is worth keeping for binding."""
UNSEEN, ROUGH = 1.15, 1.1
"""By how much more a keeper costs that nobody has had in hand yet, and a remnant of which only a rectangle is known."""
FLAWED = 1.25
"""By how much more a remnant costs that has a flaw where what is seen may not lie, so that a clean one is opened sooner for
it; and by how much less one with flaws where all that may be cut from it is hidden. (Common practice, no source; the figure
is ours.)"""
YEARLY, OLDEST = 0.93, 0.5
"""What each year takes off, since cloth fades and moths come, and how far down that goes."""
DAYS = 365.25


@dataclass(frozen=True, slots=True)
class Worth:
    """What a remnant is worth whole: its area and largest rectangle (mm², mm), how sure it is, since when it is kept (days),
    and which dye lot it is of (the cloth's own number where the lot is not known: no other cloth is of the same)."""

    area: float
    length: float
    width: float
    sure: float = 1.0
    days: int = 0
    lot: str = ""

    @property
    def useful(self) -> float:
        """Its useful area, mm²."""
        return self.area * useful_share(self.area, self.length, self.width)

    @property
    def expected(self) -> float:
        """What opening it is expected to cost, mm² of good cloth."""
        return self.useful * self.sure * max(OLDEST, math.exp(math.log(YEARLY) * self.days / DAYS))


def worth_of(row: RemnantRow, today: date) -> Worth:
    """What a remnant in the bin is worth."""
    sure = UNSEEN if row.confirmed_at is None else ROUGH if row.rough else 1.0
    days = max(0, (today - row.came_on).days)
    return Worth(square_mm(row.area), row.rect_length, row.rect_width, sure, days, lot_of(row))


def lot_of(row: RemnantRow) -> str:
    """The dye lot by which two remnants are told to match: that of the cloth or, where none is known, the cloth itself."""
    lot = " ".join(row.cloth.lot.split()).casefold()
    return f"{row.cloth.colour.casefold()}, lot {lot}" if lot else f"cloth {row.cloth_id}"


def useful_share(area: float, length: float, width: float, narrowest: float = 40.0) -> float:
    """The share of a piece of cloth that counts as useful; `length`, `width` of its largest rectangle on the grain (mm).

    >>> round(useful_share(500 * 200, 500, 200), 2), round(useful_share(100 * 100, 100, 100), 2)
    (0.5, 0.09)
    >>> useful_share(1200 * 50, 1200, 50)
    0.5
    """
    rectangle = length * width
    share = rectangle / (rectangle + HALF_USE) * (1 + min(1.0, rectangle / area)) / 2 if area > 0 else 0.0
    strip = min(length, width) >= narrowest and max(length, width) >= LONG_STRIP
    return max(share, 0.5) if strip else share


def good_cloth_lost(whole: Worth, keepers: tuple[Polygon, ...], rag_area: float, narrowest: float) -> float:
    """The good cloth that cutting a remnant loses, mm²: the rag bag, and what the keepers are less useful for."""
    from nesting import largest_rectangle

    share = useful_share(whole.area, whole.length, whole.width, narrowest)
    lost = rag_area
    for keeper in keepers:
        found = largest_rectangle(keeper)
        lost += keeper.area * max(0.0, share - useful_share(keeper.area, found.length, found.width, narrowest))
    return lost


def by_flaws(sheet: Sheet, panels: Sequence[Panel], seen: Set[str]) -> float:
    """By how much more, or less, a remnant costs for its flaws: the best cloth is for what is seen, flaws are for linings.

    `panels`: those of the case; `seen`: the ids of those that are seen when worn.

    >>> from nesting import Flaw, Panel, Sheet
    >>> ring = ((0.0, 0.0), (90.0, 0.0), (90.0, 90.0), (0.0, 90.0))
    >>> stained = Sheet("s", ring, flaws=(Flaw(ring, frozenset({"facing"})),))
    >>> [by_flaws(stained, [Panel(name, ring, 1)], {"yoke"}) for name in ("yoke", "facing")]
    [1.25, 0.8]
    """
    mine = [panel.id for panel in panels if panel.on is None or sheet.id in panel.on]
    visible = [name for name in mine if name in seen]
    if any(name not in flaw.spares for flaw in sheet.flaws for name in visible):
        return FLAWED
    return 1 / FLAWED if sheet.flaws and mine and not visible else 1.0


def costs(worths: Mapping[str, Worth], aim: Aim, flaws: Mapping[str, float] | None = None) -> dict[str, float]:
    """What opening each remnant costs by an aim, more or less for its `flaws` (`by_flaws`). Only the order of sums matters.

    With *fewest* and *matching* one remnant more always costs more than any choice among as many; within as many it is the
    good cloth. With *small first* the cost goes by the square of the rectangle, so that two halves cost half of a whole;
    with *oldest first* it is halved by every year.
    """
    flaws = flaws or {}
    good = {tag: worth.expected * flaws.get(tag, 1.0) for tag, worth in worths.items()}
    if aim in (Aim.FEWEST, Aim.MATCHING):
        every = sum(good.values()) or 1.0
        return {tag: 1.0 + 0.5 * cost / every for tag, cost in good.items()}
    if aim is Aim.SMALL_FIRST:
        largest = max((worth.length * worth.width for worth in worths.values()), default=1.0)
        return {tag: good[tag] * worth.length * worth.width / largest for tag, worth in worths.items()}
    if aim is Aim.OLDEST_FIRST:
        return {
            tag: worth.useful * worth.sure * flaws.get(tag, 1.0) * 0.5 ** (worth.days / DAYS) for tag, worth in worths.items()
        }
    return good
