"""What a lay will leave: keepers and rag have outlines, and are with the panels all of the remnant."""

from __future__ import annotations

import pytest
from shapely.ops import unary_union

from stash import Workroom, lays

from .scenes import chalked, cuffs, linen, scrap


def test_panels_keepers_and_rag_are_the_whole_remnant(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    cuffs(workroom)
    lay = chalked(workroom)
    (left,) = lays.foresee(workroom, lay)
    (sheet,) = lay.sheets
    panels = unary_union([panel.cut_line for panel in sheet.panels])
    assert left.rag.area > 0
    assert left.rag_area == left.rag.area
    assert left.rag.intersection(panels).area == pytest.approx(0, abs=1)
    assert unary_union([panels, *left.keepers, left.rag]).symmetric_difference(sheet.remnant.outline).area < 1
