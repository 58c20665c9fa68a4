"""A proof by weights: if the cloth weighs T in all, and every copy wherever it may lie at least 1, there are at most T copies.

The weight of the cloth at a point is ω, a continuous function, not negative, bilinear between the nodes of a grid. Copies do
not overlap, so what they weigh together is at most T = ∫ω over the cloth that any copy reaches. What one copy weighs, laid at
p, is f(p) = ∫ω over its body at p. With the least of f over all positions, μ > 0, the copies are at most T / μ; with several
panels, Σ μ_k n_k ≤ T. The weights come from a linear program (least T with f ≥ 1 at positions that are added where f is
least): it need not be trusted, since any weights give a bound.

**The least over all positions**, not over samples. On a lattice k times as fine as the grid, f is computed exactly (integrals
of cubics along the edges of the body; then a convolution). Within a cell of the lattice f differs from the bilinear function
through the cell's corners by no more than E = s_x²/8 · sup f_xx + s_y²/8 · sup f_yy downwards, where only convexity counts.
f_xx is an integral of kinks: ω_xx is nought but on the grid's lines, where ω bends by D/h (D: second difference of the
nodes), so that f_xx ≤ 1/h · Σ over lines ∫ D⁺ along the chords of the body, and chords for any position in the cell lie in the
body swept by the cell, drawn on the lattice. A bilinear function has its least on a polygon at its boundary, and along a
segment it is at least the lesser end less |twist|/4. So it is enough to look at the lattice points among the positions, at
the corners of the positions' outline, and where the outline crosses the lattice's lines.

Nodes that no copy reaches cost nothing and weigh nothing for any position; they are given the weights of their neighbours, so
that f bends little near the rim.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from .bounds_hats import Floats, Lattice, Overlay, Stand, Transforms, Way, hat_integrals, lattice_for
from .bounds_program import Program, Watch

ROUNDING = 1e-8
"""Allowance, as a share of the weight of a copy, for sums in double precision and fast Fourier transforms (about 1e-12)."""
SETTLED = 1.02
"""Once the bound that is hoped for is this near to the program's own, narrower tents are worth while."""
LOOKING = 1.0
"""Work of looking at one point of the lattice for one way to lie, in simplex steps × rows: both take about as long."""
MEND = 2e-3
"""What a finer lattice is expected to leave of the dip between its points."""
MOST_POINTS = 6e6
"""Of the finest lattice: a few hundred megabytes with all its transforms."""
THIN = 0.05
"""Nodes whose tents stand on less cloth than this share follow their neighbours."""


@dataclass(frozen=True)
class Weighing:
    """Proved: Σ values[k] · (placements of panel k) ≤ total."""

    values: tuple[float, ...]
    total: float

    def most(self, demand: Sequence[int]) -> int:
        """Most placements in all, of each panel no more than `demand`."""
        left, count = self.total * (1 + ROUNDING), 0
        for value, wanted in sorted(zip(self.values, demand, strict=True)):
            n = wanted if value * wanted <= left else int(left / value)
            count, left = count + n, left - n * max(0.0, value)
        return count

    def ratio(self, demand: Sequence[int]) -> float:
        """The same before it is rounded down."""
        left, count = self.total, 0.0
        for value, wanted in sorted(zip(self.values, demand, strict=True)):
            n = float(wanted) if value * wanted <= left else left / value
            count, left = count + n, left - n * max(0.0, value)
        return count


@dataclass(frozen=True)
class Pains:
    """How hard to look: wide tents to the average body each way, levels of tents, how much finer the lattice is than the
    narrowest tents, rounds of the program, and work (see `LOOKING`)."""

    wide: float = 4.0
    levels: int = 3
    fine: int = 4
    rounds: int = 80
    work: float = 1e7


def weigh(
    ways: Sequence[Way],
    reached: BaseGeometry,
    demand: Sequence[int],
    pains: Pains,
    enough: int = 0,
    watch: Watch | None = None,
) -> Weighing:
    """The best proved weighing found. `enough`: stop when the bound is as low as this; `watch`: called at every step."""
    ways = [way for way in ways if not way.positions.is_empty]
    if not ways:
        return Weighing((1.0,) * len(demand), 0.0)
    search = _Search(ways, reached, demand, pains, watch or Watch())
    for _ in range(pains.rounds):
        if not search.step() or search.best.most(demand) <= enough or search.program.work > pains.work:
            break
    search.prove_finely()
    return search.best


class _Search:
    """Rounds of solving the program and looking where its weights fail."""

    def __init__(self, ways: Sequence[Way], reached: BaseGeometry, demand: Sequence[int], pains: Pains, watch: Watch) -> None:
        self.ways, self.demand, self.watch = ways, demand, watch
        self.lattice = lattice_for(ways, reached, pains.wide * 2 ** (pains.levels - 1), pains.fine)
        self.unit = min(way.body.area for way in ways)
        self.cost = _costs(self.lattice, reached) / self.unit
        dear = self.cost * self.unit > THIN * self.lattice.h[0] * self.lattice.h[1]
        self.stands = _stands(ways, self.lattice, watch)
        self.program = Program(self.lattice, self.cost, demand, self.unit, dear, pains.levels)
        for stand in self.stands:
            watch()
            self.program.start(stand)
        self.best = Weighing((0.0,) * len(demand), 0.0)
        self.centre: tuple[Floats, Floats] | None = None  # the best weights so far and what they waive, scaled to be enough
        self.promising: tuple[float, Floats] | None = None  # the weights that a finer lattice may prove more with

    def step(self) -> bool:
        """One round; False when there is nothing left to add.

        Looks at the program's weights, and half way from them to the best so far: a vertex of the program is too sharp to
        prove much itself, and cuts found half way cut deeper.
        """
        nodes, waived = self.program.solve(self.watch)
        if nodes is None:
            return False
        rows = self._try(nodes, np.array(waived))
        if self.centre is not None:
            rows += self._try((nodes + self.centre[0]) / 2, (np.array(waived) + self.centre[1]) / 2)
        self.watch()
        settled = self.promising is not None and self.promising[0] < self.program.least * SETTLED
        tents = self.program.refine() if rows == 0 or settled else 0
        return rows > 0 or tents > 0

    def _try(self, nodes: Floats, waived: Floats) -> int:
        """See what the weights prove; returns how many positions were added that weigh too little."""
        now, samples = self._look(self.stands, nodes)
        least, rows = np.inf, 0
        for stand, value in zip(self.stands, samples, strict=True):
            self.watch()
            meant = value + waived[stand.way.panel]
            rows += self.program.cut(stand, meant)
            least = min(least, float(meant.min()))
        if self.best.total == 0.0 or now.ratio(self.demand) < self.best.ratio(self.demand):
            self.best = now
        hoped = Weighing(self._least(samples), now.total).ratio(self.demand)
        if least > 0 and (self.promising is None or hoped < self.promising[0]):
            self.promising = hoped, nodes
            self.centre = nodes / least, waived / least
        return rows

    def prove_finely(self) -> None:
        """Look at the most promising weights again on finer lattices, while that may lower the bound."""
        fine = self.lattice.fine
        while self.promising is not None and int(self.promising[0] * (1 + MEND)) < self.best.most(self.demand):
            fine *= 2
            if self.lattice.nx * self.lattice.ny * fine**2 > MOST_POINTS:
                break
            finer = replace(self.lattice, fine=fine)
            now, _ = self._look(_stands(self.ways, finer, self.watch), self.promising[1])
            if now.ratio(self.demand) < self.best.ratio(self.demand):
                self.best = now

    def _look(self, stands: Sequence[Stand], nodes: Floats) -> tuple[Weighing, list[Floats]]:
        """What these weights prove, and f at the points of each stand."""
        overlay = Overlay(nodes / self.unit, stands[0].lattice, stands[0].transforms)
        self.program.work += LOOKING * len(stands) * math.prod(stands[0].transforms.size)
        found = []
        for stand in stands:
            self.watch()
            found.append(stand.lowest(overlay))
        values = self._least([low for _, low in found])
        return Weighing(values, float((nodes * self.cost).sum())), [value for value, _ in found]

    def _least(self, samples: Sequence[Floats]) -> tuple[float, ...]:
        """Of each panel, the least over its stands; 1 for a panel that has none, since it is never laid."""
        values = [np.inf] * len(self.demand)
        for stand, sample in zip(self.stands, samples, strict=True):
            values[stand.way.panel] = min(values[stand.way.panel], float(sample.min()) - ROUNDING)
        return tuple(v if np.isfinite(v) else 1.0 for v in values)


def _costs(lattice: Lattice, reached: BaseGeometry) -> Floats:
    """∫ of each node's tent over the cloth that is reached, rounded up."""
    xs = np.asarray(lattice.origin[0] + lattice.h[0] * np.arange(lattice.nx), dtype=np.float64)
    ys = np.asarray(lattice.origin[1] + lattice.h[1] * np.arange(lattice.ny), dtype=np.float64)
    return hat_integrals(reached, xs, ys, 1) * (1 + ROUNDING) + ROUNDING * lattice.h[0] * lattice.h[1]


def _stands(ways: Sequence[Way], lattice: Lattice, watch: Watch) -> list[Stand]:
    bounds = np.array([way.body.bounds for way in ways])
    across = np.ceil((bounds[:, 2:] - bounds[:, :2]) / lattice.step).max(axis=0).astype(int) + 2 * lattice.fine + 4
    transforms = Transforms((lattice.nx * lattice.fine + int(across[0]), lattice.ny * lattice.fine + int(across[1])))
    stands = []
    for way in ways:
        watch()
        stands.append(Stand(way, lattice, transforms))
    return stands
