"""A change by hand of a lay in stacks: what one tracing makes moves as one, on every ply as that lies.

A panel that is moved, turned or taken out takes along those that the same tracing makes in the other plies. One that is put on
a remnant out of the stack leaves them where they are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from nesting import Lie, Placement, Ply, Point, Ring, Sheet, shared

from .by_hand import lies_at
from .on_table import NoPlace, OnTable, Turn, turned
from .plies import ON_FOLD, CopyPlan, LaidPly, LaidStack, LaidTracing, PlyPlan, StackPlan

ON_THE_FOLD = 0.01
"""mm: a panel across a fold that is moved by less than this to one side of it stays on it."""


def tight(stacks: Sequence[LaidStack], sheets: Sequence[Sheet], slip: float) -> dict[str, Sheet]:
    """The cloth of each ply that cuts must keep to, by tag: slip taken off all round, and the fold one more edge to keep
    from, unless a panel lies across it."""
    by_tag = {sheet.id: sheet for sheet in sheets}
    found: dict[str, Sheet] = {}
    for stack in stacks:
        crossed = any(tracing.on_fold for tracing in stack.tracings)
        for ply in stack.plies:
            sheet = by_tag.get(ply.tag)
            if sheet is None or ply.tag in found:
                continue
            folds = () if ply.fold is None or crossed else (_along(sheet, ply.fold, slip),)
            back = shared((Ply(sheet),), slip, sheet.id)
            if back is not None:
                found[ply.tag] = replace(sheet, outline=back.outline, holes=(*back.holes, *folds), flaws=back.flaws)
    return found


def _along(sheet: Sheet, fold: float, slip: float) -> Ring:
    """What a fold takes up of a sheet, from end to end: as a tear, if plies cannot slip."""
    left, right = min(x for x, _ in sheet.outline), max(x for x, _ in sheet.outline)
    if not slip:
        return (left, fold), (right, fold)
    return (left, fold - slip), (right, fold - slip), (right, fold + slip), (left, fold + slip)


def companions(table: OnTable, number: int) -> tuple[int, ...]:
    """The panels that the same tracing makes in other plies and that are still there."""
    found = _of(table, number)
    return () if found is None else tuple(n for n in found[1].panels.values() if n != number and n in table.laid)


def taken_along(table: OnTable, moved: Mapping[int, Placement]) -> tuple[dict[int, Placement], dict[int, Point]]:
    """What is moved and what goes with it, and which way each is shifted for a shift of the first: 1 or −1 for x and for y.

    Raises NoPlace where one that lies across a fold is moved off it.
    """
    every, ways = dict(moved), dict.fromkeys(moved, (1.0, 1.0))
    for number, new in moved.items():
        old, found = table.laid.get(number), _of(table, number)
        if old is None or found is None or new.sheet != old.sheet:
            continue
        _must_stay_on_fold(table, number, new)
        lies = _lies(found[0], found[1])
        for other in companions(table, number):
            if other not in every:
                every[other] = _as_moved(table, number, new, other, lies)
                ways[other] = _signs(lies[number], lies[other])
    return every, ways


def plans(table: OnTable) -> tuple[StackPlan, ...]:
    """The stacks of the lay as it lies now."""
    return tuple(
        StackPlan(
            tuple(PlyPlan(ply.tag, ply.lie, ply.fold, ply.half) for ply in stack.plies),
            tuple(copies for tracing in stack.tracings if (copies := tuple(_copies(table, tracing)))),
        )
        for stack in table.stacks
    )


def _copies(table: OnTable, tracing: LaidTracing) -> list[CopyPlan]:
    return [
        CopyPlan(ply, table.laid[number])
        for ply, number in tracing.panels.items()
        if number in table.laid and table.laid[number].sheet == table.began[number].sheet
    ]


def _of(table: OnTable, number: int) -> tuple[LaidStack, LaidTracing] | None:
    """The stack and the tracing that a panel is of, unless it has left them."""
    if number not in table.began or table.laid.get(number, table.began[number]).sheet != table.began[number].sheet:
        return None
    found = ((stack, tracing) for stack in table.stacks for tracing in stack.tracings if number in tracing.panels.values())
    return next(found, None)


def _lies(stack: LaidStack, tracing: LaidTracing) -> dict[int, Lie]:
    """How the ply of each panel of a tracing lies."""
    plies: dict[int, LaidPly] = {ply.number: ply for ply in stack.plies}
    return {number: plies[ply].lie if ply in plies else Lie() for ply, number in tracing.panels.items()}


def _signs(one: Lie, other: Lie) -> Point:
    """What a shift of 1 along and across the one is on the other."""
    x, y = replace(other, x=0.0, y=0.0).apply(replace(one, x=0.0, y=0.0).apply((1.0, 1.0)))
    return x, y


def _as_moved(table: OnTable, number: int, new: Placement, other: int, lies: Mapping[int, Lie]) -> Placement:
    """A panel turned and shifted as another of its tracing is, seen through the stack."""
    old, mine = table.laid[number], table.laid[other]
    over = new.flipped != old.flipped
    by = (new.turn + old.turn if over else new.turn - old.turn) * (-1 if lies[number].flipped != lies[other].flipped else 1)
    there = turned(table, mine, Turn((), by=by, over=over)) if over or by % 360.0 else mine
    (ax, ay), (bx, by_) = _middle(table, old), _middle(table, new)
    sign_x, sign_y = _signs(lies[number], lies[other])
    return replace(there, x=there.x + sign_x * (bx - ax), y=there.y + sign_y * (by_ - ay))


def _middle(table: OnTable, placement: Placement) -> Point:
    left, low, right, high = table.shape(placement).bounds
    return (left + right) / 2, (low + high) / 2


def _must_stay_on_fold(table: OnTable, number: int, new: Placement) -> None:
    found = _of(table, number)
    if found is None or found[1].panels.get(ON_FOLD) != number:
        return
    old = table.laid[number]
    _, low = lies_at(table.panel(old), old, (0.0, 0.0))
    _, now = lies_at(table.panel(new), new, (0.0, 0.0))
    if abs(now - low) > ON_THE_FOLD or (new.turn, new.flipped) != (old.turn, old.flipped):
        raise NoPlace(
            f"panel {number} lies across the fold",
            where=old.sheet,
            expected="a move along the fold",
            next="Move it along the fold, or take it out",
        )
