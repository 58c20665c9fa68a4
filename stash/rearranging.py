"""A lay changed by hand: panels moved, turned, taken out and put in by number, each change checked as it is made.

A change is made on the lay `OnTable`, which is not kept: `keep` makes a new lay of it, and the lay that it began with stays
as it is (a chalked one is rubbed out when the new one is chalked). Numbers stay as they are meanwhile; once it is kept, those
after a panel that was taken out move up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from nesting import Case, Panel, Placement, Point, Result

from .asking import ask_beside
from .by_hand import put_at
from .given import key_of
from .lays import Lay, get, preview, record
from .on_table import Change, Move, NoPlace, OnTable, PutIn, Spot, TakeOut, Turn, changed, settled, turned, will_not_do
from .ply_proof import faults as ply_faults
from .refusals import CannotBeDone, Refused
from .remnants import get as get_remnant
from .through_plies import companions, plans, taken_along, tight
from .words import Hand
from .workroom import Workroom

PLACES = "places that `fent lay show` shows, in from the left and from the near edge of the remnant"


def begin(workroom: Workroom, number: int, also: Iterable[str] = ()) -> OnTable:
    """A tried or chalked lay, to be changed on its own remnants and on those `also` named.

    Raises WrongState, Unknown; Refused where the lay would not be legal any more; NothingToCut.
    """
    lay = get(workroom, number)
    tags = tuple(
        dict.fromkeys([*(sheet.remnant.tag for sheet in lay.sheets), *(" ".join(tag.split()).upper() for tag in also)])
    )
    asked = ask_beside(workroom, number, only=tags)
    planned = [panel.number for panel in lay.panels if panel.fate == "planned"]
    laid = dict(zip(planned, asked.case.fixed, strict=True))
    # What lies there may be moved from now on.
    asked = replace(asked, case=replace(asked.case, fixed=()), terms=replace(asked.terms, fixed=()))
    corners = {}
    for tag in tags:
        x, y, _, _ = get_remnant(workroom, tag).outline.bounds
        corners[tag] = (x, y)
    plies = tight(lay.stacks, asked.case.sheets, lay.slip or 0.0)
    return OnTable(number, asked, laid, corners, began=laid, next=max(laid, default=0) + 1, stacks=lay.stacks, tight=plies)


def change(table: OnTable, how: Change, *, nearest: bool = False) -> OnTable:
    """The lay with one change made, if it is legal; with `nearest`, at the nearest legal place where it is not.

    A place that is told is met to what a tape shows (`READ_OFF`). Raises NoPlace with the reason and the nearest place;
    CannotBeDone where the job has no use for another panel; Refused for a number or piece that is not there.
    """
    if isinstance(how, TakeOut):
        _must_be_there(table, how.panels)
        out = {*how.panels, *(other for number in how.panels for other in companions(table, number))}
        kept = {number: placement for number, placement in table.laid.items() if number not in out}
        return changed(table, kept, (), TakeOut(tuple(sorted(out))))
    moved = _put_in(table, how) if isinstance(how, PutIn) else _moved(table, how)
    for placement in moved.values():
        if placement.sheet not in {sheet.id for sheet in table.case.sheets}:
            raise NoPlace(
                will_not_do(table, placement.sheet, placement),
                where=placement.sheet,
                expected="a remnant that its job allows",
                next="Name another; `fent bin list` shows them",
            )
    to_nearest = nearest or (isinstance(how, PutIn) and how.at is None)
    there: dict[int, Placement] = {}
    for group, ways in _groups(table, moved):
        there |= settled(table, group, ways, nearest=to_nearest)
    return changed(table, {**table.laid, **there}, tuple(there), how)


def _groups(table: OnTable, moved: Mapping[int, Placement]) -> Iterator[tuple[dict[int, Placement], dict[int, Point]]]:
    """What moves as one: the panels on one remnant, and all that goes with them through the plies of a stack."""
    waiting = dict(moved)
    while waiting:
        first = next(iter(waiting.values())).sheet
        group, ways = taken_along(table, {n: p for n, p in waiting.items() if p.sheet == first})
        waiting = {n: p for n, p in waiting.items() if n not in group}
        yield group, ways


def keep(workroom: Workroom, table: OnTable, *, by: str = "") -> Lay:
    """What lies on the table as a lay of its own.

    Raises CannotBeDone where it breaks a rule of the job (one dye lot, pairs from one remnant) that the lay it began with
    kept; Refused where no panel is left.
    """
    _must_keep_rules(table)
    note = f"changed by hand from lay {table.lay}: {'; '.join(table.said)}"
    asked = replace(table.asked, stacks=plans(table))
    if asked.stacks:
        trial = preview(workroom, asked, result_of(table), as_numbered=True)
        for fault in ply_faults(trial, asked.case):
            raise CannotBeDone(fault, where=f"lay {table.lay}", next="Move or take out what is named")
    return record(workroom, asked, result_of(table), by=by, note=note, as_numbered=True)


def result_of(table: OnTable) -> Result:
    """What lies on the table as a lay is given out, its panels by number."""
    from nesting import sheet_cost

    placements = tuple(table.laid[number] for number in sorted(table.laid))
    touched = {placement.sheet for placement in placements}
    placed = sum(_copies(table.case, placements).values())
    complete = placed == sum(panel.copies for panel in table.case.panels)
    return Result(
        placements,
        placed=placed,
        complete=complete,
        bound=placed if complete else None,
        proved=complete,
        cost=sum(sheet_cost(sheet) for sheet in table.asked.case.sheets if sheet.id in touched),
    )


# --- what a change asks for --------------------------------------------------------------------------------------------------


def _must_be_there(table: OnTable, numbers: Sequence[int]) -> None:
    if strange := sorted(set(numbers) - set(table.laid)):
        raise Refused(
            f"lay {table.lay} has no panel {strange[0]}",
            where="panel",
            expected=f"one of its numbers, {min(table.laid)} to {max(table.laid)}"
            if table.laid
            else "a panel to be put in first",
        )


def _moved(table: OnTable, how: Move | Turn) -> dict[int, Placement]:
    """Where panels would lie."""
    _must_be_there(table, how.panels)
    if isinstance(how, Turn):
        return {number: turned(table, table.laid[number], how) for number in how.panels}
    if how.to is None:
        x, y = how.by
        return {n: replace(table.laid[n], x=table.laid[n].x + x, y=table.laid[n].y + y) for n in how.panels}
    if len(how.panels) != 1:
        raise Refused(
            "several panels cannot be moved to one place",
            where="move",
            expected="one panel to a place, or several by so much: move 3-5 by 10mm right",
        )
    return {how.panels[0]: _at(table, table.laid[how.panels[0]], how.to)}


def _at(table: OnTable, placement: Placement, spot: Spot) -> Placement:
    tag = spot.tag or placement.sheet
    if tag not in table.corners:
        raise Refused(f"{tag} is not looked at", where=tag, expected=f"one of: {', '.join(table.corners)}")
    corner = table.corners[tag]
    return put_at(table.panel(placement), tag, corner, spot.left, spot.near, turn=placement.turn, over=placement.flipped)


def _put_in(table: OnTable, how: PutIn) -> dict[int, Placement]:
    """One more panel under the next number."""
    number = table.next
    if how.like is not None:
        _must_be_there(table, [how.like])
        model = table.laid[how.like]
        meant = table.asked.panels[model.panel]
        tag = how.at.tag if how.at and how.at.tag else model.sheet
        panel = _with_copies_left(table, tag, meant.piece, meant.hand)
        placement = replace(model, panel=panel.id)
        placement = _at(table, placement, how.at) if how.at else placement
    else:
        if how.at is None or how.at.tag is None:
            raise Refused("it is not said where", where="add", expected=f"{how.piece} on a remnant, at {PLACES}")
        panel = _with_copies_left(table, how.at.tag, how.piece, how.hand)
        placement = _at(table, Placement(how.at.tag, panel.id, 0.0, 0.0, panel.turns[0]), how.at)
    if how.head_to_foot or how.turned_over:
        placement = turned(table, placement, Turn((), by=180.0 if how.head_to_foot else 0.0, over=how.turned_over))
    return {number: placement}


def _with_copies_left(table: OnTable, tag: str, piece: str, hand: Hand | None) -> Panel:
    """The panel of a piece of which the job has use for more."""
    meant = table.asked.panels
    mine = [panel for panel in table.case.panels if key_of(meant[panel.id].piece) == key_of(piece)]
    if not mine:
        wanted = ", ".join(dict.fromkeys(each.piece for each in meant.values()))
        raise Refused(f"the job needs no {piece!r:.40}", where="add", expected=f"one of: {wanted}")
    mine = [panel for panel in mine if hand is None or meant[panel.id].hand in (None, hand)]
    if len({meant[panel.id].hand for panel in mine}) > 1:
        raise Refused(f"{piece} comes left and right", where="add", expected=f"left {piece} or right {piece}")
    laid = _copies(table.case, table.laid.values())
    plies = next((sheet.plies for sheet in table.case.sheets if sheet.id == tag), 1)
    found = next((panel for panel in mine if panel.copies - laid[panel.id] >= plies), None)
    if found is None:
        has = sum(laid[panel.id] for panel in mine)
        raise CannotBeDone(
            f"{table.asked.job} has use for no more {piece} than the {has} of this lay",
            where=piece,
            next="Take one out first, or ask for more in a job of its own",
        )
    return found


def _copies(case: Case, placements: Iterable[Placement]) -> Counter[str]:
    """Copies that placements make: on a stack, one for each ply."""
    plies = {sheet.id: sheet.plies for sheet in case.sheets}
    found: Counter[str] = Counter()
    for placement in placements:
        found[placement.panel] += plies[placement.sheet]
    return found


# --- rules of the job --------------------------------------------------------------------------------------------------------


def _must_keep_rules(table: OnTable) -> None:
    """Raise CannotBeDone where the changed lay breaks a rule of its job that it kept before."""
    asked = table.asked
    if asked.one_lot and len(_lots(table, table.laid)) > max(1, len(_lots(table, table.began))):
        lots = ", ".join(sorted(lot or "no lot" for lot in _lots(table, table.laid)))
        raise CannotBeDone(
            f"what is seen of {asked.job} is to be of one dye lot, and would be of {lots}",
            where=f"lay {table.lay}",
            next="Move the panels to remnants of one lot",
        )
    broken = _unpaired(table, table.laid) - _unpaired(table, table.began)
    for tag, piece in broken:
        raise CannotBeDone(
            f"{tag} would hold more of one hand of {piece} than of the other; pairs are to be from one remnant",
            where=tag,
            next="Move or take out its other hand too",
        )


def _lots(table: OnTable, laid: Mapping[int, Placement]) -> set[str]:
    return {table.asked.worth[p.sheet].lot for p in laid.values() if p.panel in table.asked.seen}


def _unpaired(table: OnTable, laid: Mapping[int, Placement]) -> set[tuple[str, str]]:
    """Remnants (and pieces) on which the pairs do not come out even."""
    found = set()
    for ids in table.asked.pairs:
        for tag in {placement.sheet for placement in laid.values()}:
            counts = [sum(p.panel == name and p.sheet == tag for p in laid.values()) for name in ids]
            if counts[0] % 2 if len(ids) == 1 else len(set(counts)) > 1:
                found.add((tag, table.asked.panels[ids[0]].piece))
    return found
