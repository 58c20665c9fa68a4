"""The search for what was asked, as a person means it: first what is needed, then spares where no further remnant is opened
for them; seen pieces of one lot; pairs from one remnant; remnants that must be used.

The engine is asked case by case (`nesting.solve`); what it gives is put together to a result of the whole question.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting import Case, Panel, Result, Sheet

from .asking import Asked
from .pairing import in_pairs, in_twos
from .plies import NotThrough
from .refusals import CannotBeDone
from .small_lays import added, at_once, on_only
from .words import Aim

if TYPE_CHECKING:
    from nesting import Hands

SPARES_ROUNDS = 20
"""Rounds that spares are sought for, of about a tenth of a second, on remnants that are opened anyway."""
LOTS_LOOKED_INTO = 3
"""The most lots that are searched in earnest, the likeliest first."""
LOTS_LAID = 12
"""The most lots of which a lay is made at once, to see which is likeliest; those with most cloth."""
FIRST_LOT = 0.5
"""The share of the time that the likeliest lot gets; the next gets as much of the rest."""
FRONT_FIRST = 0.6
"""The share of the time for the best cloth to the front; the rest is for a lay of all where that leaves panels out."""

Stop = Callable[[], bool]
Better = Callable[[Result], None]


@dataclass(frozen=True, slots=True)
class Effort:
    """How long is searched and how: `seconds` or, for the same lay every time, `rounds` of each search; `stop` is asked
    between rounds, `on_better` is told of each better lay of what is needed. `hands`: who works the rounds, threads here
    unless given.
    """

    seconds: float = 10.0
    rounds: int | None = None
    seed: int = 0
    workers: int = 1
    on_better: Better | None = None
    stop: Stop | None = None
    hands: Hands | None = None

    def stopped(self) -> bool:
        return self.stop is not None and self.stop()


@dataclass(frozen=True, slots=True)
class Found:
    """The result of the whole question. `lots`: how many lots its seen panels are of. `not_through`: the stacks of which not
    every tracing goes through every ply. `idle`: the remnants that were named for a stack and are not in it, since nothing
    would be cut in them. `cut_whole`: the pieces drawn on the fold of which not every panel lies on one."""

    result: Result
    lots: int
    not_through: tuple[NotThrough, ...] = ()
    idle: tuple[str, ...] = ()
    cut_whole: tuple[str, ...] = ()


def seek(asked: Asked, effort: Effort) -> Found:
    """The best lay found for what was asked. Raises CannotBeDone where a remnant that must be used holds no panel."""
    case = needed(asked)
    if asked.pairs:
        case = replace(case, fixed=(*case.fixed, *in_pairs(asked.pairs, case, effort.seed)))
    case = _with_must(asked, case)
    best = _best_cloth_first(asked, case, effort)
    lots = {asked.worth[p.sheet].lot for p in best.placements if p.panel in asked.seen}
    return Found(_whole(asked, _with_spares(asked, best, effort)), len(lots))


def _best_cloth_first(asked: Asked, case: Case, effort: Effort) -> Result:
    """The best lay with every flaw kept off what is looked at first, as far as that leaves no panel out; else the best of
    all."""

    def look(one: Case, effort: Effort) -> Result:
        return _by_lot(asked, one, effort) if _lots_matter(asked) else _solve(one, effort)

    strict = replace(case, sheets=tuple(_kept_off(sheet, asked.front) for sheet in case.sheets))
    if strict == case:
        return look(case, effort)
    began = time.monotonic()
    best = look(strict, replace(effort, seconds=effort.seconds * FRONT_FIRST))
    if best.complete or effort.stopped():
        # What is proved of the stricter question is not proved of this one.
        return replace(best, bound=best.bound if best.complete else None, proved=best.complete, least_cost=None)
    plain = look(case, _rest(effort, began, best))
    return plain if plain.placed > best.placed else replace(best, bound=plain.bound, proved=plain.bound == best.placed)


def _kept_off(sheet: Sheet, front: frozenset[str]) -> Sheet:
    """A sheet whose flaws harm all that is looked at first."""
    return replace(sheet, flaws=tuple(replace(flaw, spares=flaw.spares - front) for flaw in sheet.flaws))


def needed(asked: Asked) -> Case:
    """The case of what is needed alone, spares left aside."""
    fixed = Counter(placement.panel for placement in asked.case.fixed)
    panels = (replace(p, copies=max(asked.panels[p.id].wanted, fixed[p.id])) for p in asked.case.panels)
    kept = tuple(panel for panel in panels if panel.copies)
    ids = {panel.id for panel in kept}
    return replace(asked.case, panels=kept, sheets=tuple(sheet.for_panels(ids) for sheet in asked.case.sheets))


def _solve(case: Case, effort: Effort, share: float = 1.0) -> Result:
    from nesting import solve

    elsewhere = {} if effort.hands is None else {"hands": effort.hands}
    return solve(
        case,
        **elsewhere,
        seconds=effort.seconds * share,
        rounds=effort.rounds,
        seed=effort.seed,
        workers=effort.workers,
        on_better=effort.on_better,
        stop=effort.stop,
    )


# --- one lot ---------------------------------------------------------------------------------------------------------------


def _lots_matter(asked: Asked) -> bool:
    return bool(asked.seen) and (asked.one_lot or asked.aim is Aim.MATCHING)


def _by_lot(asked: Asked, case: Case, effort: Effort) -> Result:
    """The best lay whose seen panels are of one lot; if none is complete and it is not a must, of several."""
    fixed = {asked.worth[p.sheet].lot for p in case.fixed if p.panel in asked.seen}
    lots = dict.fromkeys(asked.worth[sheet.id].lot for sheet in case.sheets)
    if len(lots) == 1 or len(fixed) > 1:
        return _solve(case, effort)
    began = time.monotonic()
    open_lots = (of_lot(asked, case, lot) for lot in lots if not fixed or lot in fixed)
    likely = _likely([one for one in open_lots if one is not None])
    tried = [(at_once(one, seed=effort.seed), one) for one in likely]
    tried.sort(key=lambda pair: (-pair[0].placed, pair[0].cost or 0.0))
    best = tried[0][0] if tried else Result()
    if best.placements and effort.on_better:
        effort.on_better(best)
    for number, (_, one) in enumerate(tried[:LOTS_LOOKED_INTO]):
        if (number and best.complete) or effort.stopped():
            break
        found = _solve(one, _rest(effort, began, best), FIRST_LOT)
        best = max(found, best, key=lambda result: (result.placed, -(result.cost or 0.0)))  # of equals the one that is settled
    # What is proved of one lot is not proved of all of them.
    best = replace(best, bound=None, proved=False, least_cost=None)
    if best.complete or asked.one_lot or effort.stopped():
        return best
    mixed = _solve(case, _rest(effort, began, best))
    return mixed if mixed.placed > best.placed else replace(best, bound=mixed.bound, proved=mixed.bound == best.placed)


def _likely(cases: Sequence[Case]) -> list[Case]:
    """The lots that may be worth a look: those with cloth enough, if any has, and of these those with most."""
    from nesting import area_of, too_little

    enough = [case for case in cases if too_little(case) is None]
    return sorted(enough or cases, key=lambda case: -sum(map(area_of, case.sheets)))[:LOTS_LAID]


def of_lot(asked: Asked, case: Case, lot: str) -> Case | None:
    """The case in which the seen panels may lie on remnants of one lot alone; None where one of them has none."""
    tags = {sheet.id for sheet in case.sheets if asked.worth[sheet.id].lot == lot}

    def on(panel: Panel) -> Panel:
        mine = tuple(sheet.id for sheet in case.sheets if panel.on is None or sheet.id in panel.on)
        return replace(panel, on=tuple(tag for tag in mine if tag in tags)) if panel.id in asked.seen else panel

    panels = tuple(on(panel) for panel in case.panels)
    if any(panel.on == () for panel in panels):
        return None
    useful = {tag for panel in panels for tag in (panel.on if panel.on is not None else (s.id for s in case.sheets))}
    useful |= {placement.sheet for placement in case.fixed}
    return replace(case, panels=panels, sheets=tuple(sheet for sheet in case.sheets if sheet.id in useful))


def _rest(effort: Effort, began: float, best: Result) -> Effort:
    """What is left of the effort; only what is better than the lay that there is already is told of."""
    left = max(0.0, effort.seconds - (time.monotonic() - began))
    return replace(effort, seconds=left, on_better=_if_better(best, effort))


def _if_better(best: Result, effort: Effort) -> Better:
    """Tell only of what is better than the lay that there is already."""

    def tell(result: Result) -> None:
        if effort.on_better and (result.placed, -(result.cost or 0.0)) > (best.placed, -(best.cost or 0.0)):
            effort.on_better(result)

    return tell


# --- remnants that must be used ----------------------------------------------------------------------------------------------


def _with_must(asked: Asked, case: Case) -> Case:
    """The case in which a panel lies on each remnant that must be used: a place for the panel of which it then holds most is
    fixed. Raises CannotBeDone where none has a place there."""
    for tag in (" ".join(given.split()).upper() for given in asked.terms.must):
        if any(placement.sheet == tag for placement in case.fixed):
            continue
        fixed = Counter(placement.panel for placement in case.fixed)
        open_to = [
            replace(panel, copies=panel.copies - fixed[panel.id], on=None)
            for panel in case.panels
            if panel.copies > fixed[panel.id] and (panel.on is None or tag in panel.on)
        ]
        found = at_once(replace(case, panels=tuple(open_to), sheets=on_only(case, [tag]), fixed=())) if open_to else Result()
        if not found.placements:
            raise CannotBeDone(f"{tag} must be used, and no panel has a place on it", where=tag, next="Ask again without it")
        case = replace(case, fixed=(*case.fixed, found.placements[0]))
    return case


# --- spares, and the whole ---------------------------------------------------------------------------------------------------


def _with_spares(asked: Asked, result: Result, effort: Effort) -> Result:
    """The lay with spares on the remnants that it opens anyway, if it holds all that is needed; of pairs two by two."""
    wanted = sum(panel.copies for panel in asked.case.panels)
    if not result.complete or result.placed >= wanted or effort.stopped():
        return result
    tags = list(dict.fromkeys(placement.sheet for placement in result.placements))
    lot = {asked.worth[p.sheet].lot for p in result.placements if p.panel in asked.seen}
    panels = []
    for panel in asked.case.panels:
        on = [tag for tag in tags if panel.on is None or tag in panel.on]
        if panel.id in asked.seen and _lots_matter(asked):
            on = [tag for tag in on if asked.worth[tag].lot in lot]
        panels.append(replace(panel, on=tuple(on)))
    case = replace(asked.case, panels=tuple(panels), sheets=on_only(asked.case, tags), fixed=result.placements)
    more = at_once(case, SPARES_ROUNDS if effort.rounds is None else min(SPARES_ROUNDS, effort.rounds), effort.seed)
    new = added(more.placements, result.placements)
    paired = {name for ids in asked.pairs for name in ids}
    twos = (p for ids in asked.pairs for tag in tags for two in in_twos(ids, (p for p in new if p.sheet == tag)) for p in two)
    kept = (*result.placements, *(p for p in new if p.panel not in paired), *twos)
    return replace(result, placements=kept, placed=len(kept))


def _whole(asked: Asked, result: Result) -> Result:
    """What the result is, measured against the whole question."""
    from nesting import sheet_cost

    touched = {placement.sheet for placement in result.placements}
    wanted = sum(panel.copies for panel in asked.case.panels)
    needed_of = {panel.id: asked.panels[panel.id].wanted for panel in asked.case.panels}
    enough = all(sum(p.panel == name for p in result.placements) >= count for name, count in needed_of.items())
    placed = len(result.placements)
    # What is proved is proved of what is needed: a bound on that is none on a lay with spares.
    bound = result.bound if placed < sum(needed_of.values()) or not enough else None
    bound = placed if placed == wanted else bound
    forced = bool(asked.terms.must or asked.pairs or asked.terms.fixed)
    return replace(
        result,
        placed=placed,
        complete=placed == wanted,
        cost=sum(sheet_cost(sheet) for sheet in asked.case.sheets if sheet.id in touched),
        bound=None if forced and placed < wanted else bound,
        proved=bound == placed and (not forced or placed == wanted),
        least_cost=None if forced else result.least_cost,
    )
