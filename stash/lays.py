"""Lay plans: tried, shown, chalked, rubbed out. Proving one is in `proving`, cutting it in `cutting`."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import CursorResult, select, update
from sqlalchemy.orm import Session

from nesting import Case, Placement, Result, Sheet

from .finding import ListedLay
from .finding import lays_listed as every
from .given import initials
from .jobs import row_of as job_row_of
from .plans import (
    KEPT_OF_A_RESULT,
    TRY_AGAIN,
    Count,
    Foreseen,
    LaidPanel,
    Lay,
    LaySheet,
    as_laid,
    lay_of,
    must_be,
    must_be_needed,
    row_of,
)
from .plies import put_down
from .refusals import ChangedSince, Held, Refused
from .remnants import Remnant
from .settings import Settings
from .settings import read as read_settings
from .tables import LayCountRow, LayPanelRow, LayRow, LaySheetRow, RemnantRow
from .two_parts import pair_up
from .words import Fate, LayState, RemnantState
from .workroom import Workroom
from .worth import Worth, good_cloth_lost

if TYPE_CHECKING:
    from nesting import Leftovers

    from .asking import Asked
from .changing import object_session_of, what_became_of

__all__ = [
    "Count",
    "Foreseen",
    "LaidPanel",
    "Lay",
    "LaySheet",
    "ListedLay",
    "chalk",
    "every",
    "foresee",
    "get",
    "preview",
    "record",
    "rub_out",
]


def record(
    workroom: Workroom, asked: Asked, result: Result, *, by: str = "", note: str = "", as_numbered: bool = False
) -> Lay:
    """Keep a lay that was tried; its panels are numbered from sheet to sheet along the grain or, `as_numbered`, as they
    stand. Raises Refused if it is empty or the independent check finds fault with it."""
    from nesting import case_to_json, examine

    if not as_numbered:
        result = replace(result, placements=in_order(asked.case, result.placements))
    if not result.placements:
        raise Refused("the lay holds no panel", where=asked.job, expected="a lay with at least one panel")
    faults = examine(asked.case, result).faults
    if faults:
        raise Refused(
            f"the lay is not legal: {faults[0]}", where=asked.job, expected="a lay that the independent check passes"
        )
    with workroom.writing() as session:
        row = LayRow(
            job=job_row_of(session, asked.job),
            replaces_id=asked.replaces,
            aim=asked.aim,
            state=LayState.TRIED,
            case=case_to_json(_touched(asked.case, result)),
            gap=asked.case.gap,
            edge=asked.case.edge,
            note=note.strip(),
            tried_at=workroom.now(),
            tried_by=by.strip(),
            chalked_by="",
            cut_by="",
            rubbed_out_by="",
            **{name: getattr(result, name) for name in KEPT_OF_A_RESULT},
        )
        session.add(row)
        _put_down(session, row, asked, result)
        session.flush()
        return lay_of(row)


def get(workroom: Workroom, number: int) -> Lay:
    """The lay of that number. Raises Unknown."""
    with workroom.reading() as session:
        return lay_of(row_of(session, number))


def preview(workroom: Workroom, asked: Asked, result: Result, *, as_numbered: bool = False) -> Lay:
    """The lay that `record` would keep, looked over as it does, numbered 0, and not kept."""
    kept: list[Lay] = []
    with suppress(_NotKept), workroom.writing():
        kept.append(record(workroom, asked, result, as_numbered=as_numbered))
        raise _NotKept
    return replace(kept[0], number=0)


class _NotKept(Exception):  # noqa: N818 - only to end a transaction
    """Ends a transaction of which nothing is kept."""


def foresee(workroom: Workroom, lay: Lay) -> tuple[Foreseen, ...]:
    """What each sheet of the lay will leave if all its panels are cut."""
    rules = read_settings(workroom)
    found = []
    for sheet in (sheet for sheet in lay.sheets if not sheet.dropped):
        left = what_is_left(sheet.remnant, sheet.panels, rules)
        whole = Worth(sheet.remnant.area, sheet.remnant.rect_length, sheet.remnant.rect_width)
        lost = good_cloth_lost(whole, left.keepers, left.rag.area, rules.narrowest)
        found.append(Foreseen(sheet.remnant.tag, left.keepers, left.rag, lost))
    return tuple(found)


HOLD_DAYS = 14
"""How long a chalked lay holds its remnants unless it is said otherwise: two weeks' work (common practice, no source)."""


def chalk(workroom: Workroom, number: int, *, by: str, until: date | None = None) -> Lay:
    """Chalk a tried lay: it holds its remnants under these initials until it is cut or rubbed out.

    `until`: the last day for that, two weeks on unless given. From the next day on another lay may take a remnant, which rubs
    this one out; as long as none does, it may still be cut. A lay that plans a chalked one again takes its place: that one is
    rubbed out in the same breath.
    Raises WrongState, Held (another lay holds one), ChangedSince, NotNeeded (other lays have the panels that its job needs);
    Refused without initials, or for a day that is over.
    """
    who = initials(by, "chalking")
    today = workroom.now().date()
    last = today + timedelta(days=HOLD_DAYS) if until is None else until
    if last < today:
        raise Refused(f"it would hold until {last}, which is over", where="until", expected="today or a day to come")
    with workroom.writing() as session:
        row = row_of(session, number, lock=True)
        must_be(row, LayState.TRIED, to="chalk")
        _rub_out_replaced(session, workroom, row, who)
        for sheet in row.sheets:
            _let_lapse(session, sheet.remnant, workroom, who, row)
            _must_be_free(session, sheet)
            held = session.execute(
                update(RemnantRow)
                # Asked again in the same breath: on a shared database another may have been quicker since we looked.
                .where(RemnantRow.id == sheet.remnant_id, RemnantRow.state == RemnantState.IN_BIN)
                .where(RemnantRow.revision == sheet.revision)
                .values(state=RemnantState.HELD, held_by_id=row.id)
            )
            if cast("CursorResult[Any]", held).rowcount != 1:
                raise Held(f"{sheet.remnant.tag} was taken a moment ago by another", where=f"lay {row.id}", next=TRY_AGAIN)
            session.refresh(sheet.remnant)
        must_be_needed(session, row)
        row.state, row.chalked_at, row.chalked_by = LayState.CHALKED, workroom.now(), who
        row.holds_until = last
        session.flush()
        return lay_of(row)


def rub_out(workroom: Workroom, number: int, *, by: str, note: str = "") -> Lay:
    """Give a tried or chalked lay up; what it held is free again. Raises WrongState; Refused without initials."""
    who = initials(by, "rubbing out")
    with workroom.writing() as session:
        row = row_of(session, number, lock=True)
        must_be(row, LayState.TRIED, LayState.CHALKED, to="rub out")
        for sheet in row.sheets:
            let_go(row, sheet.remnant)
        row.state, row.rubbed_out_at, row.rubbed_out_by = LayState.RUBBED_OUT, workroom.now(), who
        row.note = "\n".join(text for text in (row.note, note.strip()) if text)
        session.flush()
        return lay_of(row)


def _rub_out_replaced(session: Session, workroom: Workroom, row: LayRow, who: str) -> None:
    """Rub out the chalked lay that this one plans again, so that what it holds is free for this one."""
    if row.replaces_id is None:
        return
    old = row_of(session, row.replaces_id, lock=True)
    if old.state is LayState.CHALKED:
        _give_up(session, old, workroom, who, f"planned again as lay {row.id}")


def _let_lapse(session: Session, remnant: RemnantRow, workroom: Workroom, who: str, taker: LayRow) -> None:
    """Rub out the chalked lay that holds a remnant, if its last day is over."""
    if remnant.held_by_id is None:
        return
    holder = row_of(session, remnant.held_by_id, lock=True)
    if holder.holds_until is not None and holder.holds_until < workroom.now().date():
        why = f"held until {holder.holds_until}; lay {taker.id} took {remnant.tag}"
        _give_up(session, holder, workroom, who, why)


def _give_up(session: Session, lay: LayRow, workroom: Workroom, who: str, why: str) -> None:
    """Rub a chalked lay out in favour of another."""
    for sheet in lay.sheets:
        let_go(lay, sheet.remnant)
    lay.state, lay.rubbed_out_at, lay.rubbed_out_by = LayState.RUBBED_OUT, workroom.now(), who
    lay.note = "\n".join(text for text in (lay.note, why) if text)
    session.flush()


def let_go(lay: LayRow, remnant: RemnantRow) -> None:
    """Put a remnant that the lay holds back into the bin, whole."""
    if remnant.held_by_id == lay.id:
        remnant.state, remnant.held_by_id = RemnantState.IN_BIN, None


def must_be_as_tried(sheet: LaySheetRow) -> None:
    """Raise ChangedSince unless a remnant is as it was when the lay was tried, whoever holds it."""
    tried_at = object_session_of(sheet).get_one(LayRow, sheet.lay_id).tried_at
    if what := what_became_of(sheet.remnant, sheet.revision, tried_at):
        since = f"{sheet.remnant.tag} {what}, since the lay was tried"
        raise ChangedSince(since, where=f"lay {sheet.lay_id}", next=TRY_AGAIN)


def what_is_left(remnant: Remnant, cut: Sequence[LaidPanel], rules: Settings) -> Leftovers:
    """A remnant taken apart by cutting panels from it: from all of it, also from what the margins keep panels off."""
    from nesting import holes_of, leftovers, ring_of

    shape = remnant.shape
    whole = Sheet(remnant.tag, ring_of(shape), holes_of(shape))
    return leftovers(whole, [panel.cut_line for panel in cut], narrowest=rules.narrowest, smallest_area=rules.smallest_keeper)


def in_order(case: Case, placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """Placements in the order in which they are numbered: sheet by sheet as in the case, along the grain, then across it."""
    sheets = {sheet.id: i for i, sheet in enumerate(case.sheets)}
    outlines = {panel.id: panel.outline for panel in case.panels}

    def place(placement: Placement) -> tuple[int, float, float]:
        x, y, _, _ = as_laid(outlines[placement.panel], placement).bounds
        return sheets[placement.sheet], round(x, 1), y

    try:
        return tuple(sorted(placements, key=place))
    except KeyError as name:
        raise Refused(
            f"the lay names {name}, which its case does not have", where="lay", expected="the case's own ids"
        ) from None


def _touched(case: Case, result: Result) -> Case:
    """The case with only the sheets that the lay uses: a bin of a thousand is not copied into every lay."""
    tags = {placement.sheet for placement in result.placements}
    panels = (replace(p, on=None if p.on is None else tuple(tag for tag in p.on if tag in tags)) for p in case.panels)
    return replace(case, sheets=tuple(sheet for sheet in case.sheets if sheet.id in tags), panels=tuple(panels))


def _put_down(session: Session, row: LayRow, asked: Asked, result: Result) -> None:
    """The rows of a lay's counts, sheets and panels."""
    tags = list(dict.fromkeys(placement.sheet for placement in result.placements))
    rows = session.execute(select(RemnantRow.tag, RemnantRow.id).where(RemnantRow.tag.in_(tags)))
    ids = {row.tag: row.id for row in rows}
    counts: dict[int, LayCountRow] = {}
    for meant in asked.panels.values():
        count = counts.setdefault(meant.job_piece_id, LayCountRow(job_piece_id=meant.job_piece_id, wanted=0, spares=0))
        count.wanted += meant.panels
        count.spares += meant.spares
    row.counts = list(counts.values())
    row.sheets = [LaySheetRow(remnant_id=ids[tag], position=i, revision=asked.revisions[tag]) for i, tag in enumerate(tags, 1)]
    row.panels = [
        LayPanelRow(
            number=number,
            remnant_id=ids[p.sheet],
            job_piece_id=asked.panels[p.panel].job_piece_id,
            panel=p.panel,
            hand=asked.panels[p.panel].hand,
            x=p.x,
            y=p.y,
            turn=p.turn,
            flipped=p.flipped,
            fate=Fate.PLANNED,
            part=asked.panels[p.panel].part,
            seam=None if (seam := asked.panels[p.panel].seam) is None else [list(end) for end in seam],
        )
        for number, p in enumerate(result.placements, 1)
    ]
    pair_up(row.panels)
    put_down(row, asked.stacks, ids, result.placements, asked.limits.slip)


def _must_be_free(session: Session, sheet: LaySheetRow) -> None:
    """Raise ChangedSince or Held unless a remnant is as it was and nobody holds it."""
    must_be_as_tried(sheet)
    row = sheet.remnant
    if row.state is RemnantState.HELD:
        holder = session.get_one(LayRow, row.held_by_id)
        raise Held(
            f"{row.tag} is held by lay {holder.id}, chalked by {holder.chalked_by}{_until(holder)}",
            where=f"lay {sheet.lay_id}",
            next=f"Ask {holder.chalked_by} to rub lay {holder.id} out, or {TRY_AGAIN[0].lower()}{TRY_AGAIN[1:]}",
        )


def _until(holder: LayRow) -> str:
    return f" until {holder.holds_until}" if holder.holds_until else ""
