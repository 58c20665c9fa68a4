"""Choosing by what fills show: the sheets of a choice are filled for real, and the choice is made again, until the two agree.

Of a sheet that nobody has filled yet the chooser hopes for as much as fills have reached elsewhere. When it picks such a
sheet, each panel is laid on it alone, and from then on no more is expected of it. When it picks only sheets that it knows,
its counts are laid: if they go in, that is the lay; if not, they come back as a cut on the model. It ends when the chooser
knows of nothing cheaper.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from .filling import Step
from .offers import Choice, Offer

if TYPE_CHECKING:
    from .sheets import SheetSearch

EFFORT = 0.2
"""Deterministic seconds of CP-SAT for one choice."""
FILLS = 8
"""The most sheets that are filled between two looks at the clock."""
HOPE = 0.85
"""The share of its area that is hoped for of a sheet that is not known,"""
ENOUGH, LIKELY = 6, 0.9
"""until so many sheets of about its size are: then what all but a tenth of these stay below."""


class Agreement:
    """The choice of sheets of one search, on its way to agree with the fills. `over`: nothing cheaper is known of."""

    def __init__(self, search: SheetSearch) -> None:
        self.search = search
        self.over = len(search.sheets) == 1
        self._known: set[int] = set()
        self._none: set[tuple[int, int]] = set()
        self._shares: dict[int, list[float]] = {}

    def step(self) -> bool:
        """One choice, and some fills of it; True if it gave a better lay."""
        search = self.search
        made = tuple(w - c for w, c in zip(search.wanted, search.copies({}), strict=True))
        cost = search.total_cost()
        now = tuple((h, search.counts(search.laid.get(h, []))) for h in sorted(search.laid))
        hint = Choice(now, made, cost, False)
        chooser = search.chooser_of(made, self._offers())
        for h, k in self._none:
            chooser.expect_none(h, k)
        choice = chooser.choose(EFFORT, boldness=0.0, hint=hint, below=cost * (1 - 1e-9))
        if choice is None or sum(choice.copies) < sum(made):
            self.over = True
            return False
        strange = [h for h, _ in choice.picks if h not in self._known]
        for h in strange[:FILLS]:
            self._get_to_know(h, made)
        return not strange and self._lay(choice)

    def _offers(self) -> list[Offer]:
        """What is hoped for of each sheet: a share of its area, but room for one panel; all of it where fills say how much."""
        search, areas = self.search, self.search.instance.areas
        offers = []
        for h, offer in enumerate(search.offers(HOPE, set())):
            room = search.area[h]
            if h in self._known:
                offers.append(replace(offer, area=room))
                continue
            one = max((float(a) for a, most in zip(areas, offer.most, strict=True) if most), default=0.0)
            # Several panels together fill better than each alone, which is all that is seen.
            seen = sorted(self._shares.get(self._size_class(h), [])) if len(areas) == 1 else []
            hope = min(HOPE, seen[int(LIKELY * len(seen))]) if len(seen) >= ENOUGH else HOPE
            offers.append(replace(offer, area=hope * room if len(seen) >= ENOUGH else max(hope * room, min(room, one))))
        return offers

    def _size_class(self, h: int) -> int:
        """Sheets of about a size, measured by the smallest panel: small ones are filled less well."""
        return math.floor(2 * math.log2(max(1e-9, self.search.area[h] / float(self.search.instance.areas.min()))))

    def _get_to_know(self, h: int, made: tuple[int, ...]) -> None:
        """Lay each panel alone on a sheet."""
        search = self.search
        self._known.add(h)
        best = 0.0
        for k, copies in enumerate(made):
            most = [copies // search.plies[h] if p == k else 0 for p in range(len(made))]
            if any(most):
                laid = search.counts(search.best_fill(h, most, search.held.get(h, [])))
                search.note(h, laid)
                best = max(best, float(np.dot(laid, search.instance.areas)) / search.area[h])
                if not any(laid):
                    self._none.add((h, k))
        self._shares.setdefault(self._size_class(h), []).append(best)

    def _lay(self, choice: Choice) -> bool:
        """Lay a choice as it is; what does not go in is a cut on the model."""
        search = self.search
        laid: dict[int, list[Step]] = {}
        whole = True
        for h, counts in choice.picks:
            steps = search.best_fill(h, list(counts), search.held.get(h, []))
            got = search.counts(steps)
            if got == counts:
                laid[h] = steps
            else:
                whole = False
                search.note(h, got)
                search.forbid(h, counts)
        return whole and search.take_over(laid)
