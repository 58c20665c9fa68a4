"""What is chalked of a lay, as a part of a new case: its panels fixed where they lie, its remnants as they were tried.

Panels and sheets are taken over from the old case as they stand, so that what was legal there is legal again, whatever margins
or cloths have been changed since; only which flaw harms which panel is asked anew, for the panels that come in beside them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting import Case, Flaw, Panel, Placement, Point, Sheet

from .jobs import is_hidden
from .plies import StackPlan, plans_of
from .sheets import Offered, spared_by, spot_ring
from .tables import LayRow, RemnantRow
from .words import Fate, Hand


@dataclass(frozen=True, slots=True)
class Meant:
    """What a panel of the case is: a piece of the job, of one hand or of none; of its copies, how many are `wanted` (needed)
    and how many are `spares` (welcome). `fold`: where (y, mm) its middle line runs, of one whose pattern lies on the fold. Of
    a panel that is joined from two it is one `part` (1 or 2), and `seam` is where the two meet, in its own coordinates."""

    job_piece_id: int
    piece: str
    hand: Hand | None
    wanted: int
    spares: int
    fold: float | None = None
    part: int | None = None
    seam: tuple[Point, Point] | None = None

    @property
    def panels(self) -> int:
        """How many of those needed are whole panels: of two parts the first counts for both."""
        return 0 if self.part == 2 else self.wanted


@dataclass(frozen=True, slots=True)
class ChalkedPart:
    """The panels of a chalked lay that are still to be cut, and the sheets that they lie on; nothing where no lay is planned
    again. `hidden` and `meant` by panel id, `sheets` by tag. `stacks`: those that it is cut through."""

    lay: int | None = None
    panels: tuple[Panel, ...] = ()
    fixed: tuple[Placement, ...] = ()
    hidden: Mapping[str, bool] = field(default_factory=dict)
    meant: Mapping[str, Meant] = field(default_factory=dict)
    remnants: frozenset[int] = frozenset()
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    stacks: tuple[StackPlan, ...] = ()

    def beside(self, panel: Panel) -> Panel:
        """A panel that comes in: under another name where a chalked one has its name."""
        name = panel.id
        while name in self.meant:
            name = f"{name}, more"
        return replace(panel, id=name)

    def sheet_of(self, row: RemnantRow, offered: Sequence[Offered]) -> Sheet | None:
        """A remnant of the lay as the sheet that it was tried as; None for any other."""
        sheet = self.sheets.get(row.tag)
        if sheet is None:
            return None
        faults = {spot_ring(fault.shape): fault for fault in row.faults}
        flaws = (Flaw(flaw.ring, spared_by(faults[flaw.ring], offered)) for flaw in sheet.flaws)
        return replace(sheet, flaws=tuple(flaws))


def chalked_part(lay: LayRow) -> ChalkedPart:
    """What is still chalked of a lay."""
    from nesting import read_case

    case: Case = read_case(lay.case, where=f"lay {lay.id}")
    tags = {sheet.remnant_id: sheet.remnant.tag for sheet in lay.sheets}
    # A part without the other is no panel: it is let go, and the whole is asked for again.
    apart = {panel.joined for panel in lay.panels if panel.joined is not None and panel.fate is not Fate.PLANNED}
    laid = [
        panel for panel in lay.panels if panel.fate is Fate.PLANNED and (panel.joined is None or panel.joined not in apart)
    ]
    pieces = {count.job_piece_id: count.job_piece.piece for count in lay.counts}
    hidden = {count.job_piece_id: is_hidden(count.job_piece) for count in lay.counts}
    of_panel = {panel.panel: panel for panel in laid}
    copies = Counter(panel.panel for panel in laid)
    on = {name: tuple(sorted({tags[p.remnant_id] for p in laid if p.panel == name})) for name in copies}
    there = {tags[panel.remnant_id] for panel in laid}

    def meant(name: str) -> Meant:
        row = of_panel[name]
        seam = None if row.seam is None else _line(row.seam)
        return Meant(row.job_piece_id, pieces[row.job_piece_id].name, row.hand, copies[name], 0, part=row.part, seam=seam)

    return ChalkedPart(
        lay=lay.id,
        panels=tuple(replace(p, copies=copies[p.id], on=on[p.id]) for p in case.panels if p.id in copies),
        fixed=tuple(Placement(tags[p.remnant_id], p.panel, p.x, p.y, p.turn, p.flipped) for p in laid),
        hidden={name: hidden[of_panel[name].job_piece_id] for name in copies},
        meant={name: meant(name) for name in copies},
        remnants=frozenset(panel.remnant_id for panel in laid),
        sheets={sheet.id: sheet for sheet in case.sheets if sheet.id in there},
        stacks=plans_of(lay, laid),
    )


def _line(kept: Sequence[Sequence[float]]) -> tuple[Point, Point]:
    (ax, ay), (bx, by) = kept
    return ((ax, ay), (bx, by))
