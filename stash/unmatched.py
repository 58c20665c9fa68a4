"""What matching stripes and checks costs: a lay against the same lay without, on the same remnants and in the same time."""

from __future__ import annotations

from dataclasses import dataclass, replace

from . import lays
from .offering import Seen
from .seeking import Effort, seek
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class MatchingLoss:
    """What the same question yields without matching, as it was found: `panels` more, from `remnants` fewer, with `lost` mm²
    of good cloth less (below nought: more, from fewer remnants or with more panels)."""

    panels: int
    remnants: int
    lost: float

    @property
    def nothing(self) -> bool:
        """Nothing better was found without matching."""
        return not self.panels and not self.remnants and self.lost <= 0


def is_matched(seen: Seen) -> bool:
    """Whether any panel of a lay lies where a stripe or check asks."""
    asked, placed = seen.offer.asked, {(p.sheet, p.panel) for p in seen.offer.found.result.placements}
    striped = {sheet.id for sheet in asked.case.sheets if any(sheet.repeat)}
    matched = {panel.id for panel in asked.case.panels if panel.anchor is not None}
    return any(sheet in striped and panel in matched for sheet, panel in placed)


def matching_loss(workroom: Workroom, seen: Seen, effort: Effort) -> MatchingLoss | None:
    """What matching costs a lay; None where nothing of it is matched.

    A matched lay is one without matching, too, so that the loss is never less than nothing: where the search without finds
    nothing better, there is none that was found.
    """
    from nesting import unmatched

    if not is_matched(seen):
        return None
    asked = replace(seen.offer.asked, case=unmatched(seen.offer.asked.case))
    result = seek(asked, replace(effort, on_better=None)).result
    mine = seen.offer.found.result
    if (result.placed, -(result.cost or 0.0)) <= (mine.placed, -(mine.cost or 0.0)):
        return MatchingLoss(0, 0, 0.0)
    other = lays.preview(workroom, asked, result)
    lost = seen.lost - sum(each.lost for each in lays.foresee(workroom, other))
    return MatchingLoss(result.placed - mine.placed, len(seen.lay.sheets) - len(other.sheets), lost)
