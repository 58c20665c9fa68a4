"""Which remnants are laid on one another, and what is cut through them, so that a job takes fewer tracings.

First a lay of single remnants is sought, as ever: it says which remnants are worth opening and how many panels there can be.
Then stacks are made: those that were named, as they were named, and, if asked, others, cloth by cloth, the one that saves most
tracings first, of equals one of the remnants of that lay; a remnant that is left alone may be folded. What the stacks make is
fixed, and what the job still needs is sought singly beside them. If that yields fewer panels than the lay of single remnants
did, the stack that costs panels is given up again; a named one never.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from nesting import Case, Panel, Placement, Result, Sheet

from . import telling
from .asking import Asked
from .on_the_fold import on_the_fold
from .pairing import odd_ones
from .plies import ON_FOLD, CopyPlan, Lacks, NotThrough, PlyPlan, StackPlan
from .refusals import CannotBeDone, Refused
from .seeking import Effort, Found, needed, seek
from .stack_limits import must_be_within, within
from .terms import InStack
from .words import Half

if TYPE_CHECKING:
    from nesting import Layer, Ply, Stacked, TooSmall, Wanted

PLAIN_SHARE, FILL_SHARE, REST_SHARE = 0.35, 0.35, 0.3
"""How the time is shared out: among the lay of single remnants, the stacks, and what is cut singly beside them."""
LEAST_FILL, MOST_FILL = 0.1, 1.5
"""Seconds that one stack is filled for."""
FILLS = 12
"""About so many fills make a stack: it is tried with fewer plies, and with some turned over."""
ROUNDS = 3
"""Rounds of a fill where the search is told its rounds."""
MOST_STACKS = 8
"""The most stacks of one lay that are sought; more can be named."""
SEEDS = 6
"""Of so many remnants each is tried as the top ply, the largest first."""
PROOF_EFFORT, PROVED_SHEETS = 4.0, 12
"""Seconds or so for proving that no more panels can be had, and of how many remnants at most it is tried."""


def seek_in_stacks(asked: Asked, effort: Effort) -> tuple[Asked, Found]:
    """The best lay found in stacks, and the question with these settled. Raises Refused for a stack that cannot be as it was
    named; CannotBeDone where it holds nothing."""
    making = _Making(asked, effort)
    named_layers = making.layers_of(asked.terms.stacks)  # before anything is searched: a slip of the finger costs no wait
    plain = seek(asked, replace(effort, seconds=effort.seconds * PLAIN_SHARE))
    if effort.rounds is None:
        making.until = time.monotonic() + effort.seconds * FILL_SHARE
    for told, layers in zip(asked.terms.stacks, named_layers, strict=True):
        making.named(told, layers)
    named = len(making.made)
    if asked.terms.plies > 1 and not effort.stopped():
        making.of_remnants(_opened(plain.result), plain.result)
    if not making.wanted_now():  # nothing is left that could be laid beside an odd one
        making.drop_odd_ones(making.settled().case.fixed, named)
    while True:
        settled = making.settled()
        found = seek(settled, replace(effort, seconds=effort.seconds * REST_SHARE))
        if making.drop_odd_ones(found.result.placements, named):
            continue
        kept = found.result.placed >= plain.result.placed and _in_pairs(settled, found.result)
        if kept or len(making.made) == named:
            break
        making.give_up()
    if found.result.placed < plain.result.placed and not named:
        return asked, plain
    proved = _proved(settled, found.result, plain.result)
    return settled, replace(
        found, result=proved, not_through=making.not_through(), idle=tuple(making.idle), cut_whole=_cut_whole(settled, proved)
    )


def _cut_whole(asked: Asked, result: Result) -> tuple[str, ...]:
    """The pieces drawn on the fold of which a panel is cut whole, though a remnant is folded."""
    if not any(ply.fold is not None for plan in asked.stacks for ply in plan.plies):
        return ()
    singly = Counter(result.placements)
    singly -= Counter(copy.placement for plan in asked.stacks for t in plan.tracings for copy in t if copy.ply == ON_FOLD)
    return tuple(dict.fromkeys(asked.panels[p.panel].piece for p in singly if asked.panels[p.panel].fold is not None))


def _opened(result: Result) -> list[str]:
    return list(dict.fromkeys(placement.sheet for placement in result.placements))


def _in_pairs(asked: Asked, result: Result) -> bool:
    """Whether the pairs that must be of one remnant are, as far as they are there."""
    return not any(odd_ones(ids, result.placements) for ids in asked.pairs)


def _proved(asked: Asked, result: Result, plain: Result) -> Result:
    """The result with the best bound there is. What is proved of the remnants, however they are cut, is proved of stacks."""
    from nesting import bound_copies

    wanted = sum(panel.copies for panel in asked.case.panels)
    if result.placed >= wanted:
        return result
    bounds = [bound for bound in (result.bound, plain.bound) if bound is not None and bound >= result.placed]
    if result.placed not in bounds and len(asked.case.sheets) <= PROVED_SHEETS and not asked.terms.must:
        bounds.append(bound_copies(replace(needed(asked), fixed=()), PROOF_EFFORT, found=result.placed).most)
    bound = min(bounds, default=None)
    return replace(result, bound=bound, proved=bound == result.placed)


class _Making:
    """Stacks made one after another: what is still needed, and which remnants are still free."""

    def __init__(self, asked: Asked, effort: Effort) -> None:
        self.asked, self.effort = asked, effort
        self.case = needed(asked)
        self.sheets = {sheet.id: sheet for sheet in self.case.sheets}
        self.made: list[tuple[StackPlan, Stacked | None, int]] = []
        self.until = math.inf
        self.idle: list[str] = []

    # --- stacks that are named ---

    def layers_of(self, stacks: Sequence[Sequence[InStack]]) -> list[list[Layer]]:
        """The layers of the stacks that are named. Raises Refused, CannotBeDone for what cannot be one."""
        used = {placement.sheet for placement in self.asked.case.fixed}
        found = []
        for told in stacks:
            tags = [" ".join(one.tag.split()).upper() for one in told]
            for tag in tags:
                self._must_be_free(tag, used)
                used.add(tag)
            must_be_within(self.asked, [(tag, 2 if one.folded else 1) for tag, one in zip(tags, told, strict=True)])
            found.append([self._layer(tag, one) for tag, one in zip(tags, told, strict=True)])
        return found

    def named(self, told: Sequence[InStack], layers: list[Layer]) -> None:
        first: tuple[tuple[CopyPlan, ...], ...] = ()
        if len(told) == 1 and told[0].folded:
            first, layers = self._on_the_fold(layers[0])
        plan, found = self._filled(layers, self.effort.stopped, first)  # all that was named is tried, however long it takes
        if plan is None:
            tags = " and ".join(dict.fromkeys(ply.sheet.id for layer in layers for ply in layer.plies))
            raise CannotBeDone(
                f"a stack of {tags} holds no panel", where="stack", next="Name others, or let them be found: --plies"
            )
        there = {ply.tag for ply in plan.plies}
        self.idle += [layer.plies[0].sheet.id for layer in layers if layer.plies[0].sheet.id not in there]
        self.made.append((plan, found, self.wanted_now()))

    def _must_be_free(self, tag: str, used: set[str]) -> None:
        if tag not in self.sheets:
            why = next((over.reasons for over in self.asked.passed_over if over.tag == tag), ("it is not in the bin",))
            raise CannotBeDone(f"{tag} cannot be in a stack: {'; '.join(why)}", where="stack", next="Name another remnant")
        if any(self.sheets[tag].repeat) and any(panel.anchor is not None for panel in self.case.panels):
            raise CannotBeDone(
                f"{tag} has a stripe or check that its panels are matched to, which nobody sees through a stack",
                where="stack",
                next="Cut it singly, or without matching: --unmatched",
            )
        if tag in used:
            raise Refused(f"{tag} is in a stack twice, or has panels fixed on it", where="stack", expected="each once")

    def _layer(self, tag: str, told: InStack) -> Layer:
        from nesting import Layer, Ply, mirrors, ways_of

        sheet = self.sheets[tag]
        panels = self._panels()
        ways = ways_of(sheet, panels, mirrors(panels, self._kin()))
        if not told.folded:
            return Layer((Ply(sheet),), ways)
        return Layer(self._fold(sheet, told.fold), tuple(way for way in ways if not way[1]) or ways[:1])

    def _fold(self, sheet: Sheet, told: float | None) -> tuple[Ply, Ply]:
        from nesting import best_fold, folded

        low, high = min(y for _, y in sheet.outline), max(y for _, y in sheet.outline)
        fold = best_fold(sheet) if told is None else low + told
        # The engine keeps the edge from the fold as from any edge.
        margin = max(0.0, self.asked.limits.fold - self.case.edge)
        try:
            return folded(sheet, fold, margin)
        except ValueError:
            raise Refused(
                f"{sheet.id} cannot be folded there: no cloth would be left on one side",
                where="stack",
                expected=f"a fold between its near and its far edge, {telling.fine(high - low)} apart",
            ) from None

    # --- stacks that are found ---

    def of_remnants(self, opened: Sequence[str], plain: Result) -> None:
        """Stacks of remnants of one cloth on each other, as long as one saves tracings: of those that are opened anyway and of
        all that will do. Of equals one that opens no other remnant is taken."""
        while len(self.made) < MOST_STACKS and not self._late():
            best: tuple[tuple[int, int, int], StackPlan, Stacked] | None = None
            every = [tag for tag in self.sheets if tag not in opened]
            for number, layers in enumerate(self._candidates([opened, [*opened, *every]])):
                if self._late() and (best is not None or number >= FILLS):
                    break
                plan, found = self._filled(layers, self._late)
                if plan is None or found is None:
                    continue
                mine = {ply.tag for ply in plan.plies}
                lost = max(0, sum(p.sheet in mine for p in plain.placements) - found.copies)
                saved = found.copies - len(found.tracings)
                score = saved - lost, -lost, -len(mine - set(opened))
                if saved > 0 and (best is None or score > best[0]):
                    best = score, plan, found
            if best is None or best[0][0] <= 0:
                return
            self.made.append((best[1], best[2], self.wanted_now()))

    def _candidates(self, groups: Sequence[Sequence[str]]) -> Iterator[list[Layer]]:
        """Stacks to try, group by group: for each of the largest free remnants of a cloth, those of the group that are like it
        in size on it, and one folded."""
        used = {ply.tag for plan, _, _ in self.made for ply in plan.plies} | {p.sheet for p in self.asked.case.fixed}
        used |= {sheet.id for sheet in self.case.sheets if any(sheet.repeat) and any(p.anchor for p in self.case.panels)}
        tried: set[tuple[str, ...]] = set()
        for tags in groups:
            free = sorted((tag for tag in tags if tag not in used), key=lambda tag: (-self.asked.worth[tag].area, tag))
            for top in free[:SEEDS]:
                cloth = self.asked.stackable[top].cloth
                like = sorted(
                    (tag for tag in free if tag != top and self.asked.stackable[tag].cloth == cloth),
                    key=lambda tag: (abs(self.asked.worth[tag].area - self.asked.worth[top].area), tag),
                )
                stack = within(self.asked, [top, *like], self.asked.terms.plies)
                if len(stack) > 1 and tuple(sorted(stack)) not in tried:
                    tried.add(tuple(sorted(stack)))
                    yield [self._layer(tag, InStack(tag)) for tag in stack]
                if (top,) not in tried and within(self.asked, [top, top], self.asked.terms.plies) == [top, top]:
                    tried.add((top,))
                    yield [self._layer(top, InStack(top, folded=True))]

    # --- filling ---

    def _late(self) -> bool:
        """Whether the time for stacks is over, or it is to stop."""
        return self.effort.stopped() or time.monotonic() > self.until

    def _panels(self) -> tuple[Panel, ...]:
        """What is still needed beside the stacks there are."""
        done = Counter(p.panel for plan, _, _ in self.made for p in plan.copies())
        done += Counter(placement.panel for placement in self.case.fixed)
        return tuple(replace(p, copies=max(0, p.copies - done[p.id])) for p in self.case.panels)

    def wanted_now(self) -> int:
        return sum(panel.copies for panel in self._panels())

    def _kin(self) -> Mapping[str, object]:
        return {name: meant.job_piece_id for name, meant in self.asked.panels.items()}

    def _wanted(self, panels: Sequence[Panel]) -> Wanted:
        from nesting import Wanted, mirrors

        seconds = min(MOST_FILL, max(LEAST_FILL, self.effort.seconds * FILL_SHARE / FILLS))
        mirror, slip = mirrors(panels, self._kin()), self.asked.limits.slip
        return Wanted(tuple(panels), self.case.gap, self.case.edge, slip, mirror, seconds, self.effort.seed)

    def _filled(
        self, layers: Sequence[Layer], stop: Callable[[], bool], first: tuple[tuple[CopyPlan, ...], ...] = ()
    ) -> tuple[StackPlan | None, Stacked | None]:
        """The stack of these layers, and the plan of it with what lies on the fold already."""
        from nesting import fill_stack

        on_fold = Counter(copy.placement.panel for tracing in first for copy in tracing)
        panels = [replace(p, copies=max(0, p.copies - on_fold[p.id])) for p in self._panels()]
        allowed = {ply.sheet.id for layer in layers for ply in layer.plies}
        panels = [p if p.on is None or allowed & set(p.on) else replace(p, copies=0) for p in panels]
        wanted, solver = self._wanted(panels), _solver(self.effort)
        found = fill_stack(layers, wanted, solver, stop) if any(p.copies for p in panels) else None
        if found is None and not first:
            return None, None
        plies = found.plies if found else tuple(ply for layer in layers for ply in layer.plies)
        made = found.tracings if found else ()
        tracings = tuple(tuple(CopyPlan(copy.ply + 1, copy.placement) for copy in tracing.copies) for tracing in made)
        return StackPlan(tuple(map(_ply_plan, plies)), (*first, *tracings)), found

    def _on_the_fold(self, layer: Layer) -> tuple[tuple[tuple[CopyPlan, ...], ...], list[Layer]]:
        """The pieces whose pattern lies on the fold, along the fold of a remnant; and the layer less what they take."""
        near, far = layer.plies
        whole = self.sheets[near.sheet.id]
        laid, left = on_the_fold(whole, near, far, self._panels(), self.asked, _solver(self.effort))
        tracings = tuple((CopyPlan(ON_FOLD, placement),) for placement in laid)
        return tracings, [replace(layer, plies=left)]

    # --- what comes of it ---

    def settled(self) -> Asked:
        """The question with what the stacks make fixed."""
        plans = tuple(plan for plan, _, _ in self.made)
        fixed = (*self.asked.case.fixed, *(p for plan in plans for p in plan.copies()))
        return replace(self.asked, case=replace(self.asked.case, fixed=fixed), stacks=(*self.asked.stacks, *plans))

    def drop_odd_ones(self, laid: Sequence[Placement], named: int) -> bool:
        """Leave out of the stacks what would be on its remnant without its other hand, where pairs are to be from one; whether
        anything was. Raises CannotBeDone where nothing is left of one of the first `named`."""
        odd: Counter[tuple[str, str]] = Counter()
        for ids in self.asked.pairs:
            for tag, over in odd_ones(ids, laid).items():
                odd.update({(tag, name): count for name, count in over.items()})
        singly = Counter((p.sheet, p.panel) for p in laid)
        singly -= Counter((p.sheet, p.panel) for plan, _, _ in self.made for p in plan.copies())
        odd -= singly
        if not odd:
            return False
        dropped = False
        for n, (plan, _, wanted) in enumerate(self.made):
            left = []
            for tracing in reversed(plan.tracings):  # the last make the fewest panels
                kept = []
                for copy in tracing:
                    if odd[copy.placement.sheet, copy.placement.panel] > 0:
                        odd[copy.placement.sheet, copy.placement.panel] -= 1
                        dropped = True
                    else:
                        kept.append(copy)
                if kept:
                    left.append(tuple(kept))
            if not left and n < named:
                tags = " and ".join(dict.fromkeys(ply.tag for ply in plan.plies))
                raise CannotBeDone(
                    f"a stack of {tags} holds no pair: what is left on the one would be right on the other",
                    where="stack",
                    next="Name others, or let them be found: --plies",
                )
            if sum(map(len, left)) < sum(map(len, plan.tracings)):
                # What was said of its tracings holds no more of what is left of them.
                self.made[n] = replace(plan, tracings=tuple(reversed(left))), None, wanted
        self.made = [one for n, one in enumerate(self.made) if n < named or one[0].tracings]
        return dropped

    def give_up(self) -> None:
        """Give the last stack up."""
        self.made.pop()

    def not_through(self) -> tuple[NotThrough, ...]:
        found = []
        traced = sum(len(plan.tracings) for plan in self.asked.stacks)
        for number, (plan, stacked, wanted) in enumerate(self.made, len(self.asked.stacks) + 1):
            before, traced = traced, traced + len(plan.tracings)
            if stacked is None or stacked.through_all >= min(wanted, stacked.copies):
                continue
            before += len(plan.tracings) - len(stacked.tracings)  # those on the fold are numbered first
            lacks = tuple(self._lack(stacked, before, lack) for lack in stacked.too_small)
            found.append(NotThrough(number, len(plan.plies), stacked.through_all, stacked.copies, wanted, lacks))
        return tuple(found)

    def _lack(self, stacked: Stacked, before: int, lack: TooSmall) -> Lacks:
        tag = stacked.plies[lack.ply].sheet.id
        xs, ys = zip(*self.sheets[tag].outline, strict=True)
        x, y = lack.on_ply
        holding = [stacked.plies[copy.ply] for copy in stacked.tracings[lack.tracing].copies]
        shorter, narrower = _smaller(stacked.plies[lack.ply], holding)
        return Lacks(tag, lack.ply + 1, before + lack.tracing + 1, lack.by, x - min(xs), y - min(ys), shorter, narrower)


def _smaller(ply: Ply, holding: Sequence[Ply]) -> tuple[float, float]:
    """By how much the cloth that some plies share is longer along the grain than one ply is, and wider across it (mm)."""
    from nesting import shared

    common = shared(holding, 0.0)
    if common is None:
        return 0.0, 0.0
    (left, low, right, high), (left_in, low_in, right_in, high_in) = _box(common), _box(ply.sheet)
    return max(0.0, right - left - (right_in - left_in)), max(0.0, high - low - (high_in - low_in))


def _box(sheet: Sheet) -> tuple[float, float, float, float]:
    xs, ys = zip(*sheet.outline, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _ply_plan(ply: Ply) -> PlyPlan:
    half = None if ply.fold is None else Half.FAR if ply.far else Half.NEAR
    return PlyPlan(ply.sheet.id, ply.lie, ply.fold, half)


def _solver(effort: Effort) -> Callable[..., Result]:
    """`nesting.solve` as a stack is filled with it."""
    from nesting import solve

    def filled(case: Case, *, seconds: float, seed: int, **_: Any) -> Result:
        if effort.rounds is not None:
            return solve(case, rounds=min(ROUNDS, effort.rounds), seed=seed)
        return solve(case, seconds=seconds, seed=seed, workers=effort.workers, stop=effort.stop)

    return filled
