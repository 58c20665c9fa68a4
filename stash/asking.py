"""The question put to the engine: from a job to a case.

Remnants are narrowed down by the job's cloth rules in SQL; what the case's form does not say is settled here (design, *Cases
and results*): edges are trimmed by their kind, flaws spare the panels they do not harm, a one-way remnant allows one turn, a
left and right piece becomes two panels. Why each other remnant was passed over is kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import islice
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, and_, select, true
from sqlalchemy.orm import Session, selectinload, undefer

from nesting import Case, Panel, Point, Sheet

from .by_hand import legal, placements
from .given import a_figure
from .jobs import Copies, is_hidden, rule_of, so_far, still
from .jobs import row_of as job_row_of
from .lying import ONE_WAY_AT_ANY_GRAIN, ground_of, hands_apart, panel_of
from .matching import against as against_matching
from .matching import asks_of, that_match
from .on_the_fold import fold_of
from .plans import must_be
from .plans import row_of as lay_row_of
from .plies import Limits, Stackable, StackPlan, stackable
from .qualifying import NO_SIZE, LeastSize, against, least_for, qualifying
from .refusals import NothingQualifies, NothingToCut, Refused
from .remnants import row_of as remnant_row_of
from .replanning import ChalkedPart, Meant, chalked_part
from .settings import Settings, settings_of
from .sheets import Offered, sheet_of
from .tables import JobPieceRow, JobRow, LayRow, RemnantRow
from .terms import AsInLay, Terms
from .words import Aim, Grain, Hand, LayState, RemnantState
from .workroom import Workroom
from .worth import Worth, by_flaws, costs, worth_of

MARGINS = ("gap", "edge", "slip")
"""What may be said of the margins of one lay alone."""
AT_ONCE = 5000
"""Ids in one question to the database: SQLite takes 32 766 at most, others less."""


class Need(NamedTuple):
    """A piece of the job, and the copies that it still needs, by hand."""

    row: JobPieceRow
    by_hand: Mapping[Hand | None, Copies]


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A remnant of the bin that will not do for a piece, and every reason why, in words."""

    tag: str
    piece: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A case and what it stands for. Sheet ids are tags. `panels` by panel id; `revisions` by tag: the remnants as they were
    when asked. `passed_over`: with fewest reasons first. `replaces`: the chalked lay that is planned again, if one is.
    `terms`: how it was asked for; `aim`: by what it is sought, and `worth` by tag, from which the sheets have their costs.
    `seen`: the ids of the panels that are seen when worn; with `one_lot` these must be of one lot. `front`: those of them that
    are looked at first. `pairs`: the ids of panels
    that must come in pairs from one remnant, two of one panel or one of each of two. `stackable` by tag, and the `limits` of
    stacks; `stacks`: those that are settled, whose panels are fixed in the case."""

    job: str
    case: Case
    panels: Mapping[str, Meant]
    revisions: Mapping[str, int]
    passed_over: tuple[PassedOver, ...]
    replaces: int | None = None
    terms: Terms = field(default_factory=Terms)
    aim: Aim = Aim.LEAST_LOST
    worth: Mapping[str, Worth] = field(default_factory=dict)
    seen: frozenset[str] = frozenset()
    front: frozenset[str] = frozenset()
    one_lot: bool = False
    pairs: tuple[tuple[str, ...], ...] = ()
    stackable: Mapping[str, Stackable] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)
    stacks: tuple[StackPlan, ...] = ()


def ask(workroom: Workroom, job: str, terms: Terms | None = None, **said: Any) -> Asked:
    """The case of what a job still needs: neither cut nor chalked. How it is asked for may be said as `Terms` or by its
    fields.

    Raises Unknown, Refused; NothingToCut, NothingQualifies (CannotBeDone).
    """
    fields: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in said.items()}
    terms = terms or Terms(**fields)
    told = {
        name: a_figure(value, name, unit="mm", above=False) for name in MARGINS if (value := getattr(terms, name)) is not None
    }
    with workroom.reading() as session:
        row = job_row_of(session, job)
        margins = settings_of(session)
        margins = replace(margins, **told)
        needs = _whole_set(row) if terms.whole else _needs(session, row, spares=terms.spares, but=terms.instead_of)
        return _asked(session, row, needs, margins, _among(session, terms), terms, workroom.now().date())


def ask_round(workroom: Workroom, number: int, *, spares: bool = True) -> Asked:
    """A chalked lay planned again round what of it is still there: the case of what the job still needs, on its own remnants
    and on those in the bin, with its panels fixed where they are chalked. Its gap and edge are the old lay's.

    What `lays.record` makes of it replaces the lay: chalking the new one rubs the old one out and takes over what it held.
    Raises WrongState unless the lay is chalked; NothingToCut, NothingQualifies (CannotBeDone); Unknown.
    """
    with workroom.reading() as session:
        lay = lay_row_of(session, number)
        must_be(lay, LayState.CHALKED, to="plan again")
        margins = replace(settings_of(session), gap=lay.gap, edge=lay.edge)
        needs = _needs(session, lay.job, spares=spares)
        terms = Terms(spares=spares, gap=lay.gap, edge=lay.edge, aim=lay.aim)
        return _asked(session, lay.job, needs, margins, true(), terms, workroom.now().date(), chalked_part(lay))


def ask_beside(workroom: Workroom, number: int, panels: Sequence[int] = (), *, spares: bool = True, **said: Any) -> Asked:
    """The job of a lay asked anew with panels of the lay fixed where they lie, all of them unless some are numbered. Its gap,
    edge and aim are the lay's, and whether stripes match; a chalked lay is to be replaced. What else is `said` are fields of
    `Terms`.

    Raises WrongState unless the lay is tried or chalked; NothingToCut, NothingQualifies (CannotBeDone); Unknown, Refused.
    """
    with workroom.reading() as session:
        row = lay_row_of(session, number)
        must_be(row, LayState.TRIED, LayState.CHALKED, to="change or fill")
        instead_of = number if row.state is LayState.CHALKED else None
        fixed = (AsInLay(number, tuple(panels)),)
        matched = any(panel.get("anchor") for panel in row.case["panels"])
        margins: dict[str, Any] = {"gap": row.gap, "edge": row.edge, "slip": row.slip}
        job, terms = row.job.name, Terms(**margins, aim=row.aim, fixed=fixed, instead_of=instead_of, matched=matched)
    return ask(workroom, job, replace(terms, spares=spares, **said))


def _asked(
    session: Session,
    job: JobRow,
    needs: Sequence[Need],
    margins: Settings,
    among: ColumnElement[bool],
    terms: Terms,
    today: date,
    chalked: ChalkedPart | None = None,
) -> Asked:
    """The case of what is needed, on the remnants that will do, round what is chalked."""
    chalked = chalked or ChalkedPart()
    free = lapsed(session, today) | {lay for lay in (chalked.lay, terms.instead_of) if lay is not None}
    by_piece = {
        need.row.id: qualifying(session, rule_of(need.row), _least(need, margins, terms), among, free=free) for need in needs
    }
    repeats = {}
    for need in needs:
        mine, asks = by_piece[need.row.id], asks_of(job, matched=terms.matched)
        by_piece[need.row.id], repeats[need.row.id] = that_match(session, mine, need.row.piece, asks)
    remnants = with_shapes(session, set(chalked.remnants).union(*by_piece.values()))
    panels = [(need, chalked.beside(panel), meant) for need, panel, meant in _panels(needs, by_piece, remnants, terms)]
    hidden = {panel.id: is_hidden(need.row) for need, panel, _ in panels} | dict(chalked.hidden)
    front = frozenset(panel.id for need, panel, _ in panels if need.row.piece.front and not hidden[panel.id])
    offered = [
        Offered.of(panel, hidden=hidden[panel.id], front=panel.id in front)
        for panel in (*chalked.panels, *(panel for _, panel, _ in panels))
    ]
    found = (chalked.sheet_of(row, offered) or sheet_of(row, margins, offered) for row in remnants)
    sheets = [sheet for sheet in found if sheet is not None]
    if any(need.row.piece.grain is not Grain.WARP_WISE for need in needs):
        sheets = [sheet if sheet.turns is None else replace(sheet, turns=ONE_WAY_AT_ANY_GRAIN) for sheet in sheets]
    passed_over = _passed_over(session, needs, by_piece, among, margins, terms, free=free, repeats=repeats)
    passed_over += _trimmed_away(panels, sheets)
    if not {sheet.id for sheet in sheets} & {tag for _, panel, _ in panels for tag in panel.on or ()}:
        raise _nothing(job.name, passed_over)
    _must_be_there(terms.must, sheets, passed_over)
    wanted = [(panel, meant) for _, panel, meant in panels]
    by_hand = placements(session, job.id, terms.fixed, wanted, remnants) if terms.fixed else ()
    seen = frozenset(panel.id for _, panel, _ in panels if not hidden[panel.id])
    aim = terms.aim or (Aim.MATCHING if seen else Aim.SMALL_FIRST)
    worth = {row.tag: worth_of(row, today) for row in remnants}
    asked = Asked(
        job=job.name,
        case=Case(
            panels=tuple(
                _hidden(_on(panel, sheets), sheets, hidden[panel.id])
                for panel in (*chalked.panels, *(panel for _, panel, _ in panels))
            ),
            sheets=tuple(sheets),
            fixed=(*chalked.fixed, *by_hand),
            gap=margins.gap,
            edge=margins.edge,
        ),
        panels={**chalked.meant, **{panel.id: meant for _, panel, meant in panels}},
        revisions={remnant.tag: remnant.revision for remnant in remnants},
        passed_over=tuple(sorted(passed_over, key=lambda over: len(over.reasons))),
        replaces=chalked.lay or terms.instead_of,
        terms=terms,
        worth=worth,
        seen=seen,
        front=front,
        one_lot=job.one_lot,
        pairs=_pairs(panels) if job.pairs_together else (),
        stackable=stackable(remnants),
        limits=Limits(margins.slip, margins.fold, margins.heaviest, margins.thickest),
        stacks=chalked.stacks,
    )
    if by_hand:
        corners = {row.tag: row.outline.bounds[:2] for row in remnants}
        pieces = {name: meant.piece for name, meant in asked.panels.items()}
        asked = replace(asked, case=legal(asked.case, len(by_hand), pieces, corners))
    return by_aim(asked, aim)


def by_aim(asked: Asked, aim: Aim) -> Asked:
    """The same question by another aim: what opening each remnant costs follows from it."""
    flaws = {sheet.id: by_flaws(sheet, asked.case.panels, asked.seen) for sheet in asked.case.sheets}
    cost = costs({tag: asked.worth[tag] for tag in flaws}, aim, flaws)
    sheets = tuple(replace(sheet, cost=cost[sheet.id]) for sheet in asked.case.sheets)
    return replace(asked, case=replace(asked.case, sheets=sheets), aim=aim)


def _pairs(panels: Sequence[tuple[Need, Panel, Meant]]) -> tuple[tuple[str, ...], ...]:
    """The panels of left and right pieces, by piece: one that is either hand, or one of each; of one hand alone there are no
    pairs."""
    by_piece: dict[int, list[tuple[str, Hand | None]]] = {}
    for need, panel, meant in panels:
        if need.row.piece.left_and_right:
            by_piece.setdefault(need.row.id, []).append((panel.id, meant.hand))
    return tuple(tuple(id_ for id_, _ in each) for each in by_piece.values() if len(each) == len(Hand) or each[0][1] is None)


def lapsed(session: Session, today: date) -> set[int]:
    """The chalked lays whose last day is over: what they hold may be had."""
    over = select(LayRow.id).where(LayRow.state == LayState.CHALKED, LayRow.holds_until < today)
    return set(session.scalars(over))


def _must_be_there(must: Sequence[str], sheets: Sequence[Sheet], passed_over: Sequence[PassedOver]) -> None:
    """Raise NothingQualifies where a remnant that must be used will not do."""
    there = {sheet.id for sheet in sheets}
    for tag in (" ".join(given.split()).upper() for given in must):
        if tag not in there:
            why = next((over.reasons for over in passed_over if over.tag == tag), ())
            said = f": {'; '.join(why)}" if why else ""
            raise NothingQualifies(f"{tag} must be used, and will not do{said}", where=tag, next="Ask again without it")


def _least(need: Need, margins: Settings, terms: Terms) -> LeastSize:
    """The least that a remnant must have for one panel of a piece; nothing where remnants of any size are asked for."""
    piece = need.row.piece
    return NO_SIZE if terms.any_size else least_for(piece, margins.edge)


def _needs(session: Session, job: JobRow, *, spares: bool, but: int | None = None) -> list[Need]:
    """The pieces of which the job still needs copies, those chalked in a lay not counted. Raises NothingToCut."""
    done = so_far(session, job.id, but)
    needs = [Need(piece, still(piece, done)) for piece in job.pieces]
    if not any(copies.wanted for need in needs for copies in need.by_hand.values()):
        raise NothingToCut(
            f"all panels of {job.name} are cut or chalked",
            where="job",
            next="Cut its chalked lays with `fent lay cut`, or rub one out to plan it again",
        )
    if not spares:
        needs = [Need(n.row, {hand: Copies(copies.wanted, 0) for hand, copies in n.by_hand.items()}) for n in needs]
    return [need for need in needs if any(map(sum, need.by_hand.values()))]


def _whole_set(job: JobRow) -> list[Need]:
    """All that a job is made of, whatever of it is cut already."""
    return [Need(piece, still(piece, Counter())) for piece in job.pieces]


def needs_of(session: Session, job: str) -> list[tuple[JobPieceRow, int]]:
    """The pieces that a job still needs, and how many copies of each. Raises Unknown, NothingToCut."""
    needs = _needs(session, job_row_of(session, job), spares=False)
    return [(need.row, sum(copies.wanted for copies in need.by_hand.values())) for need in needs]


def _among(session: Session, terms: Terms) -> ColumnElement[bool]:
    """The remnants that may be looked at. Raises Unknown for a tag that is none, Refused for one that both must and must
    not."""
    kept, left_out, must = ([remnant_row_of(session, tag) for tag in tags] for tags in (terms.only, terms.without, terms.must))
    if both := [row.tag for row in must if row in left_out]:
        raise Refused(f"{both[0]} must be used and must not", where=both[0], expected="one of the two")
    return and_(
        RemnantRow.id.in_([row.id for row in (*kept, *must)]) if kept else true(),
        RemnantRow.id.not_in([row.id for row in left_out]) if left_out else true(),
    )


def with_shapes(session: Session, ids: set[int]) -> list[RemnantRow]:
    """The remnants with outlines, faults and edges, by tag; some at a time, since databases limit what a list may hold."""
    found: list[RemnantRow] = []
    options = (undefer(RemnantRow.outline), selectinload(RemnantRow.faults), selectinload(RemnantRow.edges))
    for some in batched(sorted(ids), AT_ONCE):
        found += session.scalars(select(RemnantRow).where(RemnantRow.id.in_(some)).options(*options))
    return sorted(found, key=lambda row: row.tag)


def batched(ids: Iterable[int], size: int) -> Iterator[list[int]]:
    """Ids in lists of at most that size."""
    rest = iter(ids)
    while some := list(islice(rest, size)):
        yield some


def _passed_over(
    session: Session,
    needs: Sequence[Need],
    by_piece: Mapping[int, set[int]],
    among: ColumnElement[bool],
    margins: Settings,
    terms: Terms,
    *,
    free: Set[int],
    repeats: Mapping[int, Point | None],
) -> list[PassedOver]:
    """The remnants that will not do for a piece and why: of those kept, or of those named, whatever became of them."""
    asked = select(RemnantRow).where(among).order_by(RemnantRow.tag)
    if not terms.only:
        asked = asked.where(RemnantRow.state.in_([RemnantState.IN_BIN, RemnantState.HELD]))
    rows = session.scalars(asked).all()
    found = []
    for need in needs:
        rule, least = rule_of(need.row), _least(need, margins, terms)
        piece, asks, repeat = need.row.piece, asks_of(need.row.job, matched=terms.matched), repeats[need.row.id]
        for row in (row for row in rows if row.id not in by_piece[need.row.id]):
            why = (*against(rule, least, row, free=free), *against_matching(piece, asks, row, repeat))
            found.append(PassedOver(row.tag, piece.name, why))
    return found


def _trimmed_away(panels: Sequence[tuple[Need, Panel, Meant]], sheets: Sequence[Sheet]) -> list[PassedOver]:
    """The remnants that would do but for their edges."""
    left = {sheet.id for sheet in sheets}
    why = ("the margins of its edges leave nothing of it",)
    return [PassedOver(tag, meant.piece, why) for _, panel, meant in panels for tag in panel.on or () if tag not in left]


def _nothing(job: str, passed_over: Sequence[PassedOver]) -> NothingQualifies:
    if not passed_over:
        return NothingQualifies(
            f"the bin holds nothing to cut {job} from", where="bin", next="Log remnants with `fent bin add`"
        )
    nearest = min(passed_over, key=lambda over: len(over.reasons))
    return NothingQualifies(
        f"no remnant in the bin will do for {job}. {nearest.tag} comes nearest: {'; '.join(nearest.reasons)}",
        where="bin",
        next="Loosen the job's cloth rule, or log more cloth",
    )


def _panels(
    needs: Sequence[Need], by_piece: Mapping[int, set[int]], remnants: Sequence[RemnantRow], terms: Terms
) -> Iterator[tuple[Need, Panel, Meant]]:
    """The panels of the case, each with what it is.

    Left and right are one panel that may be turned over where all cloth that will do has two faces alike, else two panels
    (`lying`).
    """
    names = Counter(need.row.piece.name for need in needs)
    for need in needs:
        piece = need.row.piece
        mine = [row for row in remnants if row.id in by_piece[need.row.id]]
        ground, asks = ground_of(mine), asks_of(need.row.job, matched=terms.matched)
        name = piece.name if names[piece.name] == 1 else f"{piece.name} ({need.row.id})"
        for hand, copies in (need.by_hand if hands_apart(piece, ground, asks) else _either_hand(need.by_hand)).items():
            if sum(copies):
                called, on = f"{name}, {hand}" if hand else name, tuple(row.tag for row in mine)
                panel = panel_of(piece, called, hand, ground, asks, sum(copies), on)
                yield need, panel, Meant(need.row.id, piece.name, hand, copies.wanted, copies.spares, fold_of(piece, hand))


def _either_hand(by_hand: Mapping[Hand | None, Copies]) -> Mapping[Hand | None, Copies]:
    """Copies in all: of cloth with two faces alike, one turned over is the other hand."""
    return {None: Copies(sum(c.wanted for c in by_hand.values()), sum(c.spares for c in by_hand.values()))}


def _on(panel: Panel, sheets: Sequence[Sheet]) -> Panel:
    """The panel with the sheets that will do: none named where all will."""
    ids = {sheet.id for sheet in sheets}
    on = tuple(tag for tag in panel.on or () if tag in ids)
    return replace(panel, on=None if len(on) == len(ids) else on)


def _hidden(panel: Panel, sheets: Sequence[Sheet], hidden: bool) -> Panel:
    """A piece that is not seen may lie over any flaw, if every flaw on its sheets is one that spares it."""
    mine = (sheet for sheet in sheets if panel.on is None or sheet.id in panel.on)
    spared = all(panel.id in flaw.spares for sheet in mine for flaw in sheet.flaws)
    return replace(panel, hidden=hidden and spared)
