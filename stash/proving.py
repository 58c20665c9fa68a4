"""Proving a lay: the independent check of `nesting.examine`, against the case as it was tried and the cloth as it is now."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from nesting import Case, Result, Sheet, ring_of

from . import ply_proof
from .plans import Lay, lay_of, row_of
from .remnants import Remnant
from .sheets import spot_ring
from .words import FaultKind
from .workroom import Workroom

if TYPE_CHECKING:
    from nesting import Examination, Nearest


def prove(workroom: Workroom, number: int) -> tuple[Lay, Examination]:
    """The lay and what the independent check says of it; changes nothing. Panels are named by their numbers in the lay.

    Its faults are those against the case as it was tried (margins of selvedges and raw edges kept) and those against the
    remnants as they are now; distances are to the remnants' own edges, holes and flaws. Each ply of a stack is looked at for
    itself, and what is wrong with how they lie on one another is told too (`ply_proof`).
    """
    from nesting import LayFault, examine, read_case

    with workroom.reading() as session:
        row = row_of(session, number)
        lay, case = lay_of(row), read_case(row.case, where=f"lay {number}")
    # What the engine claimed of the whole bin is not asked again of the sheets that the lay uses.
    wanted = sum(panel.copies for panel in case.panels)
    plain = Result(placements=lay.result.placements, placed=lay.result.placed, complete=lay.result.placed == wanted)
    as_tried, as_it_is = examine(case, plain), examine(on_real_cloth(case, lay), plain)
    # Either may find the same overlap: it is said once.
    faults = {str(fault): fault for fault in (*as_tried.faults, *as_it_is.faults)}
    faults |= {what: LayFault(what) for what in ply_proof.faults(lay, case)}
    return lay, numbered(replace(as_it_is, faults=tuple(faults.values())), lay)


def on_real_cloth(case: Case, lay: Lay) -> Case:
    """The case with each sheet as the remnant is in the stash: nothing trimmed, its own holes, its bars where they are."""
    remnants = {sheet.remnant.tag: sheet.remnant for sheet in lay.sheets}
    return replace(case, sheets=tuple(_untrimmed(sheet, remnants[sheet.id]) for sheet in case.sheets))


def _untrimmed(sheet: Sheet, remnant: Remnant) -> Sheet:
    holes = (fault.shape for fault in remnant.faults if fault.kind is FaultKind.HOLE)
    bars = (remnant.bar_x or 0.0, remnant.bar_y or 0.0) if any(sheet.repeat) else sheet.repeat_at
    return replace(sheet, outline=ring_of(remnant.outline), holes=tuple(spot_ring(hole) for hole in holes), repeat_at=bars)


def numbered(found: Examination, lay: Lay) -> Examination:
    """What was found, with the panels' numbers in the lay instead of those on each sheet."""
    numbers: dict[str | None, list[int]] = defaultdict(list)
    for panel in lay.panels:
        numbers[panel.placement.sheet].append(panel.number)

    def in_lay(sheet: str | None, number: int) -> int:
        return numbers[sheet][number - 1] if numbers[sheet] else number

    def nearest(sheet: str, near: Nearest | None) -> Nearest | None:
        if near is None:
            return None
        other = str(in_lay(sheet, int(near.other))) if near.other.isdigit() else near.other
        return replace(near, panel=in_lay(sheet, near.panel), other=other)

    return replace(
        found,
        faults=tuple(replace(f, panels=tuple(in_lay(f.sheet, number) for number in f.panels)) for f in found.faults),
        sheets=tuple(
            replace(
                one,
                gap=nearest(one.sheet, one.gap),
                edge=nearest(one.sheet, one.edge),
                hole=nearest(one.sheet, one.hole),
                flaw=nearest(one.sheet, one.flaw),
            )
            for one in found.sheets
        ),
    )
