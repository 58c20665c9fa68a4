"""What a person has fixed by hand, as placements of the case that is completed round them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from sqlalchemy.orm import Session

from nesting import Case, LayFault, Panel, Placement, Point, Result

from . import telling
from .given import key_of
from .plans import as_laid
from .plans import row_of as lay_row_of
from .refusals import Refused
from .replanning import Meant
from .tables import RemnantRow
from .terms import AsInLay, ByHand
from .words import Fate

READ_OFF = 0.8
"""mm: what is told is read off a tape to a millimetre, or to a sixteenth of an inch; half of the coarser of these, 0.8 mm,
is no other place than the one that was told."""
EXPECTED = "panels of the job on remnants that will do, clear of each other, of edges and of faults"


def placements(
    session: Session,
    job_id: int,
    fixed: Sequence[ByHand | AsInLay],
    panels: Sequence[tuple[Panel, Meant]],
    remnants: Sequence[RemnantRow],
) -> tuple[Placement, ...]:
    """The fixed panels as placements. Raises Refused for a piece or remnant that is not asked for, and for more panels than
    the job still needs."""
    by_tag = {row.tag: row for row in remnants}
    found: list[Placement] = []
    for one in fixed:
        if isinstance(one, ByHand):
            found.append(_placed(one, panels, by_tag))
        else:
            found += _as_in(session, job_id, one, panels, by_tag)
    counts = Counter(placement.panel for placement in found)
    for panel, meant in panels:
        if counts[panel.id] > panel.copies:
            raise Refused(
                f"{counts[panel.id]} panels of {meant.piece} are fixed by hand",
                where="fixed",
                expected=f"no more than the {panel.copies} that the job still needs",
            )
    return tuple(found)


def put_at(
    panel: Panel, tag: str, corner: Point, left: float, near: float, *, turn: float = 0.0, over: bool = False
) -> Placement:
    """A panel so far (mm) from the left and from the near edge of a remnant, whose box has its lower left corner there."""
    x, y, _, _ = as_laid(panel.outline, Placement(tag, panel.id, 0.0, 0.0, turn, over)).bounds
    return Placement(tag, panel.id, corner[0] + left - x, corner[1] + near - y, turn, over)


def lies_at(panel: Panel, placement: Placement, corner: Point) -> tuple[float, float]:
    """How far (mm) a panel lies from the left and from the near edge of its remnant."""
    x, y, _, _ = as_laid(panel.outline, placement).bounds
    return x - corner[0], y - corner[1]


def legal(case: Case, by_hand: int, pieces: Mapping[str, str], corners: Mapping[str, Point]) -> Case:
    """The case with the last `by_hand` of what is fixed where it was told, to what a tape shows (`READ_OFF`). Raises Refused
    where that cannot lie so, with the nearest place that works. `pieces`: by the panels' names; `corners`: the lower left
    corner of each remnant's box, by tag."""
    if not _faults(case):
        return case
    fixed = list(case.fixed)
    for n in range(len(fixed) - by_hand, len(fixed)):
        near = _shifted(case, fixed[:n] + fixed[n + 1 :], fixed[n])
        if near is not None and near[1] <= READ_OFF:
            fixed[n] = near[0]
    case = replace(case, fixed=tuple(fixed))
    _must_be_legal(case, pieces, corners)
    return case


def _must_be_legal(case: Case, pieces: Mapping[str, str], corners: Mapping[str, Point]) -> None:
    faults = _faults(case)
    if not faults:
        return
    first = faults[0]
    on = [placement for placement in case.fixed if placement.sheet == first.sheet]
    mine = [on[number - 1] for number in first.panels if number <= len(on)]
    if not mine:
        raise Refused(f"what is fixed by hand cannot lie so: {first}", where="fixed", expected=EXPECTED)
    named = list(dict.fromkeys(pieces[placement.panel] for placement in mine))
    who = " and ".join(named) if len(named) == len(mine) else f"two of {named[0]}"
    raise Refused(
        f"what is fixed by hand cannot lie so: {who} on {first.sheet} {telling.in_their_units(first.what)}",
        where="fixed",
        expected=EXPECTED,
        next=_nearest(case, mine[-1], pieces[mine[-1].panel], corners[mine[-1].sheet]),
    )


def _faults(case: Case) -> tuple[LayFault, ...]:
    """What is wrong with what is fixed."""
    from nesting import examine, sheet_cost

    touched = {placement.sheet for placement in case.fixed}
    cost = sum(sheet_cost(sheet) for sheet in case.sheets if sheet.id in touched)
    complete = len(case.fixed) == sum(panel.copies for panel in case.panels)
    return tuple(examine(case, Result(case.fixed, len(case.fixed), complete=complete, cost=cost)).faults)


def _nearest(case: Case, placement: Placement, piece: str, corner: Point) -> str:
    """Where the nearest place is for a fixed panel beside the others, in words."""
    found = _shifted(case, [other for other in case.fixed if other is not placement], placement)
    if found is None:
        return f"There is no place for {piece} on {placement.sheet} so; name another remnant, or turn it"
    panel = next(panel for panel in case.panels if panel.id == placement.panel)
    left, near = (telling.fine(round(mm, 1)) for mm in lies_at(panel, found[0], corner))
    return f"The nearest place for {piece} is {left} from the left and {near} from the near edge"


def _shifted(case: Case, others: Sequence[Placement], placement: Placement) -> tuple[Placement, float] | None:
    """The nearest place for a panel beside others, its turn kept, and how far it is, mm; None where there is none."""
    from nesting import examine, nearest_shift

    shift = nearest_shift(case, others, [placement])
    if shift is None:
        return None
    moved = replace(placement, x=placement.x + shift[0], y=placement.y + shift[1])
    beside = (*(other for other in others if other.sheet == placement.sheet), moved)
    faults = examine(replace(case, fixed=()), Result(beside)).faults
    return None if any(len(beside) in fault.panels for fault in faults) else (moved, math.hypot(*shift))


def _placed(one: ByHand, panels: Sequence[tuple[Panel, Meant]], by_tag: Mapping[str, RemnantRow]) -> Placement:
    panel = _panel(one, panels)
    tag = " ".join(one.tag.split()).upper()
    row = by_tag.get(tag)
    if row is None or (panel.on is not None and tag not in panel.on):
        raise Refused(f"{tag} will not do for {one.piece}", where="fixed", expected=EXPECTED)
    turn = (panel.turns[0] + (180.0 if one.head_to_foot else 0.0)) % 360.0
    return put_at(panel, tag, row.outline.bounds[:2], one.left, one.near, turn=turn, over=one.turned_over)


def _panel(one: ByHand, panels: Sequence[tuple[Panel, Meant]]) -> Panel:
    mine = [(panel, meant) for panel, meant in panels if key_of(meant.piece) == key_of(one.piece)]
    if not mine:
        wanted = ", ".join(dict.fromkeys(meant.piece for _, meant in panels))
        raise Refused(f"the job needs no {one.piece!r:.40}", where="fixed", expected=f"one of: {wanted}")
    hands = [panel for panel, meant in mine if one.hand is None or meant.hand in (None, one.hand)]
    if len(hands) != 1:
        raise Refused(f"{one.piece} comes left and right", where="fixed", expected=f"left {one.piece} or right {one.piece}")
    return hands[0]


def _as_in(
    session: Session, job_id: int, one: AsInLay, panels: Sequence[tuple[Panel, Meant]], by_tag: Mapping[str, RemnantRow]
) -> Iterator[Placement]:
    lay = lay_row_of(session, one.lay)
    if lay.job_id != job_id:
        raise Refused(f"lay {one.lay} is for {lay.job.name}", where="fixed", expected="a lay of the same job")
    numbers = {panel.number for panel in lay.panels if panel.fate is Fate.PLANNED}
    if strange := sorted(set(one.panels) - numbers):
        raise Refused(f"lay {one.lay} has no panel {strange[0]}", where="fixed", expected=f"numbers from 1 to {len(numbers)}")
    tags = {sheet.remnant_id: sheet.remnant.tag for sheet in lay.sheets}
    for row in lay.panels:
        if row.number not in (one.panels or numbers):
            continue
        if row.part is not None:
            raise Refused(
                f"panel {row.number} of lay {one.lay} is part of a panel that is joined from two",
                where="fixed",
                expected="whole panels: the two parts go together",
                next="Try the job again, and join anew: fent lay try, with --joins",
            )
        tag = tags[row.remnant_id]
        mine = [panel for panel, meant in panels if meant.job_piece_id == row.job_piece_id and meant.hand is row.hand]
        if tag not in by_tag or not mine or (mine[0].on is not None and tag not in mine[0].on):
            raise Refused(f"{tag} of lay {one.lay} will not do any more", where="fixed", expected=EXPECTED)
        yield Placement(tag, mine[0].id, row.x, row.y, row.turn, row.flipped)
