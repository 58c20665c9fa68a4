"""The engine's door: a case in, the best lay found out, better ones told of on the way."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace

from .bounding import Bounding, LengthBounding
from .clearances import sheet_cost
from .examination import examine
from .forms import Case, Result
from .hands import Hands
from .instance import Instance
from .packing import Packing
from .sheets import SheetSearch
from .strip import StripSearch
from .warming import make_ready

BUDGET = 30_000.0
"""Evaluations that each worker makes in one round: some hundredths of a second, so that the clock and a wish to stop are
looked at often enough. The same for every case, or the same seed would not give the same lay."""

FIRST_LAY = 1.0
"""Seconds that a first lay may take in any case; it ends at its next corner once these and the time asked for are over."""
SETTLING, MOST_SETTLING = 0.15, 1.5
"""The share of the time, and the most of it in seconds, that is kept for settling the lay found."""

ROUND_SECONDS = 10.0
"""What a round takes at most, far away and on a busy machine; it is a tenth of a second here."""

ADOPT_AFTER = 40
"""Rounds after which a worker that is behind goes on from the best worker's strip."""


def solve(
    case: Case,
    *,
    seconds: float = 10.0,
    rounds: int | None = None,
    seed: int = 0,
    workers: int = 1,
    on_better: Callable[[Result], None] | None = None,
    stop: Callable[[], bool] | None = None,
    hands: Hands | None = None,
) -> Result:
    """Search for the best lay until `seconds` or `rounds` are over, `stop()` says so, or nothing better can be.

    The clock is looked at only between rounds, so the same case, seed, workers and rounds give the same lay. `on_better` is
    called with the first lay and with each that is better. The first search on a machine compiles the kernels, for which the
    clock waits: `kernels_are_kept` tells beforehand whether that is still to come. The workers are threads of this process, or
    `hands` elsewhere (`many_hands`), whose lay is the same.

    >>> from nesting import Panel, Sheet
    >>> square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    >>> sheet = Sheet("s", ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)))
    >>> found = solve(Case((Panel("p", square, copies=9),), (sheet,)), seconds=1)
    >>> found.placed, found.bound, found.proved
    (6, 6, True)
    """
    make_ready()
    began = time.monotonic()
    enough = max(seconds, FIRST_LAY) if rounds is None else math.inf

    def late() -> bool:
        return time.monotonic() - began > enough

    team = _StripTeam(case, seed, workers) if case.strip is not None else _SheetTeam(case, seed, workers, hands, late)
    legal = _Legal(case)
    done = 0
    settling = min(MOST_SETTLING, SETTLING * seconds)

    def dated(result: Result) -> Result:
        return replace(result, rounds=done, seed=seed, seconds=time.monotonic() - began)

    if legal.take(dated(team.result())) and on_better:
        on_better(legal.best)
    with _pool(workers) as pool:
        while not team.done and (rounds is None or done < rounds):
            left = seconds - settling - (time.monotonic() - began)
            if (rounds is None and left <= 0) or (stop is not None and stop()):
                break
            if rounds is None:
                team.prove_more()
            better = team.round(pool)
            done += 1
            if better and legal.take(dated(team.result())) and on_better:
                on_better(legal.best)
        end = began + seconds if rounds is None else math.inf
        settled = team.settle(pool, lambda: time.monotonic() > end or (stop is not None and stop()))
        if settled and legal.take(dated(team.result())) and on_better:
            on_better(legal.best)
    if legal.refused and not legal.best.placements:
        raise AssertionError("the search made no lay that is allowed, which is a fault of the program")
    if rounds is not None:
        team.prove_at_last()
    team.close()
    return dated(team.with_proof(legal.best))


@contextmanager
def _pool(workers: int) -> Iterator[ThreadPoolExecutor]:
    pool = ThreadPoolExecutor(max(1, workers))
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


class _Legal:
    """The last lay that shapely, which knows nothing of no-fit polygons, has found to be allowed."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.best = Result()
        self.refused = 0

    def take(self, result: Result) -> bool:
        """Whether the lay is allowed; it is the best if so. One that is not is a fault of the search, and is not shown."""
        faults = examine(self.case, result).faults
        if faults and self.case.sheets:
            self.refused += 1
            result = self._without({(f.sheet, max(f.panels)) for f in faults if f.panels}, result)
            faults = examine(self.case, result).faults
        if faults or result.placed < self.best.placed:
            self.refused += 1
            return False
        self.best = result
        return True

    def _without(self, wrong: set[tuple[str | None, int]], result: Result) -> Result:
        """The lay less the panels (sheet, number on it) that are not allowed."""
        numbers: Counter[str] = Counter()
        kept = []
        for p in result.placements:
            numbers[p.sheet] += 1
            if (p.sheet, numbers[p.sheet]) not in wrong:
                kept.append(p)
        plies = {s.id: s.plies for s in self.case.sheets}
        placed = sum(plies[p.sheet] for p in kept)
        cost = sum(sheet_cost(s) for s in self.case.sheets if any(p.sheet == s.id for p in kept))
        complete = placed == sum(p.copies for p in self.case.panels)
        return replace(result, placements=tuple(kept), placed=placed, cost=cost, complete=complete, proved=False)


class _StripTeam:
    """Workers on a strip, each with a seed of its own; those behind go on from the best now and then."""

    def __init__(self, case: Case, seed: int, workers: int) -> None:
        self.case, self.instance = case, Instance(case)
        self.searches = [StripSearch(self.instance, seed * 1_000_003 + w) for w in range(max(1, workers))]
        self.length = min(s.length for s in self.searches)
        self.bounding = LengthBounding(self.instance)
        self.rounds = 0

    @property
    def done(self) -> bool:
        return self.length <= max(self.bounding.least, self.bounding.full) * (1 + 1e-9)

    def round(self, pool: ThreadPoolExecutor) -> bool:
        list(pool.map(lambda s: s.advance(BUDGET), self.searches))
        self.rounds += 1
        best = min(self.searches, key=lambda s: s.length)
        if self.rounds % ADOPT_AFTER == 0:
            for search in self.searches:
                if search.length > best.length * 1.001:
                    search.adopt(best.best, best.length)
        better = best.length < self.length * (1 - 1e-12)
        self.length = best.length
        return better

    def prove_more(self) -> None:
        self.bounding.look(self.length)

    def prove_at_last(self) -> None:
        """A search that is told how many rounds to make has the quick bound alone: the others take longer than it does."""

    def settle(self, pool: ThreadPoolExecutor, stop: Callable[[], bool]) -> bool:
        """A strip is as short as was found: there is nothing to settle."""
        return False

    def close(self) -> None:
        self.bounding.close()

    def with_proof(self, result: Result) -> Result:
        return replace(result, least_length=self.bounding.least)

    def result(self) -> Result:
        best = min(self.searches, key=lambda s: s.length)
        low = min(x - self.instance.half[s, 0] for s, _, x, _ in best.best)
        placements = tuple(self.instance.placement("strip", s, x - low, y) for s, _, x, y in best.best)
        placed = len(placements)
        return self.with_proof(Result(placements, placed, placed, True, True, length=float(best.length)))


def _advanced(packing: Packing, budget: float) -> Packing:
    """A task after a round, for workers that share no memory with us."""
    packing.advance(budget)
    return packing


class _SheetTeam:
    """Workers on sheets, each with a task of its own."""

    def __init__(
        self, case: Case, seed: int, workers: int, hands: Hands | None = None, late: Callable[[], bool] = lambda: False
    ) -> None:
        self.case, self.hands = case, hands
        self.search = SheetSearch(Instance(case), seed, max(1, workers), late)
        self.bounding = Bounding(case, self.search.most_by_area())
        self._idle = False

    @property
    def done(self) -> bool:
        search = self.search
        least = self.bounding.least_cost
        cheapest = len(search.sheets) == 1 or search.no_cheaper or (least is not None and search.total_cost() <= least)
        return self._idle or (search.placed() >= self.bounding.most and cheapest)

    def prove_more(self) -> None:
        self.bounding.look(self.search.placed())

    def prove_at_last(self) -> None:
        self.bounding.settle(self.search.placed())

    def settle(self, pool: ThreadPoolExecutor, stop: Callable[[], bool]) -> bool:
        """Push the lay of each sheet together; True if any was."""
        settlings = self.search.settlings()
        while not stop() and not all(s.done for s in settlings.values()):
            list(pool.map(lambda s: s.advance(BUDGET, stop), settlings.values()))
        for h, settling in settlings.items():
            if settling.moved:
                self.search.laid[h] = [(s, h, x, y) for s, _, x, y in settling.steps]
        return any(settling.moved for settling in settlings.values())

    def close(self) -> None:
        self.bounding.close()

    def with_proof(self, result: Result) -> Result:
        bound, least = self.bounding.most, self.bounding.least_cost
        return replace(result, bound=bound, proved=bound == result.placed, least_cost=least)

    def round(self, pool: ThreadPoolExecutor) -> bool:
        self._idle = not self.search.assign()
        tasks = [t for t in self.search.tasks if t is not None]
        if self.hands is None:
            list(pool.map(lambda t: t.packing.advance(BUDGET), tasks))
        else:
            work = [(t.packing, BUDGET) for t in tasks]
            for task, packing in zip(tasks, self.hands.map(_advanced, work, ROUND_SECONDS), strict=True):
                task.packing = packing
        return self.search.collect()

    def result(self) -> Result:
        search = self.search
        placed = search.placed()
        wanted = sum(search.wanted)
        lay = Result(search.placements(), placed, complete=placed == wanted, cost=search.total_cost())
        return self.with_proof(lay)
