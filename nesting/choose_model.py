"""The CP-SAT model of a choice: how many placements of each panel on each of some sheets.

Areas and costs become whole numbers: needs are rounded down and room up, costs down, so that the model's bounds stay bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from .offers import Choice

if TYPE_CHECKING:
    from .choose import Room

AREA_GRAIN = 1e7  # whole units that the largest room is measured in: a loss of 1e-7 of it in each count
COST_GRAIN = 1e7  # likewise for the dearest sheet
HAIR = 1e-9  # allowance, of the numbers compared, for the rounding of sums in double precision


class Model:
    """The CP-SAT model over some of the sheets."""

    def __init__(self, room: Room, kept: Iterable[int]) -> None:
        from ortools.sat.python import cp_model

        self.room, self.kept = room, list(kept)
        self.model = cp_model.CpModel()
        self.counts: dict[tuple[int, int], Any] = {}
        self.touched: dict[int, Any] = {}
        largest = float(room.area[self.kept].max(initial=0.0)) or 1.0
        self._need = np.floor(room.chooser.areas / largest * AREA_GRAIN).astype(np.int64)
        self._area = np.ceil(room.area / largest * (1 + HAIR) * AREA_GRAIN).astype(np.int64)
        for s in self.kept:
            self._add_sheet(s)
        self.per_panel = [
            sum(int(room.plies[s]) * n for (s, q), n in self.counts.items() if q == p) for p in range(room.panels)
        ]
        for p, made in enumerate(self.per_panel):
            if not isinstance(made, int):
                self.model.add(made <= int(room.demand[p]))  # never more than wanted
        self._order_twins()

    def _add_sheet(self, s: int) -> None:
        room, model = self.room, self.model
        touched = self.touched[s] = model.new_bool_var(f"touched_{s}")
        mine: dict[int, Any] = {}
        for p in np.flatnonzero(room.most[s]).tolist():
            mine[p] = self.counts[s, p] = model.new_int_var(int(room.least[s, p]), int(room.most[s, p]), f"count_{s}_{p}")
            model.add(mine[p] <= int(room.most[s, p]) * touched)
        if room.forced[s]:
            model.add(touched == 1)
        if len(mine) > 1 and sum(int(self._need[p] * room.most[s, p]) for p in mine) > int(self._area[s]):
            model.add(sum(int(self._need[p]) * n for p, n in mine.items()) <= int(self._area[s]) * touched)  # shared room
        for cut in room.cuts[s]:
            size = max([abs(w) for w in cut.weights] + [abs(cut.limit), 1e-12])
            weights = {p: math.floor(cut.weights[p] / size * AREA_GRAIN) for p in mine}
            if any(weights.values()):
                limit = math.ceil(cut.limit / size * (1 + HAIR) * AREA_GRAIN)
                model.add(sum(w * mine[p] for p, w in weights.items()) <= limit)
        for forbidden in room.learnt[s].forbidden:
            fewer = []
            for p, n in enumerate(forbidden):
                if n and (p not in mine or n > int(room.most[s, p])):
                    break  # the limits rule it out already
                if n:
                    short = model.new_bool_var("")
                    model.add(mine[p] <= n - 1).only_enforce_if(short)
                    fewer.append(short)
            else:
                model.add_bool_or(fewer)  # fewer of at least one panel than in the pick that failed

    def _order_twins(self) -> None:
        """Sheets of which all is alike are touched in order."""
        room = self.room
        last: dict[tuple[Any, ...], int] = {}
        for s in self.kept:
            if room.plain[s] and not room.forced[s]:
                key = (int(room.plies[s]), float(room.cost[s]), float(room.area[s]), *room.most[s].tolist())
                if key in last:
                    self.model.add_implication(self.touched[s], self.touched[last[key]])
                last[key] = s

    def solve(
        self,
        effort: float,
        *,
        maximise_copies: bool = False,
        copies: int = 0,
        hint: Choice | None = None,
        below: float | None = None,
    ) -> tuple[Choice | None, float]:
        """The best found, and a bound: on the copies if they are maximised, else on the cost of `copies` copies."""
        from ortools.sat.python import cp_model

        room, model = self.room, self.model
        made = sum(self.per_panel)
        dearest = float(room.cost[self.kept].max(initial=0.0)) or 1.0
        whole = {s: math.floor(room.cost[s] / dearest * COST_GRAIN) for s in self.kept}
        cost = sum(whole[s] * self.touched[s] for s in self.kept)
        if isinstance(made, int):  # no sheet holds anything
            nothing = room.choice(np.zeros_like(room.least), settled=True)
            return (nothing, 0.0) if maximise_copies or copies <= 0 else (None, math.inf)
        if maximise_copies:
            model.maximize(made)
        else:
            model.add(made >= copies)
            if below is not None:
                model.add(cost <= math.floor(below / dearest * COST_GRAIN) - 1)
            model.minimize(cost)
        picks = dict(hint.picks) if hint else {}
        for (s, p), n in self.counts.items():
            model.add_hint(n, picks[s][p] if s in picks else 0)
        for s, touched in self.touched.items():
            model.add_hint(touched, int(s in picks))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = room.chooser.seed
        solver.parameters.max_deterministic_time = effort
        solver.parameters.max_time_in_seconds = 1e9
        status = solver.solve(model)
        if status == cp_model.MODEL_INVALID:
            raise RuntimeError(f"the choosing model is invalid: {model.validate()}")
        if status == cp_model.INFEASIBLE:
            return None, (0.0 if maximise_copies else math.inf)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):  # out of effort; the solver's bound says nothing then
            return None, (math.inf if maximise_copies else 0.0)
        bound = solver.best_objective_bound
        if not maximise_copies:
            bound = max(0.0, math.ceil(bound - 1e-6)) / COST_GRAIN * dearest * (1 - HAIR)
        counts = np.zeros_like(room.least)
        for (s, p), n in self.counts.items():
            counts[s, p] = solver.value(n)
        return room.choice(counts, settled=status == cp_model.OPTIMAL), bound
