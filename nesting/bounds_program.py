"""The linear program that finds good weights for a proof by weights (`bounds_weights`, where the argument is told).

Least Σ cost·ω + Σ demand·z such that f(p) + z_panel ≥ 1 at the positions looked at so far; z lets a panel weigh less if its
demand is met anyway. Weights are sums of tents of several widths, each twice as wide as the next: wide ones first, narrower
ones where they gain most (where, in the packing by shares that is the program's dual, cloth would be laid more than once).
Nothing here need be trusted: any weights that are not negative give a bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .bounds_hats import Floats, Ints, Lattice, Stand

GLOP = "use_dual_simplex: true perturb_costs_in_dual_simplex: true max_deterministic_time: 2.0"
"""Without perturbation the program, which is very degenerate, now and then ends abnormally or runs on for ever."""
GLOP_AGAIN = "use_dual_simplex: false max_deterministic_time: 2.0"
SLACK = 1e-3  # positions that weigh no less than 1 − SLACK are not worth another row
MOST_ROWS = 120  # added at a time for one way to lie
MOST_TENTS = 150  # added at a time


class Extension:
    """How nodes that no copy reaches follow from those that one does: each the mean of its neighbours, two layers out.

    Such nodes cost nothing and are felt by no position, only by the lattice points just outside; so f bends little at the rim.
    """

    def __init__(self, dear: NDArray[np.bool_]) -> None:
        self.dear = dear
        shares: dict[tuple[int, int], dict[tuple[int, int], float]] = {}
        known = dear
        for _ in range(2):
            layer = {}
            for i, j in np.argwhere(~known & (_round(known) > 0)).tolist():
                near = [(a, b) for a in (i - 1, i, i + 1) for b in (j - 1, j, j + 1)]
                near = [(a, b) for a, b in near if 0 <= a < dear.shape[0] and 0 <= b < dear.shape[1] and known[a, b]]
                layer[i, j] = sources = dict[tuple[int, int], float]()
                for node in near:
                    for source, share in shares.get(node, {node: 1.0}).items():
                        sources[source] = sources.get(source, 0.0) + share / len(near)
            shares.update(layer)
            known = known | (_round(known) > 0)
        width = dear.shape[1]
        links = [(a * width + b, c * width + d, share) for (a, b), found in shares.items() for (c, d), share in found.items()]
        self.target = np.array([link[0] for link in links], dtype=np.int64)
        self.source = np.array([link[1] for link in links], dtype=np.int64)
        self.share = np.array([link[2] for link in links], dtype=np.float64)

    def fill(self, nodes: Floats) -> Floats:
        """Nodes with the others following from the dear ones."""
        filled = np.where(self.dear, nodes, 0.0)
        np.add.at(filled.reshape(-1), self.target, self.share * filled.reshape(-1)[self.source])
        return filled

    def draw(self, row: Floats) -> Floats:
        """Coefficients of all nodes, as coefficients of the dear ones."""
        drawn = np.where(self.dear, row, 0.0)
        np.add.at(drawn.reshape(-1), self.source, self.share * row.reshape(-1)[self.target])
        return drawn


def _round(known: NDArray[np.bool_]) -> Ints:
    """How many of the nine nodes round each are known."""
    wide = np.pad(known.astype(np.int64), 1)
    n, m = known.shape
    return np.asarray(sum(wide[a : a + n, b : b + m] for a in (0, 1, 2) for b in (0, 1, 2)))


@dataclass(frozen=True)
class Level:
    """Tents `width` nodes wide each way, on every `width`th node: value at nodes = along.T @ weights @ across."""

    width: int
    along: Floats
    across: Floats

    @staticmethod
    def of(width: int, nx: int, ny: int) -> Level:
        def tents(n: int) -> Floats:
            tops = np.arange(0, n + width - 1, width)
            return np.asarray(np.maximum(0.0, 1 - np.abs(np.arange(n)[None, :] - tops[:, None]) / width), dtype=np.float64)

        return Level(width, tents(nx), tents(ny))

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.along), len(self.across)

    def gather(self, block: Floats, at: tuple[int, int] = (0, 0)) -> tuple[Floats, tuple[int, int]]:
        """(coefficients of the tents over a block of nodes, number of the first tent), from those of the block's nodes.

        at: the block's first node.
        """
        sides, first = [], []
        for tents, low, n in zip((self.along, self.across), at, block.shape, strict=True):
            width = self.width
            start, stop = max(0, (low - width + 1) // width), min(len(tents), (low + n - 2) // width + 2)
            sides.append(tents[start:stop, low : low + n])
            first.append(start)
        return np.asarray(sides[0] @ block @ sides[1].T), (first[0], first[1])


@dataclass(frozen=True)
class Row:
    """One position: coefficients of the nodes in a block from node `at`, and the panel."""

    block: Floats
    at: tuple[int, int]
    panel: int


class Watch:
    """What a proof looks at at every step; `solver` is the one at work, which another thread may interrupt."""

    solver: Any = None

    def __call__(self) -> None:
        """Raise to end the proof. Here no one waits for it."""

    def interrupt(self) -> None:
        """Let the solver at work end as soon as it can."""
        solver = self.solver
        if solver is not None:
            solver.InterruptSolve()


class Program:
    """Rows are positions, columns tents."""

    def __init__(
        self, lattice: Lattice, cost: Floats, demand: Sequence[int], unit: float, dear: NDArray[np.bool_], levels: int
    ) -> None:
        self.unit, self.demand, self.lattice = unit, demand, lattice
        self.extension = Extension(dear)
        self.levels = [Level.of(2**n, lattice.nx, lattice.ny) for n in reversed(range(levels))]
        self.cost = self.extension.draw(cost)
        volume = lattice.h[0] * lattice.h[1] / unit
        self.heaviest = [1 / (level.width**2 * volume) for level in self.levels]  # no tent need weigh more than a copy
        self.costs = [level.gather(self.cost)[0] for level in self.levels]
        self.rows: list[Row] = []
        self.tents: list[tuple[int, int, int]] = []  # level, and which
        self.numbers = [np.full(level.shape, -1, dtype=np.int64) for level in self.levels]  # of the tents, -1: not there
        self.seen: set[tuple[int, float, float]] = set()
        self.least = 0.0
        self.shares: list[float] = []  # of a copy that the dual lays at each position
        self.work = 0.0
        self._new_solver(GLOP)
        for i, j in np.argwhere(self.costs[0] > 1e-12).tolist():
            self._add_tent(0, i, j)

    # --- what it is made of ----------------------------------------------------------------------------------------------

    def _new_solver(self, parameters: str) -> None:
        from ortools.linear_solver import pywraplp

        self.optimal = pywraplp.Solver.OPTIMAL
        self.solver: Any = pywraplp.Solver.CreateSolver("GLOP")
        self.solver.SuppressOutput()
        self.solver.SetSolverSpecificParametersAsString(parameters)
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.waived = [self.solver.NumVar(0.0, 1.0, "") for _ in self.demand]
        for z, d in zip(self.waived, self.demand, strict=True):
            self.objective.SetCoefficient(z, float(d))
        self.variables: list[Any] = []
        self.constraints: list[Any] = []

    def _add_tent(self, level: int, i: int, j: int) -> None:
        self.numbers[level][i, j] = len(self.tents)
        self.tents.append((level, i, j))
        self._put_tent(level, i, j)

    def _put_tent(self, level: int, i: int, j: int) -> None:
        variable = self.solver.NumVar(0.0, self.heaviest[level], "")
        self.objective.SetCoefficient(variable, float(self.costs[level][i, j]))
        self.variables.append(variable)

    def add(self, stand: Stand, point: Floats) -> bool:
        """A row for the position at this point of the stand, unless it is there."""
        key = (id(stand), round(float(point[0]), 3), round(float(point[1]), 3))
        if key in self.seen:
            return False
        self.seen.add(key)
        whole = self.extension.draw(stand.row(point)) / self.unit
        i, j = np.flatnonzero(whole.any(axis=1)), np.flatnonzero(whole.any(axis=0))
        if not len(i):
            return False
        row = Row(whole[i[0] : i[-1] + 1, j[0] : j[-1] + 1].copy(), (int(i[0]), int(j[0])), stand.way.panel)
        self.rows.append(row)
        self._put_row(row)
        return True

    def _put_row(self, row: Row) -> None:
        constraint = self.solver.Constraint(1.0, self.solver.infinity())
        constraint.SetCoefficient(self.waived[row.panel], 1.0)
        self.constraints.append(constraint)
        self._set_coefficients(constraint, row, 0)

    def _set_coefficients(self, constraint: Any, row: Row, first: int) -> None:
        """Of the tents from number `first` on."""
        for level, numbers in zip(self.levels, self.numbers, strict=True):
            c, (i, j) = level.gather(row.block, row.at)
            there = numbers[i : i + c.shape[0], j : j + c.shape[1]]
            wanted = (there >= first) & (c > 1e-9)
            for number, coefficient in zip(there[wanted].tolist(), c[wanted].tolist(), strict=True):
                constraint.SetCoefficient(self.variables[number], coefficient)

    # --- rows and tents that are wanted -------------------------------------------------------------------------------------

    def start(self, stand: Stand) -> None:
        """Positions to begin with: about two to the body each way, or a few of what there are."""
        every = max(1, round(self.lattice.fine * self.lattice.per_panel / 3))
        on = (stand.points[: stand.inner] % every == 0).all(axis=1)
        points = stand.points[: stand.inner][on] if on.any() else stand.points[:: max(1, len(stand.points) // 10)]
        for point in points:
            self.add(stand, point)

    def cut(self, stand: Stand, value: Floats) -> int:
        """Add the positions that weigh least in their neighbourhood."""
        near = max(1.0, self.lattice.fine * self.lattice.per_panel / 16)
        candidates = np.flatnonzero(value < 1 - SLACK)
        candidates = candidates[np.argsort(value[candidates], kind="stable")]
        taken: set[tuple[int, int]] = set()
        added = 0
        for c in candidates.tolist():
            point = stand.points[c]
            at = int(point[0] / near), int(point[1] / near)
            if at in taken:
                continue
            taken.update((at[0] + a, at[1] + b) for a in (-1, 0, 1) for b in (-1, 0, 1))
            added += self.add(stand, point)
            if added >= MOST_ROWS:
                break
        return added

    def refine(self) -> int:
        """Add the tents that gain most by what was solved last."""
        excess = -self.cost
        for row, share in zip(self.rows, self.shares, strict=False):
            if share > 0:
                i, j = row.at
                excess[i : i + row.block.shape[0], j : j + row.block.shape[1]] += share * row.block
        excess = np.where(self.extension.dear, excess, 0.0)
        gains = []
        for n, level in enumerate(self.levels):
            gain, cost = level.gather(excess)[0], self.costs[n]
            new = (gain > 1e-3 * cost + 1e-9) & (self.numbers[n] < 0)
            gains += [(-float(gain[i, j]), n, i, j) for i, j in np.argwhere(new).tolist()]
        chosen = sorted(gains)[:MOST_TENTS]
        first = len(self.tents)
        for _, *tent in chosen:
            self._add_tent(*tent)
        if chosen:
            for constraint, row in zip(self.constraints, self.rows, strict=True):
                self._set_coefficients(constraint, row, first)
        return len(chosen)

    # --- solving ----------------------------------------------------------------------------------------------------

    def solve(self, watch: Watch) -> tuple[Floats | None, list[float]]:
        """(weights of all nodes, what each panel is waived), or None if the solver fails twice."""
        watch.solver = self.solver
        if self._status() != self.optimal:
            watch()
            self._new_solver(GLOP_AGAIN)
            watch.solver = self.solver
            for tent in self.tents:
                self._put_tent(*tent)
            for row in self.rows:
                self._put_row(row)
            if self._status() != self.optimal:
                return None, []
        self.least = float(self.objective.Value())
        self.shares = [constraint.dual_value() for constraint in self.constraints]
        weights = [np.zeros_like(cost) for cost in self.costs]
        for variable, (level, i, j) in zip(self.variables, self.tents, strict=True):
            weights[level][i, j] = max(0.0, variable.solution_value())
        nodes = sum(level.along.T @ w @ level.across for level, w in zip(self.levels, weights, strict=True))
        return self.extension.fill(np.asarray(nodes)), [z.solution_value() for z in self.waived]

    def _status(self) -> int:
        status: int = self.solver.Solve()
        self.work += float(self.solver.iterations()) * len(self.rows)
        return status
