"""Which rule, loosened by how much, would close a gap: rules of cloth by the remnants that would come in, rules of laying by
trial.

One rule at a time. Each answer was tried: with it, all that is missing is laid. That no other would do is not said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload, undefer

from nesting import Case, Panel, Sheet

from .fibres import in_words
from .jobs import ClothRule
from .qualifying import broken_by
from .settings import Settings
from .sheets import Offered, sheet_of
from .tables import RemnantRow
from .words import RemnantState, Rule

MOST_REMNANTS = 40
"""The most remnants that are tried for one rule, the largest first."""
ROUNDS = 2
"""Rounds of each trial of remnants that would come in."""
TRIAL_ROUNDS = 8
"""Rounds of each trial of a rule of laying, with everything laid anew."""
SHARES = (0.5, 0.0)
"""To what of themselves gap and edge are tried to be brought down."""
DEGREES = (2.0, 5.0)
"""Off the grain, as much more as is tried. (Common practice, no source: more is seen in how a panel hangs.)"""


@dataclass(frozen=True, slots=True)
class Loosening:
    """A rule that would do: what it asks `now` and what it would have to allow (`to`), in the words or figures of the rule
    (g/m², mm, degrees; names of cloths, colours, weaves; a lay's number). `tags`: the remnants that come in, if any do."""

    rule: Rule
    now: str | float
    to: str | float
    tags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Missing:
    """What is missing: the panels, each with the copies that lack, and the rule that each follows."""

    panels: tuple[Panel, ...]
    rules: Mapping[str, ClothRule]
    hidden: Mapping[str, bool]


def of_cloth(session: Session, missing: Missing, case: Case, margins: Settings) -> Iterator[Loosening]:
    """Rules of cloth, and holds and quarantines, which would close the gap alone."""
    found: dict[tuple[Rule, str | float], list[RemnantRow]] = {}
    states = [RemnantState.IN_BIN, RemnantState.HELD]
    rows = session.scalars(
        select(RemnantRow)
        .where(RemnantRow.state.in_(states))
        .options(undefer(RemnantRow.outline), selectinload(RemnantRow.faults), selectinload(RemnantRow.edges))
        .order_by(RemnantRow.area.desc())
    )
    for row in rows:
        broken = {one for panel in missing.panels for one in _broken(missing.rules[panel.id], row)}
        if len(broken) == 1:
            found.setdefault(broken.pop(), []).append(row)
    for rule, asked in _asked(missing):
        groups = {to: several for (broken, to), several in found.items() if broken is rule}
        if not groups:
            continue
        if rule in (Rule.HEAVIEST, Rule.LIGHTEST):
            yield from _by_weight(rule, asked, groups, missing, case, margins)
        else:
            for to, several in groups.items():
                if tags := _enough(several, missing, case, margins):
                    yield Loosening(rule, asked, to, tags)


def of_laying(case: Case) -> Iterator[Loosening]:
    """Rules of laying which would let all copies of the case in."""
    for rule, now in ((Rule.GAP, case.gap), (Rule.EDGE, case.edge)):
        for share in SHARES if now else ():
            other = replace(case, gap=case.gap * share) if rule is Rule.GAP else replace(case, edge=case.edge * share)
            if _all_in(other):
                yield Loosening(rule, now, now * share)
                break
    now = max(panel.off_grain for panel in case.panels)
    for more in DEGREES:
        tilted = tuple(replace(panel, off_grain=panel.off_grain + more) for panel in case.panels)
        if _all_in(replace(case, panels=tilted)):
            yield Loosening(Rule.OFF_GRAIN, now, now + more)
            break


def _all_in(case: Case) -> bool:
    from nesting import solve

    done = False

    def better(result: object) -> None:
        nonlocal done
        done = done or bool(getattr(result, "complete", False))

    return solve(case, rounds=TRIAL_ROUNDS, on_better=better, stop=lambda: done).complete


def _asked(missing: Missing) -> Iterator[tuple[Rule, str | float]]:
    """Every rule that there is to loosen, and what it asks now."""
    rules = list(missing.rules.values())
    said: dict[Rule, str | float | None] = {
        Rule.HEAVIEST: min((r.weight_to for r in rules if r.weight_to is not None), default=None),
        Rule.LIGHTEST: max((r.weight_from for r in rules if r.weight_from is not None), default=None),
        Rule.COLOUR: " or ".join(dict.fromkeys(c for r in rules for c in r.colours)),
        Rule.WEAVE: " or ".join(dict.fromkeys(w for r in rules for w in r.weaves)),
        Rule.FIBRE: " and ".join(dict.fromkeys(f for r in rules for f in r.fibres)),
        Rule.CLOTH: " or ".join(dict.fromkeys(c for r in rules for c in r.cloths)),
        Rule.WASHED: "washed" if any(r.washed for r in rules) else "",
        Rule.HELD: "held",
        Rule.QUARANTINE: "in quarantine",
    }
    return ((rule, asked) for rule, asked in said.items() if asked not in (None, ""))


def _broken(rule: ClothRule, row: RemnantRow) -> Iterator[tuple[Rule, str | float]]:
    """What keeps a remnant from a piece, its size left aside: each rule, with what it would have to allow."""
    cloth = row.cloth
    allow: dict[Rule, str | float] = {
        Rule.FIBRE: in_words({part.fibre: part.share / 100 for part in cloth.fibres}),
        Rule.LIGHTEST: cloth.weight,
        Rule.HEAVIEST: cloth.weight,
        Rule.COLOUR: cloth.colour or "no colour said",
        Rule.WEAVE: cloth.weave or "no weave said",
        Rule.CLOTH: cloth.name,
    }
    yield from ((broken, allow[broken]) for broken, _ in broken_by(rule, cloth))
    if rule.washed and not row.washed:
        yield Rule.WASHED, "unwashed"
    if row.state is RemnantState.HELD:
        yield Rule.HELD, float(row.held_by_id or 0)
    if row.quarantined:
        yield Rule.QUARANTINE, row.quarantine_reason


def _by_weight(
    rule: Rule,
    asked: str | float,
    groups: Mapping[str | float, Sequence[RemnantRow]],
    missing: Missing,
    case: Case,
    margins: Settings,
) -> Iterator[Loosening]:
    """The least change of a weight that brings enough in: the nearest weights first, each with all those before it."""
    there: list[RemnantRow] = []
    for to in sorted(groups, key=float, reverse=rule is Rule.LIGHTEST):
        there += groups[to]
        if tags := _enough(there, missing, case, margins):
            yield Loosening(rule, asked, to, tags)
            return


def _enough(rows: Sequence[RemnantRow], missing: Missing, case: Case, margins: Settings) -> tuple[str, ...]:
    """The tags of those remnants that would take all that is missing, none if they would not."""
    from nesting import solve

    panels = tuple(replace(panel, on=None) for panel in missing.panels)
    offered = [Offered.of(panel, hidden=missing.hidden[panel.id]) for panel in panels]
    largest = sorted(rows, key=lambda row: -row.area)[:MOST_REMNANTS]
    sheets: list[Sheet] = [sheet for row in largest if (sheet := sheet_of(row, margins, offered)) is not None]
    if not sheets:
        return ()
    found = solve(replace(case, panels=panels, sheets=tuple(sheets), fixed=()), rounds=ROUNDS)
    return tuple(dict.fromkeys(p.sheet for p in found.placements)) if found.complete else ()
