"""In which order the remnants of a lay are cut, and what to measure on each before the first cut."""

from __future__ import annotations

from dataclasses import dataclass

from nesting import CuttingOrder, order_of_cutting, read_case

from .plans import LaidPanel, Lay, LaySheet, lay_of, must_be, row_of
from .words import Fate, LayState
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class SheetOrder:
    """The panels of one remnant in the order of cutting. `free_until`: up to so many of them, one that is spoiled can be
    made good from the rest of the remnant; after that there is no other way. `found`: as the engine gives it, with the
    narrowest places."""

    sheet: LaySheet
    panels: tuple[LaidPanel, ...]
    free_until: int
    found: CuttingOrder


def order(workroom: Workroom, number: int) -> tuple[Lay, tuple[SheetOrder, ...]]:
    """The order for each remnant of a tried or chalked lay. Raises WrongState for one that is cut or rubbed out; Unknown."""
    from nesting import solve

    with workroom.reading() as session:
        row = row_of(session, number)
        must_be(row, LayState.TRIED, LayState.CHALKED, to="cut")
        lay, case = lay_of(row), read_case(row.case, where=f"lay {number}")
    found = []
    for sheet in (sheet for sheet in lay.sheets if not sheet.dropped):
        panels = sorted((p for p in sheet.panels if p.fate is Fate.PLANNED), key=lambda panel: panel.number)
        if panels:
            one = order_of_cutting(case, [panel.placement for panel in panels], sheet.remnant.tag, solver=solve)
            found.append(SheetOrder(sheet, tuple(panels[n - 1] for n in one.order), one.free_until, one))
    return lay, tuple(found)
