"""Which sheets to lay on, and how many placements of each panel on each: a model of the whole bin for CP-SAT.

The model knows of a sheet only its limits: the most placements of each panel alone, the area that they have between them,
linear cuts, and picks that could not be filled. First as many copies as can be, then the least total cost of the sheets
touched. While every limit is an upper bound that is proved, no lay whatever beats what `Chooser.prove` returns: each lay
keeps the limits, so its counts are a solution of the model.

**Few sheets out of many.** For prices λ ≥ 0 of the panels, every choice that meets the demands d costs at least
Σ λ·d + Σ_s min(0, r_s), where r_s = cost_s − plies_s · max {λ·n : n within the limits of s} (Lagrange). A sheet whose r_s
lifts this above the cost of a choice in hand is in no better choice, and is left out. The argument holds for any λ, so
that the linear program that finds good ones need not be trusted. Sheets that cost no less and hold no more than others,
so many of them that not all can be touched, are left out by exchange: see `_outdone`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from .choose_model import HAIR, Model
from .offers import Choice, Counts, Limits, LinearCut, Offer

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SAME_COST = 1e-6  # costs this near to each other are one cost
FEW_SHEETS = 48  # that are searched first, out of many
SHEETS_FOR_EFFORT = 500  # how many more are worth a model, for each unit of effort


@dataclass(slots=True)
class _Learnt:
    """What has been learnt of one sheet: fills that were achieved, picks that failed, counts that are settled."""

    filled: list[int | None]
    achieved: list[Counts] = field(default_factory=list)
    forbidden: list[Counts] = field(default_factory=list)
    least: Counts | None = None


class Chooser:
    """Chooses sheets and counts, and learns from what the fills of its picks achieve.

    `areas`: of each panel, mm², as it takes up room (never more than it truly takes). `demand`: copies wanted of each.
    """

    def __init__(self, areas: Sequence[float], demand: Sequence[int], offers: Sequence[Offer], *, seed: int = 0) -> None:
        if any(len(offer.most) != len(areas) for offer in offers) or len(areas) != len(demand):
            raise ValueError("each offer, the areas and the demand must speak of the same panels")
        self.areas = np.array(areas, float)
        self.demand = np.array(demand, np.int64)
        self.offers = tuple(offers)
        self.seed = seed
        self._learnt = [_Learnt([None] * len(areas)) for _ in offers]
        self._plies = np.array([offer.plies for offer in offers], np.int64)
        self._cost = np.array([offer.cost for offer in offers], float)

    def achieve(self, sheet: int, counts: Counts) -> None:
        """A fill of the sheet has laid these counts. Where one panel lies alone, that is what it is expected to hold."""
        learnt = self._learnt[sheet]
        if counts not in learnt.achieved:
            learnt.achieved.append(counts)
        if sum(1 for n in counts if n) == 1:
            p = next(p for p, n in enumerate(counts) if n)
            learnt.filled[p] = max(learnt.filled[p] or 0, counts[p])

    def expect_none(self, sheet: int, panel: int) -> None:
        """A fill of the sheet with the panel alone has laid nothing."""
        if self._learnt[sheet].filled[panel] is None:
            self._learnt[sheet].filled[panel] = 0

    def forbid(self, sheet: int, counts: Counts) -> None:
        """A fill of these counts has failed: no pick with as many or more of each shall come again. Never part of a proof."""
        if not any(counts):
            raise ValueError("a sheet that holds nothing is forbidden by its `most`, not by a failed fill")
        learnt = self._learnt[sheet]
        if not any(all(a <= b for a, b in zip(old, counts, strict=True)) for old in learnt.forbidden):
            learnt.forbidden.append(counts)

    def fix(self, sheet: int, counts: Counts) -> None:
        """At least these counts lie on the sheet in every choice (placements that a person has fixed)."""
        self._learnt[sheet].least = counts

    def choose(
        self, effort: float = 1.0, *, boldness: float = 1.0, hint: Choice | None = None, below: float | None = None
    ) -> Choice | None:
        """The best choice found within `effort` (CP-SAT's deterministic seconds; each of its two solves may take as much).

        `boldness` 1 trusts the limits of the offers; 0 asks of a sheet no more than fills have achieved where they were
        tried: with f_p laid alone, Σ n_p / f_p ≤ 1 (or what was achieved mixed); between them f_p moves towards `most`.
        `hint`: a choice to start from. `below`: only choices of less cost are wanted, as many copies as `hint` makes;
        None is returned if there is none or none was found.
        """
        room = Room(self, boldness, self._learnt)
        if below is not None and hint is not None:
            return room.cheapest(hint.placed, effort, hint, below)
        fullest = room.fullest(effort, hint)
        if fullest is None:
            return None
        cheapest = room.cheapest(fullest.placed, effort, fullest, None) or fullest
        return Choice(cheapest.picks, cheapest.copies, cheapest.cost, cheapest.settled and fullest.settled)

    def prove(self, effort: float = 1.0, *, copies: int | None = None) -> Limits:
        """The most copies that any lay makes, and the least cost of making `copies` of them (the most unless given).

        Rests on the offers and on what is fixed alone; a proof if they are.
        """
        most = self.most_copies(effort)
        wanted = most if copies is None else min(copies, most)
        return Limits(most, wanted, self._unlearnt().least_cost(wanted, effort))

    def most_copies(self, effort: float = 1.0) -> int:
        """The first half of `prove`, which is quick where the demand can be met."""
        return self._unlearnt().most_copies(effort)

    def _unlearnt(self) -> Room:
        """The model of the offers and of what is fixed, without what fills have shown."""
        return Room(self, 1.0, [_Learnt([None] * len(self.areas), least=learnt.least) for learnt in self._learnt])


class Room:
    """The model of one moment: limits with what has been learnt, as arrays over sheets × panels."""

    def __init__(self, chooser: Chooser, boldness: float, learnt: Sequence[_Learnt]) -> None:
        self.chooser, self.learnt = chooser, learnt
        self.demand, self.plies, self.cost = chooser.demand, chooser._plies, chooser._cost
        self.sheets, self.panels = len(chooser.offers), len(chooser.areas)
        most = np.array([offer.most for offer in chooser.offers], np.int64).reshape(self.sheets, self.panels)
        self.area = np.array([offer.area for offer in chooser.offers], float)
        self.least = np.array([one.least or (0,) * self.panels for one in learnt], np.int64).reshape(most.shape)
        self.cuts = [list(offer.cuts) for offer in chooser.offers]
        by_area = np.floor(self.area[:, None] * (1 + HAIR) / np.maximum(chooser.areas, 1e-12) + HAIR)
        self.most: Ints = np.minimum(most, np.minimum(by_area, 2**40).astype(np.int64))
        for s, cuts in enumerate(self.cuts):
            for cut in cuts:
                for p, weight in enumerate(cut.weights):
                    if weight > 0:
                        self.most[s, p] = min(self.most[s, p], max(0, math.floor(cut.limit * (1 + HAIR) / weight + HAIR)))
        for s, one in enumerate(learnt):
            self._temper(s, one, boldness)
        self.most = np.minimum(self.most, self.demand[None, :] // self.plies[:, None])
        self.most = np.maximum(self.most, self.least)
        self.area = np.minimum(self.area, self.most @ chooser.areas)
        self.forced: NDArray[np.bool_] = np.array(self.least.any(axis=1), bool)
        self.plain = np.array([not cuts and not one.forbidden for cuts, one in zip(self.cuts, learnt, strict=True)], bool)

    def _temper(self, s: int, one: _Learnt, boldness: float) -> None:
        """Limits of one sheet brought down to what fills have shown, as far as boldness does not lift them again."""
        for counts in one.forbidden:
            if sum(1 for n in counts if n) == 1:
                p = next(p for p, n in enumerate(counts) if n)
                self.most[s, p] = min(self.most[s, p], counts[p] - 1)
        if boldness >= 1 or all(f is None for f in one.filled):
            return
        most = self.most[s].tolist()
        likely = [m if f is None else min(m, f + boldness * (m - f)) for m, f in zip(most, one.filled, strict=True)]
        reach = [max([math.floor(f + HAIR), *(done[p] for done in one.achieved)]) for p, f in enumerate(likely)]
        self.most[s] = np.minimum(self.most[s], reach)
        if self.panels > 1:
            weights = tuple(1.0 / f if f >= 1 else 0.0 for f in likely)
            full = max([1.0, *(sum(w * n for w, n in zip(weights, done, strict=True)) for done in one.achieved)])
            self.cuts[s] = [*self.cuts[s], LinearCut(weights, full)]

    # --- the two aims -------------------------------------------------------------------------------------------------

    def fullest(self, effort: float, hint: Choice | None) -> Choice | None:
        """Most copies, whatever they cost: a plain sweep if that meets the demand, else CP-SAT."""
        swept = self._sweep()
        if swept is not None and swept.placed == int(self.demand.sum()):
            return replace(swept, settled=True)
        model = Model(self, range(self.sheets))
        best = max((c for c in (swept, hint) if c is not None), key=lambda c: c.placed, default=None)
        return model.solve(effort, maximise_copies=True, hint=best)[0] or best

    def most_copies(self, effort: float) -> int:
        swept = self._sweep()
        total = int(self.demand.sum())
        if swept is not None and swept.placed == total:
            return total
        bound = Model(self, range(self.sheets)).solve(effort, maximise_copies=True, hint=swept)[1]
        return total if math.isinf(bound) else min(total, math.floor(bound + HAIR))

    def cheapest(self, copies: int, effort: float, hint: Choice | None, below: float | None) -> Choice | None:
        """Least cost for at least so many copies; `settled` if no choice is cheaper. None: none cheaper than `below` found."""
        known, settled, _ = self._search(copies, effort, hint, below)
        if known is None or (below is not None and known.cost >= below):
            return None
        return replace(known, settled=settled)

    def least_cost(self, copies: int, effort: float) -> float:
        """Proved least cost of so many copies; infinite if they cannot be had."""
        return self._search(copies, effort, None, None)[2]

    def _search(
        self, copies: int, effort: float, hint: Choice | None, below: float | None
    ) -> tuple[Choice | None, bool, float]:
        """Cheapest found, whether none is cheaper, and a lower bound on the cost of all choices.

        First among the few sheets that the prices speak best of; a choice found there shows which of the others are still in
        question, and they are searched with the effort that is left.
        """
        swept = self._sweep(copies)
        known = min((c for c in (swept, hint) if c is not None and c.placed >= copies), key=lambda c: c.cost, default=None)
        limit = min(math.inf if known is None else known.cost, math.inf if below is None else below)
        kept, floor = self._in_question(copies, limit)
        if len(kept) > FEW_SHEETS:
            found, _ = Model(self, kept[:FEW_SHEETS]).solve(effort / 2, copies=copies, hint=known, below=below)
            if found is not None and found.cost < limit:
                known, limit = found, found.cost
            kept, floor = self._in_question(copies, limit)
        bound = floor
        if floor < limit * (1 - SAME_COST):
            looked_at = kept[: FEW_SHEETS + int(effort * SHEETS_FOR_EFFORT)]
            found, least = Model(self, looked_at).solve(effort / 2, copies=copies, hint=known, below=below)
            if found is not None and found.cost < limit:
                known, limit = found, found.cost
            if looked_at == kept:
                bound = max(floor, min(least, limit))  # what was left out is in no choice cheaper than the limit
        return known, known is not None and bound >= known.cost * (1 - SAME_COST), bound

    def _sweep(self, copies: int | None = None) -> Choice | None:
        """Fill sheet by sheet, the cheapest for what it takes first, each with what is hardest to place; then drop the dearest
        sheets that are not needed. None if it falls short of `copies` or of what is fixed."""
        left = self.demand.copy()
        counts = self.least.copy()
        left -= (self.plies[:, None] * counts).sum(axis=0)
        if (left < 0).any():
            return None
        areas = self.chooser.areas
        worth = (self.most * areas).sum(axis=1)
        order = np.lexsort((np.arange(self.sheets), self.cost / np.maximum(np.minimum(worth, self.area) * self.plies, 1e-12)))
        for s in [*np.flatnonzero(self.forced).tolist(), *(s for s in order.tolist() if not self.forced[s])]:
            if not left.any():
                break
            for p in np.argsort(-areas, kind="stable").tolist():
                free = self.area[s] - float(areas @ counts[s])
                n = min(left[p] // self.plies[s], self.most[s, p] - counts[s, p], int(max(0.0, free) // areas[p]))
                while n > 0 and not self._allows(s, counts[s], p, n):
                    n -= 1
                counts[s, p] += n
                left[p] -= n * int(self.plies[s])
        wanted = int(self.demand.sum()) - int(left.sum()) if copies is None else copies
        spare = int(self.demand.sum()) - int(left.sum()) - wanted
        if spare < 0:
            return None
        for s in np.argsort(-self.cost, kind="stable").tolist():
            made = int(counts[s].sum()) * int(self.plies[s])
            if made and not self.forced[s] and made <= spare:
                spare -= made
                counts[s] = 0
        return self.choice(counts, settled=False)

    def _allows(self, s: int, counts: Ints, panel: int, more: int) -> bool:
        tried = counts.copy()
        tried[panel] += more
        return all(float(np.dot(cut.weights, tried)) <= cut.limit for cut in self.cuts[s]) and not any(
            (tried >= np.array(no)).all() for no in self.learnt[s].forbidden
        )

    def choice(self, counts: Ints, *, settled: bool) -> Choice:
        touched = np.flatnonzero(counts.any(axis=1))
        picks = tuple((int(s), tuple(int(n) for n in counts[s])) for s in touched)
        copies = tuple(int(n) for n in (self.plies[:, None] * counts).sum(axis=0))
        return Choice(picks, copies, float(sum(self.chooser.offers[s].cost for s in touched)), settled)

    # --- which sheets are in question ---------------------------------------------------------------------------------

    def _in_question(self, copies: int, most_cost: float) -> tuple[list[int], float]:
        """Sheets that a choice of `copies` copies as cheap as `most_cost` may touch, the likeliest first, and a lower bound on
        what any choice of them costs."""
        outdone = self._outdone()
        useful = self.forced | (self.most.any(axis=1) & ~outdone)
        prices, per_copy = self._prices(copies, np.flatnonzero(useful))
        gain = self.plies * self._best_value(prices + per_copy)
        reduced = np.where(self.forced, self.cost - gain, np.minimum(0.0, self.cost - gain))
        # priced demand: all copies at per_copy, and of each panel what cannot be short: copies − (total − demand_p)
        floor = float(prices @ self._must(copies) + per_copy * copies + reduced[useful].sum())
        floor -= HAIR * (abs(floor) + float(np.abs(reduced[useful]).sum()) + float(self.cost[useful].max(initial=0.0)))
        dear = self.cost - gain > 0
        too_dear = dear & (floor + np.maximum(0.0, self.cost - gain) > most_cost * (1 + HAIR)) & ~self.forced
        kept = np.flatnonzero(useful & ~too_dear)
        return kept[np.argsort(self.cost[kept] - gain[kept], kind="stable")].tolist(), max(0.0, floor)

    def _must(self, copies: int) -> Ints:
        """Copies of each panel that a choice of so many copies in all must have."""
        spare = int(self.demand.sum()) - copies
        return np.maximum(0, self.demand - spare)

    def _outdone(self) -> NDArray[np.bool_]:
        """Sheets that may be left out by exchange.

        Sheet a outdoes b if it costs no more, has as many plies, and holds whatever b holds (ties by order). A choice touches
        at most N sheets, N being the placements wanted. If b, outdone by N others, is touched, one of these is not, and
        takes over b's placements at no greater cost; each exchange moves down the order, so they end.
        """
        most_touched = int(np.ceil(self.demand / max(1, int(self.plies.min(initial=1)))).sum()) + int(self.forced.sum())
        outdone = np.zeros(self.sheets, bool)
        if self.sheets <= most_touched:
            return outdone
        order = np.lexsort((np.arange(self.sheets), -self.area, -self.most.sum(axis=1), self.cost))
        free = order[self.plain[order] & ~self.forced[order]]
        for k, b in enumerate(order):
            if self.forced[b]:
                continue
            rivals = free[: np.searchsorted(self.cost[free], self.cost[b], side="right")]
            earlier = rivals[(self.cost[rivals] < self.cost[b]) | np.isin(rivals, order[:k])] if len(rivals) else rivals
            if len(earlier) < most_touched:
                continue
            holds = (self.plies[earlier] == self.plies[b]) & (self.area[earlier] >= self.area[b])
            holds &= (self.most[earlier] >= self.most[b]).all(axis=1)
            outdone[b] = int(holds.sum()) >= most_touched
        return outdone

    def _best_value(self, prices: Floats) -> Floats:
        """For each sheet, an upper bound on prices·n within its limits: a knapsack filled in parts, dearest first."""
        areas = self.chooser.areas
        left = self.area * (1 + HAIR)
        value = np.zeros(self.sheets)
        for p in sorted(range(self.panels), key=lambda p: -prices[p] / areas[p]):
            if prices[p] <= 0:
                break
            n = np.minimum(self.most[:, p], left / areas[p])
            value += prices[p] * n
            left = np.maximum(0.0, left - n * areas[p])
        return value

    def _prices(self, copies: int, useful: Ints) -> tuple[Floats, float]:
        """Prices (for each panel's must, and for any copy) from the dual of the linear relaxation; zeros if it has none."""
        from ortools.linear_solver import pywraplp

        solver = pywraplp.Solver.CreateSolver("GLOP")
        if solver is None or not len(useful):
            return np.zeros(self.panels), 0.0
        solver.SetSolverSpecificParametersAsString("max_time_in_seconds: 1e9 max_deterministic_time: 1.0")
        areas, must = self.chooser.areas, self._must(copies)
        infinity = solver.infinity()
        rows = [solver.Constraint(float(m), infinity) for m in must]
        every = solver.Constraint(float(copies), infinity)
        objective = solver.Objective()
        for s in useful.tolist():
            touched = solver.NumVar(1.0 if self.forced[s] else 0.0, 1.0, "")
            objective.SetCoefficient(touched, float(self.cost[s]))
            shared = solver.Constraint(-infinity, 0.0)
            shared.SetCoefficient(touched, -1.0)
            for p in np.flatnonzero(self.most[s]).tolist():
                n = solver.NumVar(0.0, infinity, "")
                single = solver.Constraint(-infinity, 0.0)
                single.SetCoefficient(n, 1.0)
                single.SetCoefficient(touched, -float(self.most[s, p]))
                shared.SetCoefficient(n, float(areas[p] / self.area[s]))
                rows[p].SetCoefficient(n, float(self.plies[s]))
                every.SetCoefficient(n, float(self.plies[s]))
        objective.SetMinimization()
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            return np.zeros(self.panels), 0.0
        return np.array([max(0.0, row.dual_value()) for row in rows]), max(0.0, every.dual_value())
