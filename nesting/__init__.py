"""Outlines in, a lay out: pure geometry and search, with no workroom, no database and no screen."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from .forms import Case, Flaw, Panel, Placement, Point, Result, Ring, Sheet, Strip

if TYPE_CHECKING:
    from .binding import Strips, clear_cloth, strips
    from .clearances import LayFault, Nearest, SheetExamined, lay_out, sheet_cost
    from .closing import Closing, smallest_rectangle
    from .cutting_order import CuttingOrder, order_of_cutting
    from .documents import CaseFault
    from .examination import Examination, examine, lie_tolerance
    from .hands import Hands, NoCluster, many_hands
    from .nearest import nearest_shift
    from .outlines import OutlineFault, Reason, holes_of, mend_ring, mend_tear, ring_of
    from .reading import UnknownField, case_to_json, read_case, read_result, result_to_json
    from .rectangle import Rectangle, largest_rectangle
    from .remainder import Leftovers, leftovers
    from .shortfall import Cause, Shortfall, area_of, too_little, why_short
    from .solving import solve
    from .warming import kernels_are_kept

# What is loaded when it is first asked for, and from where: shapely alone takes longer to load than most commands to run.
_WHERE = {
    "CaseFault": "documents",
    "Cause": "shortfall",
    "Closing": "closing",
    "CuttingOrder": "cutting_order",
    "Examination": "examination",
    "Hands": "hands",
    "LayFault": "clearances",
    "Leftovers": "remainder",
    "Nearest": "clearances",
    "NoCluster": "hands",
    "OutlineFault": "outlines",
    "Reason": "outlines",
    "Rectangle": "rectangle",
    "SheetExamined": "clearances",
    "Shortfall": "shortfall",
    "Strips": "binding",
    "UnknownField": "reading",
    "area_of": "shortfall",
    "case_to_json": "reading",
    "clear_cloth": "binding",
    "examine": "examination",
    "holes_of": "outlines",
    "kernels_are_kept": "warming",
    "largest_rectangle": "rectangle",
    "lay_out": "clearances",
    "leftovers": "remainder",
    "lie_tolerance": "examination",
    "many_hands": "hands",
    "mend_ring": "outlines",
    "mend_tear": "outlines",
    "nearest_shift": "nearest",
    "order_of_cutting": "cutting_order",
    "read_case": "reading",
    "read_result": "reading",
    "result_to_json": "reading",
    "ring_of": "outlines",
    "sheet_cost": "clearances",
    "smallest_rectangle": "closing",
    "solve": "solving",
    "strips": "binding",
    "too_little": "shortfall",
    "why_short": "shortfall",
}

__all__ = [
    "Case",
    "CaseFault",
    "Cause",
    "Closing",
    "CuttingOrder",
    "Examination",
    "Flaw",
    "Hands",
    "LayFault",
    "Leftovers",
    "Nearest",
    "NoCluster",
    "OutlineFault",
    "Panel",
    "Placement",
    "Point",
    "Reason",
    "Rectangle",
    "Result",
    "Ring",
    "Sheet",
    "SheetExamined",
    "Shortfall",
    "Strip",
    "Strips",
    "UnknownField",
    "area_of",
    "case_to_json",
    "clear_cloth",
    "examine",
    "holes_of",
    "kernels_are_kept",
    "largest_rectangle",
    "lay_out",
    "leftovers",
    "lie_tolerance",
    "many_hands",
    "mend_ring",
    "mend_tear",
    "nearest_shift",
    "order_of_cutting",
    "read_case",
    "read_result",
    "result_to_json",
    "ring_of",
    "sheet_cost",
    "smallest_rectangle",
    "solve",
    "strips",
    "too_little",
    "why_short",
]


def __getattr__(name: str) -> object:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(f".{_WHERE[name]}", __name__), name)
    globals()[name] = found  # asked once
    return found


def __dir__() -> list[str]:
    return __all__
