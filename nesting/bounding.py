"""What is proved of a lay while it is sought: bounds in a thread of their own, harder ones as time allows."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Generic, TypeVar

from .bounds import area_offer, body_areas, bound_copies
from .bounds_program import Watch
from .bounds_strip import full_length, least_length, quick_least_length
from .choose import Chooser
from .forms import Case
from .instance import Instance

Proved = TypeVar("Proved")

FIRST_EFFORT = 0.25
MOST_EFFORT = 64.0
MANY_SHEETS = 200
"""Beyond so many sheets nothing is proved of each: the sum of what is wanted must do."""
MANY_ROOMS = 4
"""Likewise, sheets times panels, where the clock is not looked at."""
LENGTH_SHARE = 0.1
"""The share of the time in which a strip's length is proved: most such proofs gain little, and the search is the poorer."""


class GivenUpError(Exception):
    """The search is over and waits for no proof."""


class _Waiting(Watch):
    """Ends a proof once no one waits for it."""

    def __init__(self) -> None:
        self.given_up = threading.Event()

    def __call__(self) -> None:
        if self.given_up.is_set():
            raise GivenUpError


class Beside(Generic[Proved]):
    """A thread that proves one thing at a time, and gives up at the proof's next step once it is closed."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1)
        self._running: Future[Proved] | None = None
        self.watch = _Waiting()
        self.spent = 0.0

    @property
    def busy(self) -> bool:
        return self._running is not None and not self._running.done()

    def begin(self, proof: Callable[[], Proved]) -> None:
        self._running = self._pool.submit(self._timed, proof)

    def taken(self) -> Proved | None:
        """What was proved since this was last asked."""
        if self._running is None or self.busy:
            return None
        running, self._running = self._running, None
        return running.result()

    def close(self) -> None:
        self.watch.given_up.set()
        self.watch.interrupt()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _timed(self, proof: Callable[[], Proved]) -> Proved:
        began = time.monotonic()
        try:
            return proof()
        finally:
            self.spent += time.monotonic() - began


class Bounding:
    """The least upper bound on the copies so far, and the least cost of a complete lay if that is proved."""

    def __init__(self, case: Case, most: int) -> None:
        self.case, self.most = case, most
        self.least_cost: float | None = None
        self._effort = FIRST_EFFORT
        self._beside: Beside[int | None] = Beside()
        self._cost_asked = False

    def look(self, placed: int) -> None:
        """Take in what has been proved, and go on to what takes longer. Called between rounds."""
        if self._beside.busy:
            return
        self._take(self._beside.taken())
        if len(self.case.sheets) > MANY_SHEETS:
            return
        if placed < self.most and self._effort <= MOST_EFFORT:
            effort = self._effort
            self._beside.begin(lambda: self._copies(placed, effort))
            self._effort *= 2
        elif placed == self._wanted() and len(self.case.sheets) > 1 and not self._cost_asked:
            self._cost_asked = True
            self._beside.begin(self._cost)

    def settle(self, placed: int) -> None:
        """One bound of a fixed effort, for searches that are told how many rounds to make."""
        if len(self.case.sheets) * len(self.case.panels) <= MANY_ROOMS and placed < self.most:
            self._take(self._copies(placed, 1.0))

    def close(self) -> None:
        self._beside.close()

    def _take(self, most: int | None) -> None:
        if most is not None:
            self.most = min(self.most, most)

    def _wanted(self) -> int:
        return sum(p.copies for p in self.case.panels)

    def _copies(self, found: int, effort: float) -> int:
        return bound_copies(self.case, effort, found=found, watch=self._beside.watch).most

    def _cost(self) -> None:
        """The least cost of all that is wanted, from the areas of the sheets."""
        areas = body_areas(self.case)
        offers = [area_offer(self.case, h, areas) for h in range(len(self.case.sheets))]
        wanted = [p.copies for p in self.case.panels]
        proved = Chooser(areas, wanted, offers).prove(1.0)
        if proved.copies == self._wanted():
            self.least_cost = proved.least_cost


class LengthBounding:
    """The greatest lower bound on a strip's length so far."""

    def __init__(self, instance: Instance) -> None:
        self.case = instance.case
        self.least = quick_least_length(instance)
        self.full = full_length(instance.case)
        self._effort = FIRST_EFFORT
        self._beside: Beside[float] = Beside()
        self._began = time.monotonic()

    def look(self, length: float) -> None:
        """As for copies; `length`: of the lay in hand."""
        if self._beside.busy:
            return
        self._take(self._beside.taken())
        rested = self._beside.spent <= LENGTH_SHARE * (time.monotonic() - self._began)
        if self.least < length and self._effort <= MOST_EFFORT and rested:
            effort = self._effort
            self._beside.begin(lambda: least_length(self.case, self.least, length, effort, self._beside.watch))
            self._effort *= 2

    def close(self) -> None:
        self._beside.close()

    def _take(self, least: float | None) -> None:
        if least is not None:
            self.least = max(self.least, least)
