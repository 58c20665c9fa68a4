"""Plain references for the tests: every choice of a small bin, and every lay of a small grid, looked at one by one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from nesting.offers import Counts, Offer


def fillings(
    areas: Sequence[float], demand: Sequence[int], offer: Offer, forbidden: Sequence[Counts] = ()
) -> Iterator[Counts]:
    """Every way to lay panels on one sheet that its limits allow."""
    for counts in itertools.product(*(range(min(m, d // offer.plies) + 1) for m, d in zip(offer.most, demand, strict=True))):
        if sum(a * n for a, n in zip(areas, counts, strict=True)) > offer.area * (1 + 1e-9):
            continue
        if any(sum(w * n for w, n in zip(cut.weights, counts, strict=True)) > cut.limit + 1e-9 for cut in offer.cuts):
            continue
        if any(all(n >= no for n, no in zip(counts, refused, strict=True)) for refused in forbidden):
            continue
        yield counts


def best_choice(
    areas: Sequence[float], demand: Sequence[int], offers: Sequence[Offer], forbidden: dict[int, list[Counts]] | None = None
) -> tuple[int, float]:
    """Most copies of a bin, and the least cost of so many."""
    costs = least_costs(areas, demand, offers, forbidden)
    most = max(costs)
    return most, costs[most]


def least_costs(
    areas: Sequence[float], demand: Sequence[int], offers: Sequence[Offer], forbidden: dict[int, list[Counts]] | None = None
) -> dict[int, float]:
    """For each number of copies that can be made, the least cost of at least so many."""
    reached: dict[Counts, float] = {tuple(0 for _ in areas): 0.0}
    for s, offer in enumerate(offers):
        further = dict(reached)
        for counts in fillings(areas, demand, offer, (forbidden or {}).get(s, ())):
            if not any(counts):
                continue
            for made, cost in reached.items():
                now = tuple(m + offer.plies * n for m, n in zip(made, counts, strict=True))
                if all(n <= d for n, d in zip(now, demand, strict=True)):
                    further[now] = min(further.get(now, float("inf")), cost + offer.cost)
        reached = further
    return {k: min(cost for made, cost in reached.items() if sum(made) >= k) for k in {sum(made) for made in reached}}
