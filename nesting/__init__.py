"""Outlines in, a lay out: pure geometry and search, with no workroom, no database and no screen."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from .forms import Case, Flaw, Panel, Placement, Point, Result, Ring, Sheet, Strip

if TYPE_CHECKING:
    from .binding import Strips, bias_strips, clear_cloth, joined_length, strips
    from .bounds import bound_copies
    from .chalk_measures import By, ChalkMeasure, Told, where_to_chalk
    from .clearances import LayFault, Nearest, SheetExamined, lay_out, moved, sheet_cost
    from .closing import Closing, smallest_rectangle
    from .cutting_order import CuttingOrder, order_of_cutting
    from .documents import CaseFault
    from .examination import Examination, examine, lie_tolerance
    from .handed import Mirror, ProvingMeasure, mirrors, proving_measure
    from .hands import Hands, NoCluster, many_hands
    from .lies import Lie
    from .marks import Mark, marks_of
    from .nearest import nearest_shift
    from .outlines import OutlineFault, Reason, holes_of, mend_ring, mend_tear, ring_of
    from .reading import UnknownField, case_to_json, read_case, read_result, result_to_json
    from .rectangle import Rectangle, largest_rectangle
    from .remainder import Leftovers, leftovers
    from .repeats import unmatched
    from .shortfall import Cause, Places, Shortfall, area_of, too_little, why_short
    from .solving import solve
    from .stack_forms import Copy, Layer, Stacked, TooSmall, Tracing, Wanted
    from .stacking import Ply, best_fold, both_plies, folded, from_ply, in_stack, on_ply, shared, without
    from .tracing import copy_on, fill_stack, ways_of
    from .turns import may_be_turned
    from .warming import kernels_are_kept

# What is loaded when it is first asked for, and from where: shapely alone takes longer to load than most commands to run.
_WHERE = {
    "By": "chalk_measures",
    "CaseFault": "documents",
    "Cause": "shortfall",
    "ChalkMeasure": "chalk_measures",
    "Closing": "closing",
    "Copy": "stack_forms",
    "CuttingOrder": "cutting_order",
    "Examination": "examination",
    "Hands": "hands",
    "LayFault": "clearances",
    "Layer": "stack_forms",
    "Leftovers": "remainder",
    "Lie": "lies",
    "Mark": "marks",
    "Mirror": "handed",
    "Nearest": "clearances",
    "NoCluster": "hands",
    "OutlineFault": "outlines",
    "Places": "shortfall",
    "Ply": "stacking",
    "ProvingMeasure": "handed",
    "Reason": "outlines",
    "Rectangle": "rectangle",
    "SheetExamined": "clearances",
    "Shortfall": "shortfall",
    "Stacked": "stack_forms",
    "Strips": "binding",
    "Told": "chalk_measures",
    "TooSmall": "stack_forms",
    "Tracing": "stack_forms",
    "UnknownField": "reading",
    "Wanted": "stack_forms",
    "area_of": "shortfall",
    "best_fold": "stacking",
    "both_plies": "stacking",
    "bound_copies": "bounds",
    "bias_strips": "binding",
    "case_to_json": "reading",
    "clear_cloth": "binding",
    "copy_on": "tracing",
    "examine": "examination",
    "fill_stack": "tracing",
    "folded": "stacking",
    "from_ply": "stacking",
    "holes_of": "outlines",
    "in_stack": "stacking",
    "joined_length": "binding",
    "kernels_are_kept": "warming",
    "largest_rectangle": "rectangle",
    "lay_out": "clearances",
    "leftovers": "remainder",
    "lie_tolerance": "examination",
    "many_hands": "hands",
    "marks_of": "marks",
    "may_be_turned": "turns",
    "mend_ring": "outlines",
    "mend_tear": "outlines",
    "mirrors": "handed",
    "moved": "clearances",
    "nearest_shift": "nearest",
    "on_ply": "stacking",
    "order_of_cutting": "cutting_order",
    "proving_measure": "handed",
    "read_case": "reading",
    "read_result": "reading",
    "result_to_json": "reading",
    "ring_of": "outlines",
    "shared": "stacking",
    "sheet_cost": "clearances",
    "smallest_rectangle": "closing",
    "solve": "solving",
    "strips": "binding",
    "too_little": "shortfall",
    "unmatched": "repeats",
    "ways_of": "tracing",
    "where_to_chalk": "chalk_measures",
    "why_short": "shortfall",
    "without": "stacking",
}

__all__ = [
    "By",
    "Case",
    "CaseFault",
    "Cause",
    "ChalkMeasure",
    "Closing",
    "Copy",
    "CuttingOrder",
    "Examination",
    "Flaw",
    "Hands",
    "LayFault",
    "Layer",
    "Leftovers",
    "Lie",
    "Mark",
    "Mirror",
    "Nearest",
    "NoCluster",
    "OutlineFault",
    "Panel",
    "Placement",
    "Places",
    "Ply",
    "Point",
    "ProvingMeasure",
    "Reason",
    "Rectangle",
    "Result",
    "Ring",
    "Sheet",
    "SheetExamined",
    "Shortfall",
    "Stacked",
    "Strip",
    "Strips",
    "Told",
    "TooSmall",
    "Tracing",
    "UnknownField",
    "Wanted",
    "area_of",
    "best_fold",
    "bias_strips",
    "both_plies",
    "bound_copies",
    "case_to_json",
    "clear_cloth",
    "copy_on",
    "examine",
    "fill_stack",
    "folded",
    "from_ply",
    "holes_of",
    "in_stack",
    "joined_length",
    "kernels_are_kept",
    "largest_rectangle",
    "lay_out",
    "leftovers",
    "lie_tolerance",
    "many_hands",
    "marks_of",
    "may_be_turned",
    "mend_ring",
    "mend_tear",
    "mirrors",
    "moved",
    "nearest_shift",
    "on_ply",
    "order_of_cutting",
    "proving_measure",
    "read_case",
    "read_result",
    "result_to_json",
    "ring_of",
    "shared",
    "sheet_cost",
    "smallest_rectangle",
    "solve",
    "strips",
    "too_little",
    "unmatched",
    "ways_of",
    "where_to_chalk",
    "why_short",
    "without",
]


def __getattr__(name: str) -> object:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(f".{_WHERE[name]}", __name__), name)
    globals()[name] = found  # asked once
    return found


def __dir__() -> list[str]:
    return __all__
