"""Pieces whose pattern is half of them, laid with its middle on the fold of a remnant: whole panels that lie across it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from nesting import Case, Panel, Placement, Result, Sheet

from .tables import PieceRow
from .words import Grain, Hand

if TYPE_CHECKING:
    from nesting import Ply

    from .asking import Asked

LEVEL = 0.01
"""mm: a fold line whose ends differ by less across the grain runs along it."""


def fold_of(piece: PieceRow, hand: Hand | None) -> float | None:
    """Where (y, mm) the middle line of a piece runs whose pattern lies on the fold; None where it does not, or not along the
    grain, on which remnants are folded."""
    if not piece.fold or piece.grain is not Grain.WARP_WISE:
        return None
    (_, y), (_, other) = piece.fold
    if abs(y - other) > LEVEL:
        return None
    return -y if hand is Hand.RIGHT else y


def on_the_fold(
    whole: Sheet, near: Ply, far: Ply, panels: Sequence[Panel], asked: Asked, solver: Callable[..., Result]
) -> tuple[tuple[Placement, ...], tuple[Ply, Ply]]:
    """Where such pieces lie across the fold of a remnant, and its two plies less what they take.

    A panel lies across the fold if the middle line of its pattern does: that is asked of the engine as a stripe of one bar
    would be. Only cloth that both plies have is used, since one tracing cuts both.
    """
    from nesting import both_plies, without

    fold = near.fold
    assert fold is not None
    mine = [(panel, asked.panels[panel.id].fold) for panel in panels if panel.copies]
    anchored = [replace(panel, anchor=(0.0, at), on=None) for panel, at in mine if at is not None]
    common = both_plies(whole, fold, asked.limits.slip)
    if not anchored or common is None or any(whole.repeat):
        return (), (near, far)
    ys = [y for _, y in common.outline]
    sheet = common.for_panels({panel.id for panel in anchored})
    sheet = replace(sheet, repeat=(0.0, 4 * (max(ys) - min(ys))), repeat_at=(0.0, fold))
    found = solver(Case(tuple(anchored), (sheet,), gap=asked.case.gap, edge=asked.case.edge), seconds=1.0, seed=0)
    less = asked.case.gap - asked.case.edge
    left = tuple(without(ply, anchored, found.placements, less) for ply in (near, far))
    return found.placements, (left[0], left[1])
