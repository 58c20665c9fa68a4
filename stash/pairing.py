"""Left and right pairs, each from one remnant: places for them, before the rest is sought round them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from nesting import Case, Panel, Placement, Sheet

from .small_lays import added, at_once, on_only

PAIR_SHEETS = 60
"""The most remnants on which pairs are laid by trial."""
PAIR_ROUNDS = 3
"""Rounds of each trial."""


def in_pairs(pairs: Sequence[tuple[str, ...]], case: Case, seed: int) -> tuple[Placement, ...]:
    """Places for the left and right pairs, each pair on one remnant: to what is fixed there without its other hand that is
    laid first; how many more pairs each remnant holds is found by laying them, and the cheapest remnants with enough of them
    are taken, exactly (few pairs, few remnants: by counting up)."""
    found: list[Placement] = []
    for ids in pairs:
        panels = [panel for panel in case.panels if panel.id in ids]
        if len(panels) < len(ids):
            continue  # of one hand alone there are no pairs
        found += _other_hands(case, panels, found, seed)
        there = Counter(p.panel for p in (*case.fixed, *found))
        left = [panel.copies - there[panel.id] for panel in panels]
        wanted = left[0] // 2 if len(panels) == 1 else min(left)
        lays = {}
        for sheet in sorted(case.sheets, key=lambda sheet: sheet.cost or 0.0)[:PAIR_SHEETS]:
            if all(panel.on is None or sheet.id in panel.on for panel in panels):
                taken = tuple(p for p in (*case.fixed, *found) if p.sheet == sheet.id)
                lays[sheet.id] = _most_pairs(case, panels, sheet, wanted, taken, seed)
        cost = {sheet.id: sheet.cost or 0.0 for sheet in case.sheets}
        for tag, count in cheapest({tag: len(laid) for tag, laid in lays.items()}, cost, wanted).items():
            found += [placement for pair in lays[tag][:count] for placement in pair]
    return tuple(found)


def odd_ones(ids: Sequence[str], placements: Iterable[Placement]) -> dict[str, dict[str, int]]:
    """By remnant, of which panels of a piece so many lie there without their other hand.

    >>> odd_ones(["l", "r"], [Placement("N-01", "l", 0, 0), Placement("N-01", "l", 9, 0), Placement("N-01", "r", 0, 9)])
    {'N-01': {'l': 1}}
    """
    by_sheet: dict[str, Counter[str]] = {}
    for placement in placements:
        if placement.panel in ids:
            by_sheet.setdefault(placement.sheet, Counter())[placement.panel] += 1
    found = {}
    for tag, count in by_sheet.items():
        least = min(count[name] for name in ids)
        over = {name: count[name] % 2 if len(ids) == 1 else count[name] - least for name in ids}
        if any(over.values()):
            found[tag] = {name: n for name, n in over.items() if n}
    return found


def _other_hands(case: Case, panels: Sequence[Panel], laid: Sequence[Placement], seed: int) -> list[Placement]:
    """Places for the other hands of what lies on a remnant without them, as far as they are wanted and there is room."""
    ids = [panel.id for panel in panels]
    every = (*case.fixed, *laid)
    there = Counter(placement.panel for placement in every)
    found: list[Placement] = []
    for tag, over in odd_ones(ids, every).items():
        for name, count in over.items():
            (other,) = [panel for panel in panels if panel.id != name] or panels
            count = min(count, other.copies - there[other.id])
            taken = [p for p in (*every, *found) if p.sheet == tag]
            mine = Counter(p.panel for p in taken)
            mine[other.id] += max(0, count)
            kept = tuple(replace(p, copies=mine[p.id], on=None) for p in case.panels if mine[p.id])
            alone = replace(case, panels=kept, sheets=on_only(replace(case, panels=kept), [tag]), fixed=tuple(taken))
            new = added(at_once(alone, PAIR_ROUNDS, seed).placements, taken) if count > 0 else []
            there[other.id] += len(new)
            found += new
    return found


def in_twos(ids: Sequence[str], placements: Iterable[Placement]) -> list[tuple[Placement, ...]]:
    """The pairs that placements on one remnant make: two of one panel, or one of each of two.

    >>> lay = [Placement("N-01", "l", 0, 0), Placement("N-01", "l", 9, 0), Placement("N-01", "r", 0, 9)]
    >>> [[two.panel for two in pair] for pair in in_twos(["l", "r"], lay)], len(in_twos(["l"], lay))
    ([['l', 'r']], 1)
    """
    laid = list(placements)
    of = [[p for p in laid if p.panel == name] for name in ids]
    first, second = of if len(of) == 2 else (of[0][::2], of[0][1::2])
    return list(zip(first, second, strict=False))


def _most_pairs(
    case: Case, panels: Sequence[Panel], sheet: Sheet, wanted: int, taken: Sequence[Placement], seed: int
) -> list[tuple[Placement, ...]]:
    """The most pairs that are found to go on one sheet beside what lies there, as pairs of placements."""
    count = max(0, wanted)
    fixed = Counter(placement.panel for placement in taken)
    others = [replace(p, copies=fixed[p.id]) for p in case.panels if p.id not in {q.id for q in panels} and fixed[p.id]]
    while count:
        each = 2 * count if len(panels) == 1 else count
        mine = [replace(panel, copies=each + fixed[panel.id]) for panel in panels]
        every = (*mine, *others)
        there = sheet.for_panels({p.id for p in every})
        alone = replace(case, panels=tuple(replace(p, on=None) for p in every), sheets=(there,), fixed=tuple(taken))
        new = added(at_once(alone, PAIR_ROUNDS, seed).placements, taken)
        pairs = in_twos([panel.id for panel in panels], new)
        if len(pairs) >= count or not pairs:
            return pairs
        count = len(pairs)
    return []


def cheapest(holds: Mapping[str, int], cost: Mapping[str, float], wanted: int) -> dict[str, int]:
    """The cheapest remnants that hold so many between them (as many as can be), and how many on each.

    >>> cheapest({"a": 3, "b": 2, "c": 2}, {"a": 5.0, "b": 2.0, "c": 2.0}, 4)
    {'b': 2, 'c': 2}
    """
    wanted = min(wanted, sum(holds.values()))
    none: tuple[str, ...] = ()
    best = [(0.0, none), *[(float("inf"), none)] * wanted]
    for tag, most in holds.items():
        if most:
            before = list(best)
            for n in range(1, wanted + 1):
                sum_before, tags = before[max(0, n - most)]
                if sum_before + cost[tag] < best[n][0]:
                    best[n] = (sum_before + cost[tag], (*tags, tag))
    found: dict[str, int] = {}
    left = wanted
    for tag in sorted(best[wanted][1], key=lambda tag: -holds[tag]):
        found[tag] = min(holds[tag], left)
        left -= found[tag]
    return {tag: n for tag, n in found.items() if n}
