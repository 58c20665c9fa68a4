"""A shortage: how many panels are missing of which, the true reason, and what would do.

The reason is told apart by `nesting.why_short`, on all the cloth that the job's rules allow, also on what is too small for a
panel: else "too little cloth" and "none is large enough" could not be told apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import cast

from shapely import Polygon
from sqlalchemy import select
from sqlalchemy.orm import Session

from nesting import Case, Cause, Closing, Panel, Places, Result, Ring, Sheet, smallest_rectangle, why_short

from .asking import Asked, PassedOver, ask
from .jobs import rule_of
from .loosening import Loosening, Missing, of_cloth, of_laying
from .qualifying import LeastSize, least_for
from .refusals import NothingQualifies
from .seeking import needed, of_lot
from .settings import settings_of
from .tables import JobPieceRow, RemnantRow
from .terms import Terms
from .words import Hand, Rule
from .workroom import Workroom

__all__ = ["Cause", "Loosening", "Shortage", "TooSmall", "shortage"]

NEAREST = 5
"""So many remnants that came closest are told of."""
MOST_RECTANGLE = 60
"""Of so many missing copies a rectangle is worked out; for more it would be a bolt."""


OTHER = {Hand.LEFT: Hand.RIGHT, Hand.RIGHT: Hand.LEFT, None: None}
MOST_LOOKED_AT = 200
"""The most remnants, times panels, of which it is looked whether the other hand would have a place."""


@dataclass(frozen=True, slots=True)
class TooSmall:
    """A remnant that will do but for its size: by how much (mm) it is too short along the grain and too narrow across it for
    one panel of the piece; both nought where it is large enough, and faults, its outline or the turn leave no place."""

    tag: str
    piece: str
    short: float
    narrow: float


@dataclass(frozen=True, slots=True)
class OneHanded:
    """A remnant that holds a piece of the one hand and not of the `lacks` other, since its cloth has two faces. `holds` and
    `lacks` are None for a piece that is not left and right: turned over, it would be held."""

    tag: str
    piece: str
    holds: Hand | None
    lacks: Hand | None


@dataclass(frozen=True, slots=True)
class Shortage:
    """What a lay falls short by, why, and what would do.

    `missing`: copies by piece. `cause` with `proved`, `bound`: see `nesting.Shortfall`. `pieces`: those of which the cause
    speaks. `area`: mm² of cloth that will do for these; `needed`: mm² of their panels. `one_way`: what forbids the turn:
    `cloth`, or pieces by name. `too_small`: the nearest ones to being large enough. `closing`: a rectangle that would hold
    what is missing, and `missing_area` (mm²) its panels. `loosenings`: rules that would do. `one_handed`: what
    holds only the other hand. `nearest`: remnants passed over
    for the fewest reasons.
    """

    missing: Mapping[str, int]
    cause: Cause
    proved: bool
    bound: int | None
    pieces: tuple[str, ...]
    area: float
    needed: float
    one_way: tuple[str, ...] = ()
    too_small: tuple[TooSmall, ...] = ()
    closing: Closing | None = None
    missing_area: float = 0.0
    loosenings: tuple[Loosening, ...] = ()
    one_handed: tuple[OneHanded, ...] = ()
    nearest: tuple[PassedOver, ...] = field(default=())


def shortage(workroom: Workroom, asked: Asked | None, result: Result, *, job: str, terms: Terms, workers: int = 1) -> Shortage:
    """Why `result` holds less than the job needs. `asked`: the question it answers, None where nothing in the bin would do.

    Raises what `asking.ask` raises for a job that needs nothing.
    """
    try:
        wide = asked if asked and asked.replaces else ask(workroom, job, replace(terms, any_size=True, spares=False, must=()))
    except NothingQualifies:
        return _of_nothing(workroom, job, terms)
    case = _of_one_lot(wide, needed(wide), result)
    found = why_short(case, result, workers=workers)
    meant = {panel.id: wide.panels[panel.id].piece for panel in case.panels}
    made = Counter(placement.panel for placement in result.placements)
    lacking = [replace(panel, copies=panel.copies - made[panel.id]) for panel in case.panels if panel.copies > made[panel.id]]
    missing: Counter[str] = Counter()
    for panel in lacking:
        missing[meant[panel.id]] += panel.copies
    with workroom.reading() as session:
        ids = {panel.id: wide.panels[panel.id].job_piece_id for panel in lacking}
        rows = {row.id: row for row in session.scalars(select(JobPieceRow).where(JobPieceRow.id.in_(ids.values())))}
        short = Missing(
            tuple(lacking),
            {name: rule_of(rows[id_]) for name, id_ in ids.items()},
            {name: name not in wide.seen for name in ids},
        )
        margins = replace(settings_of(session), gap=case.gap, edge=case.edge)
        loosenings = tuple(of_cloth(session, short, case, margins))
        least = {meant[name]: _least(rows[id_], case.edge) for name, id_ in ids.items()}
        too_small = _too_small(session, case, least, meant)
    if found.cause is Cause.TURN:
        loosenings = (Loosening(Rule.TURN, "one way", "either way"), *loosenings)
    elif found.cause is not Cause.LITTLE:
        loosenings = (*of_laying(case), *loosenings)
    return Shortage(
        missing=dict(missing),
        cause=found.cause,
        proved=found.proved,
        bound=found.bound,
        pieces=tuple(dict.fromkeys(meant[name] for name in found.panels)),
        area=found.area,
        needed=found.needed,
        one_way=_one_way(case, found.panels, meant),
        too_small=too_small if found.cause is Cause.SMALL else (),
        closing=_closing(case, lacking),
        missing_area=sum(Polygon(panel.outline).area * panel.copies for panel in lacking),
        loosenings=loosenings,
        one_handed=_one_handed(wide, case, lacking),
        nearest=_nearest(asked or wide),
    )


def _of_nothing(workroom: Workroom, job: str, terms: Terms) -> Shortage:
    """Where no remnant of any size will do, by its cloth or because it cannot be had."""
    from .asking import needs_of

    with workroom.reading() as session:
        needs = needs_of(session, job)
        margins = settings_of(session)
        panels = [
            Panel(str(need.id), tuple((x, y) for x, y in cast(Polygon, need.piece.cut_line).exterior.coords[:-1]), count)
            for need, count in needs
        ]
        short = Missing(
            tuple(panels),
            {str(need.id): rule_of(need) for need, _ in needs},
            {str(need.id): need.piece.hidden for need, _ in needs},
        )
        case = Case(tuple(panels), gap=margins.gap if terms.gap is None else terms.gap, edge=margins.edge)
        loosenings = tuple(of_cloth(session, short, case, margins))
        missing: Counter[str] = Counter()
        for need, count in needs:
            missing[need.piece.name] += count
    needed_area = sum(Polygon(panel.outline).area * panel.copies for panel in panels)
    return Shortage(
        missing=dict(missing),
        cause=Cause.LITTLE,
        proved=True,
        bound=0,
        pieces=tuple(missing),
        area=0.0,
        needed=needed_area,
        closing=_closing(case, panels),
        missing_area=needed_area,
        loosenings=loosenings,
    )


def _of_one_lot(asked: Asked, case: Case, result: Result) -> Case:
    """Where a job must be of one lot, the case of the lot of which most was laid or, with none, of which there is most."""
    if not asked.one_lot:
        return case
    laid = Counter(asked.worth[p.sheet].lot for p in result.placements if p.panel in asked.seen)
    there: Counter[str] = Counter()
    for sheet in case.sheets:
        there[asked.worth[sheet.id].lot] += round(asked.worth[sheet.id].area)
    lot = (laid or there).most_common(1)[0][0]
    return of_lot(asked, case, lot) or case


def _least(row: JobPieceRow, edge: float) -> LeastSize:
    return least_for(row.piece, edge)


def _too_small(session: Session, case: Case, least: Mapping[str, LeastSize], meant: Mapping[str, str]) -> tuple[TooSmall, ...]:
    """The remnants that lack least of being large enough for a panel."""
    tags = [sheet.id for sheet in case.sheets]
    found = []
    for row in session.execute(
        select(RemnantRow.tag, RemnantRow.length, RemnantRow.width).where(RemnantRow.tag.in_(tags[:5000]))
    ):
        for panel in case.panels:
            size = least.get(meant[panel.id])
            if size is not None and (panel.on is None or row.tag in panel.on):
                short, narrow = max(0.0, size.length - row.length), max(0.0, size.width - row.width)
                found.append(TooSmall(row.tag, meant[panel.id], short, narrow))
    found.sort(key=lambda one: (one.short + one.narrow, one.tag))
    return tuple(found[:NEAREST])


def _one_way(case: Case, names: tuple[str, ...], meant: Mapping[str, str]) -> tuple[str, ...]:
    """What forbids the turn head to foot: the cloth's nap, or the pieces themselves."""
    mine = [panel for panel in case.panels if panel.id in names]
    pieces = dict.fromkeys(meant[panel.id] for panel in mine if len(panel.turns) == 1)
    cloth = any(sheet.turns is not None for sheet in case.sheets if _will_do(sheet, mine))
    return (*(["cloth"] if cloth else []), *pieces)


def _one_handed(asked: Asked, case: Case, lacking: list[Panel]) -> tuple[OneHanded, ...]:
    """The remnants on which a panel that is missing has a place only if it is turned over."""
    handed = [panel for panel in lacking if not panel.flip]
    if not handed or len(handed) * len(case.sheets) > MOST_LOOKED_AT:
        return ()
    # Whether a panel has a place is asked of a case of its own: as it is, and as its mirror.
    flat = tuple(replace(panel, copies=1) for panel in handed)
    over = tuple(replace(p, outline=_mirrored(p.outline), sound=p.sound and _mirrored(p.sound)) for p in flat)
    ids = {panel.id for panel in flat}
    sheets = tuple(sheet.for_panels(ids) for sheet in case.sheets)
    as_it_is, turned = (Places(replace(case, panels=panels, sheets=sheets, fixed=())) for panels in (flat, over))
    found = []
    for h, sheet in enumerate(sheets):
        for k, panel in enumerate(flat):
            if turned.has(k, h) and not as_it_is.has(k, h):
                meant = asked.panels[panel.id]
                found.append(OneHanded(sheet.id, meant.piece, OTHER[meant.hand], meant.hand))
    return tuple(found[:NEAREST])


def _mirrored(ring: Ring) -> Ring:
    return tuple((x, -y) for x, y in ring)


def _will_do(sheet: Sheet, panels: list[Panel]) -> bool:
    return any(panel.on is None or sheet.id in panel.on for panel in panels)


def _closing(case: Case, lacking: list[Panel]) -> Closing | None:
    """The rectangle that would hold what is missing: laid one way only where all the cloth is one way."""
    from nesting import solve

    if sum(panel.copies for panel in lacking) > MOST_RECTANGLE:
        return None
    napped = bool(case.sheets) and all(sheet.turns is not None for sheet in case.sheets)
    panels = [replace(panel, turns=panel.turns[:1]) if napped else panel for panel in lacking]
    return smallest_rectangle(panels, gap=case.gap, edge=case.edge, solver=solve)


def _nearest(asked: Asked) -> tuple[PassedOver, ...]:
    """The remnants passed over for the fewest reasons, each once."""
    seen: dict[str, PassedOver] = {}
    for over in asked.passed_over:
        seen.setdefault(over.tag, over)
    return tuple(seen.values())[:NEAREST]
