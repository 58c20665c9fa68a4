"""The audit of the lays: what holds what, and whether each lay's panels lie as they may."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from nesting import Result, examine, read_case

from . import ply_proof
from .audit import RESTORE, Damage, Found
from .plans import Lay, is_dropped, lay_of
from .proving import numbered, on_real_cloth
from .tables import LayPanelRow, LayRow, RemnantRow
from .words import LayState, RemnantState

if TYPE_CHECKING:
    from nesting import Examination

NAMED = 3


def holding(session: Session) -> Iterator[Found]:
    """What is held is held by a chalked lay that has it; what a chalked lay has, it holds."""
    lays = {lay.id: lay for lay in session.scalars(select(LayRow))}
    held = select(RemnantRow).where(RemnantRow.state == RemnantState.HELD).order_by(RemnantRow.id)
    for row in session.scalars(held):
        lay = lays.get(row.held_by_id or 0)
        on_it = lay is not None and any(sheet.remnant_id == row.id for sheet in lay.sheets)
        if lay is None or lay.state is not LayState.CHALKED or not on_it:
            what = "there is no such lay" if lay is None else f"lay {lay.id} is {lay.state}"
            what = f"{what} and does not have it" if lay is not None and not on_it else what
            yield Found(
                Damage.HELD,
                f"remnant {row.tag}",
                f"lay {row.held_by_id} is said to hold it, but {what}",
                f"Free it: fent bin not-there {row.tag}, then fent bin found-again {row.tag}",
            )
    for lay in lays.values():
        if lay.state is LayState.CHALKED:
            for sheet in lay.sheets:
                if sheet.remnant.held_by_id != lay.id and not is_dropped(lay, sheet):
                    yield Found(
                        Damage.NOT_HELD,
                        f"lay {lay.id}",
                        f"it is chalked on {sheet.remnant.tag}, which is {sheet.remnant.state}",
                        f"Rub it out (fent lay rub-out {lay.id}) and try the job again",
                    )


def placements(session: Session) -> Iterator[Found]:
    """Each lay's panels lie as its case allows; and on the cloth itself, as far as that is as it was."""
    for row in session.scalars(select(LayRow).order_by(LayRow.id)):
        place = f"lay {row.id}"
        way_out = RESTORE if row.state is LayState.CUT else f"Rub it out (fent lay rub-out {row.id}) and try the job again"
        try:
            lay, case = lay_of(row), read_case(row.case, where=place)
        except (ValueError, KeyError) as fault:
            yield Found(Damage.LAY, place, f"what it was tried on cannot be read: {fault}", way_out)
            continue
        result = Result(placements=lay.result.placements, placed=len(lay.result.placements), complete=False)
        tags = {sheet.remnant.tag for sheet in lay.sheets}
        if {sheet.id for sheet in case.sheets} != tags:
            yield Found(Damage.LAY, place, "what it was tried on has other remnants than it has", way_out)
            continue
        as_they_were = {
            s.remnant.tag for s, kept in zip(lay.sheets, row.sheets, strict=True) if s.remnant.revision == kept.revision
        }
        faults = _told(examine(case, result), lay) | set(ply_proof.faults(lay, case))
        if all(sheet.remnant.outline.is_valid for sheet in lay.sheets):  # what is not is told where outlines are looked at
            faults |= _told(examine(on_real_cloth(case, lay), result), lay, as_they_were)
        if faults:
            named = "; ".join(sorted(faults)[:NAMED]) + ("; …" if len(faults) > NAMED else "")
            yield Found(Damage.LAY, place, named, way_out)


def parts(session: Session) -> Iterator[Found]:
    """Each part of a panel that is joined from two has its other part in the same lay, of the same piece, hand and seam."""
    rows = session.scalars(select(LayPanelRow).where(LayPanelRow.part.is_not(None)).order_by(LayPanelRow.id)).all()
    for row in rows:
        mates = [r for r in rows if (r.lay_id, r.joined) == (row.lay_id, row.joined) and r is not row]
        fits = len(mates) == 1 and {row.part, mates[0].part} == {1, 2} and row.joined is not None
        if not fits or (mates[0].job_piece_id, mates[0].hand, mates[0].seam) != (row.job_piece_id, row.hand, row.seam):
            what = f"panel {row.number} is one part of a panel that is joined from two, and the other is not there"
            yield Found(Damage.LAY, f"lay {row.lay_id}", what, RESTORE)


def _told(found: Examination, lay: Lay, only: set[str] | None = None) -> set[str]:
    """The faults of panels, by their numbers in the lay; on some remnants only, if asked."""
    return {
        f"{fault.sheet}: panel {', '.join(map(str, fault.panels))}: {fault.what}"
        for fault in numbered(found, lay).faults
        if fault.sheet is not None and (only is None or fault.sheet in only)
    }


CHECKS = (holding, placements, parts)
