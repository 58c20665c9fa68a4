"""Small lays that a search makes on its way: on a few remnants, at once or in a few rounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from nesting import Case, Placement, Result, Sheet


def at_once(case: Case, rounds: int = 0, seed: int = 0) -> Result:
    """What the engine lays at once or, with `rounds`, in so many."""
    from nesting import solve

    # With rounds it proves a little at last, which takes a second: there is no need of that for what is laid at once.
    return solve(case, rounds=rounds, seed=seed) if rounds else solve(case, seconds=0.0, seed=seed)


def on_only(case: Case, tags: Iterable[str]) -> tuple[Sheet, ...]:
    """Of the sheets of a case those that are named, for its panels."""
    wanted, ids = set(tags), {panel.id for panel in case.panels}
    return tuple(sheet.for_panels(ids) for sheet in case.sheets if sheet.id in wanted)


def added(placements: Iterable[Placement], taken: Iterable[Placement]) -> list[Placement]:
    """The placements of a lay that were not there before."""
    return list((Counter(placements) - Counter(taken)).elements())
