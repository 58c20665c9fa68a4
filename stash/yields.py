"""The question turned round: what the bin could give. Copies of a piece from each remnant, whole sets of each job, metres of
binding.

What is given was laid, so that it can be had; what is said to be the most is proved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import Polygon
from sqlalchemy import select, true
from sqlalchemy.orm import Session

from nesting import Case, Result, Sheet, area_of, too_little

from .asking import Asked, ask, with_shapes
from .given import a_figure
from .jobs import ClothRule
from .lying import ONE_WAY_AT_ANY_GRAIN, Asks, ground_of, panel_of
from .matching import that_match
from .patterns import piece_row_of
from .qualifying import NO_SIZE, least_for, qualifying
from .refusals import NothingQualifies, NothingToCut
from .seeking import needed, of_lot
from .settings import Settings, settings_of
from .sheets import Offered, sheet_of
from .tables import JobRow, PieceRow, RemnantRow
from .words import Grain
from .workroom import Workroom

if TYPE_CHECKING:
    from nesting import Hands

MOST_SETS = 1000
"""More sets than this are not counted."""
SHORTEST = 150.0
"""mm: shorter strips are not worth a join (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class FromRemnant:
    """Copies of a piece that one remnant was found to hold, and the most that it could (proved). `used`: their share of it."""

    tag: str
    place: str
    cloth: str
    copies: int
    most: int
    used: float


@dataclass(frozen=True, slots=True)
class Sets:
    """Whole sets of a job that the remnants in the bin could give today, each job as if it were the only one; the most that
    they could is proved. `remnants`: how many will do for it."""

    job: str
    sets: int
    most: int
    remnants: int


@dataclass(frozen=True, slots=True)
class Binding:
    """Binding of one width from one remnant, mm in all: straight (along the grain or across it, whichever is more) and
    bias."""

    tag: str
    place: str
    cloth: str
    straight: float
    along: bool
    bias: float


# --- copies of a piece -------------------------------------------------------------------------------------------------------


def of_piece(
    workroom: Workroom, pattern: str, piece: str, rule: ClothRule | None = None, *, seconds: float, hands: Hands
) -> tuple[FromRemnant, ...]:
    """The most copies of a piece that each remnant was found to hold, the most first; those that hold none are left out.

    `seconds` are shared among the remnants. Raises Unknown.
    """
    with workroom.reading() as session:
        row = piece_row_of(session, pattern, piece)
        margins = settings_of(session)
        rows = _that_will_do(session, row, rule or ClothRule(), margins)
        cases = [case for remnant in rows if (case := _case(row, remnant, margins)) is not None]
        about = {remnant.tag: (remnant.place.name if remnant.place else "", remnant.cloth.name) for remnant in rows}
    share = seconds * hands.count / max(1, len(cases))
    found = hands.map(most_of, [(case, share) for case in cases], share)
    yields = []
    for case, result in zip(cases, found, strict=True):
        sheet = case.sheets[0]
        used = result.placed * Polygon(case.panels[0].outline).area / area_of(sheet)
        most = result.placed if result.bound is None else result.bound
        if result.placed:
            yields.append(FromRemnant(sheet.id, *about[sheet.id], result.placed, most, used))
    return tuple(sorted(yields, key=lambda one: (-one.copies, one.tag)))


def most_of(case: Case, seconds: float) -> Result:
    """As many as go in within the time; one worker, for a process of its own."""
    from nesting import solve

    return solve(case, seconds=seconds)


def _that_will_do(session: Session, row: PieceRow, rule: ClothRule, margins: Settings) -> list[RemnantRow]:
    ids, _ = that_match(session, qualifying(session, rule, least_for(row, margins.edge), true()), row, Asks())
    return with_shapes(session, ids)


def _case(row: PieceRow, remnant: RemnantRow, margins: Settings) -> Case | None:
    """One remnant and as many copies of the piece as its area could ever hold."""
    panel = panel_of(row, row.name, None, ground_of([remnant]), Asks(), 1)
    sheet = sheet_of(remnant, margins, [Offered.of(panel, hidden=row.hidden)])
    if sheet is None:
        return None
    if row.grain is not Grain.WARP_WISE and sheet.turns is not None:
        sheet = replace(sheet, turns=ONE_WAY_AT_ANY_GRAIN)
    copies = int(area_of(sheet) / Polygon(panel.outline).area)
    harmless = row.hidden and all(panel.id in flaw.spares for flaw in sheet.flaws)
    case = Case((replace(panel, copies=copies, hidden=harmless),), (sheet,), gap=margins.gap, edge=margins.edge)
    return case if copies else None


# --- whole sets --------------------------------------------------------------------------------------------------------------


def of_jobs(workroom: Workroom, *, seconds: float, hands: Hands, job: str | None = None) -> tuple[Sets, ...]:
    """The whole sets that the bin could give of each job on the books today: all the pieces of a job, as often as can be.

    Each job is asked for itself. `seconds` are shared among the jobs. Raises Unknown for a job that is none.
    """
    with workroom.reading() as session:
        names = [job] if job else list(session.scalars(select(JobRow.name).order_by(JobRow.id)))
    asked = [(name, _one_set(workroom, name)) for name in names]
    work = [(one, seconds * hands.count / max(1, len(names))) for _, one in asked if one is not None]
    found = iter(hands.map(most_sets, work, seconds))
    sets = []
    for name, one in asked:
        if one is None:
            sets.append(Sets(name, 0, 0, 0))
        else:
            had, most = next(found)
            sets.append(Sets(one.job, had, most, len(one.case.sheets)))
    return tuple(sets)


def _one_set(workroom: Workroom, job: str) -> Asked | None:
    """The question for one whole set of a job, whatever of it is cut already; None where nothing will do."""
    try:
        return ask(workroom, job, spares=False, whole=True)
    except (NothingQualifies, NothingToCut):
        return None


def most_sets(asked: Asked, seconds: float) -> tuple[int, int]:
    """The sets found, and the most that area allows (proved, where that is all that is looked at)."""
    case = needed(asked)
    cases = [case]
    if asked.one_lot:
        lots = dict.fromkeys(asked.worth[sheet.id].lot for sheet in case.sheets)
        cases = [one for lot in lots if (one := of_lot(asked, case, lot)) is not None]
    most = max((_most_by_area(one) for one in cases), default=0)
    best = 0
    for one in cases:
        best = max(best, _by_laying(one, best, _most_by_area(one), seconds / len(cases)))
    return best, max(best, most)


def _times(case: Case, sets: int) -> Case:
    return replace(case, panels=tuple(replace(panel, copies=panel.copies * sets) for panel in case.panels))


def _most_by_area(case: Case) -> int:
    """The most sets that the areas allow."""
    low, high = 0, MOST_SETS
    while low < high:
        middle = (low + high + 1) // 2
        if too_little(_times(case, middle)) is None:
            low = middle
        else:
            high = middle - 1
    return low


def _by_laying(case: Case, known: int, most: int, seconds: float) -> int:
    """The most sets for which a lay is found: what is laid at once by halving, then one more as long as the time lasts."""
    low, high = known, most
    while low < high:
        middle = (low + high + 1) // 2
        if most_of(_times(case, middle), 0.0).complete:
            low = middle
        else:
            high = middle - 1
    while low < most and seconds > 0 and _in_time(_times(case, low + 1), seconds / 2):
        low, seconds = low + 1, seconds / 2
    return low


def _in_time(case: Case, seconds: float) -> bool:
    """Whether a complete lay is found in the time; what is proved impossible ends sooner."""
    from nesting import solve

    done = False

    def better(result: Result) -> None:
        nonlocal done
        done = done or result.complete

    return solve(case, seconds=seconds, on_better=better, stop=lambda: done).complete


# --- binding -----------------------------------------------------------------------------------------------------------------


def of_binding(
    workroom: Workroom, width: float, rule: ClothRule | None = None, *, shortest: float = SHORTEST, hands: Hands
) -> tuple[Binding, ...]:
    """How much binding of a width (mm, as cut) each remnant holds, that with most bias first; those that hold none are left
    out.

    Strips of less than `shortest` mm do not count. Raises Refused.
    """
    width, shortest = (a_figure(value, what, unit="mm") for value, what in ((width, "width"), (shortest, "shortest strip")))
    with workroom.reading() as session:
        margins = settings_of(session)
        rows = with_shapes(session, qualifying(session, rule or ClothRule(), NO_SIZE, true()))
        about = {row.tag: (row.place.name if row.place else "", row.cloth.name) for row in rows}
        found = (sheet_of(row, margins, []) for row in rows)
        work = [(sheet, width, margins.edge, margins.gap, shortest) for sheet in found if sheet is not None]
    lengths = hands.map(bound_from, work)
    yields = []
    for (sheet, *_), (along, across, bias) in zip(work, lengths, strict=True):
        if max(along, across, bias):
            yields.append(Binding(sheet.id, *about[sheet.id], max(along, across), along >= across, bias))
    return tuple(sorted(yields, key=lambda one: (-one.bias, -one.straight, one.tag)))


def bound_from(sheet: Sheet, width: float, edge: float, gap: float, shortest: float) -> tuple[float, float, float]:
    """Metres of strip along the grain, across it and on the bias, in mm."""
    from nesting import clear_cloth, strips

    cloth = clear_cloth(sheet, edge)
    along, across, bias = (strips(cloth, width, angle=angle, gap=gap, shortest=shortest).total for angle in (0.0, 90.0, 45.0))
    return along, across, bias
