"""What is proved of a lay while it is sought: bounds in a thread of their own, harder ones as time allows."""

from __future__ import annotations

import threading
from concurrent.futures import Future, ThreadPoolExecutor

from .bounds import area_offer, bound_copies
from .choose import Chooser
from .forms import Case

FIRST_EFFORT = 0.25
MOST_EFFORT = 64.0
MANY_SHEETS = 200
"""Beyond so many sheets nothing is proved of each: the sum of what is wanted must do."""


MANY_ROOMS = 4
"""Likewise, sheets times panels, where the clock is not looked at."""


class GivenUpError(Exception):
    """The search is over and waits for no proof."""


class Bounding:
    """The least upper bound on the copies so far, and the least cost of a complete lay if that is proved."""

    def __init__(self, case: Case, most: int) -> None:
        self.case, self.most = case, most
        self.least_cost: float | None = None
        self._effort = FIRST_EFFORT
        self._pool = ThreadPoolExecutor(1)
        self._running: Future[int | None] | None = None
        self._given_up = threading.Event()
        self._cost_asked = False

    def look(self, placed: int) -> None:
        """Take in what has been proved, and go on to what takes longer. Called between rounds."""
        if self._running is not None:
            if not self._running.done():
                return
            self._take(self._running.result())
            self._running = None
        if len(self.case.sheets) > MANY_SHEETS:
            return
        if placed < self.most and self._effort <= MOST_EFFORT:
            self._running = self._pool.submit(self._copies, placed, self._effort)
            self._effort *= 2
        elif placed == self._wanted() and len(self.case.sheets) > 1 and not self._cost_asked:
            self._cost_asked = True
            self._running = self._pool.submit(self._cost)

    def settle(self, placed: int) -> None:
        """One bound of a fixed effort, for searches that are told how many rounds to make."""
        if len(self.case.sheets) * len(self.case.panels) <= MANY_ROOMS and placed < self.most:
            self._take(self._copies(placed, 1.0))

    def close(self) -> None:
        self._given_up.set()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _take(self, most: int | None) -> None:
        if most is not None:
            self.most = min(self.most, most)

    def _wanted(self) -> int:
        return sum(p.copies for p in self.case.panels)

    def _copies(self, found: int, effort: float) -> int:
        return bound_copies(self.case, effort, found=found, watch=self._watch).most

    def _watch(self) -> None:
        if self._given_up.is_set():
            raise GivenUpError

    def _cost(self) -> None:
        """The least cost of all that is wanted, from the areas of the sheets."""
        from .bounds import body_areas

        areas = body_areas(self.case)
        offers = [area_offer(self.case, h, areas) for h in range(len(self.case.sheets))]
        wanted = [p.copies for p in self.case.panels]
        proved = Chooser(areas, wanted, offers).prove(1.0)
        if proved.copies == self._wanted():
            self.least_cost = proved.least_cost
