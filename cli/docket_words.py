"""What a docket tells in words: whose it is, how it lies, what to measure, in which order to cut, what to do about a stack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from . import chalk_table, plying
from .docket import faults_of
from .saying import in_a_row, many, runs

if TYPE_CHECKING:
    from stash.dockets import DocketPanel, SheetDocket
    from stash.lays import Lay
    from stash.ordering import SheetOrder
    from stash.patterns import Piece
    from stash.plies import LaidStack, LaidTracing

    from .shown import Shown


def state_of(lay: Lay) -> str:
    """Whether its remnants are held, by whom and until when."""
    if lay.state == "chalked":
        until = f" until {lay.holds_until}" if lay.holds_until else ""
        return f"chalked by {lay.chalked_by}{until}"
    return f"tried {lay.tried_at:%Y-%m-%d}: nothing is held for it until it is chalked"


def about(docket: SheetDocket, shown: Shown) -> Iterator[str]:
    """What a remnant is and where it is kept; of a stack, its plies."""
    remnant = docket.sheet.remnant
    if docket.stack:
        yield ", ".join(f"ply {ply.number}: {ply.tag}, {plying.how_it_lies(ply)}" for ply in docket.stack.plies)
        return
    yield f"kept: {remnant.place}" if remnant.place else "where it is kept is not known"
    yield remnant.cloth.name
    yield remnant.cloth.made_of
    yield shown.cloth_weight(remnant.cloth.weight)
    if remnant.cloth.lot:
        yield f"lot {remnant.cloth.lot}"
    yield shown.size(remnant.length, remnant.width) + (", rough" if remnant.rough else "")
    yield f"washed: {remnant.washed}" if remnant.washed else "not washed"


def how_it_lies(docket: SheetDocket) -> str:
    """Which side is up, where the nap runs, and how many panels come of it."""
    remnant = docket.sheet.remnant
    if docket.stack:
        up = "wrong side up" if docket.stack.plies[0].lie.flipped else "right side up"
        made = sum(len(tracing.panels) for tracing in docket.stack.tracings)
        tracings = many(len(docket.stack.tracings), "tracing")
        return f"{remnant.tag} on top, {up}, the grain from left to right. {tracings} for {many(made, 'panel')}."
    up = "WRONG SIDE UP" if docket.wrong_side else "right side up"
    said = [f"Drawn {up}, the grain from left to right"]
    if remnant.one_way:
        said.append("the nap runs from left to right")
    elif remnant.cloth.faces_alike:
        said.append("both faces are alike")
    return f"{', '.join(said)}. {many(len(docket.panels), 'panel')}; {docket.used:.0%} of the cloth becomes panels."


def instructions(docket: SheetDocket, lay: Lay, shown: Shown, tape: float) -> Iterator[tuple[str, str]]:
    """What to do, from the first measure to the last keeper: a word or two, and what they say. `tape`: what a reading may be
    out by, mm."""
    remnant = docket.sheet.remnant
    if docket.sheet.changed:
        yield "Stop:", "this remnant is no longer as it was when the lay was tried. Try the job again."
    proofs = ", ".join(f"{proof.start.letter} to {proof.end.letter} {shown.length(proof.distance)}" for proof in docket.proofs)
    slack = max(remnant.within or 0.0, lay.edge, 1.0)
    yield (
        "Measure first:",
        f"{proofs}. If either is out by more than {shown.fine(slack)}, measure it again all round before you cut.",
    )
    if docket.stack is not None:
        yield from _of_stack(docket, docket.stack, lay, shown)
    elif docket.in_stack is not None:
        yield (
            "Cut:",
            f"in stack {docket.in_stack}, by the page of that stack; this page shows which panel is which, and what is left.",
        )
    elif docket.order is not None:
        order = in_runs([panel.number for panel in docket.order.panels])
        yield "Cut in this order:", f"{order}. {no_other_way(docket.order)}"
    if docket.hand is not None:
        yield "Prove the hand:", plying.hand_said(docket.hand, shown)
    if docket.stack is not None:
        pass  # what is left is told of each of its remnants
    elif docket.keepers:
        kept = ", ".join(f"{keeper.tag} ({shown.area(keeper.shape.area)})" for keeper in docket.keepers)
        yield (
            "Keepers:",
            f"{kept}: chalk the tag on each and put it back. The rest is for the rag bag, {shown.area(docket.rag.area)}.",
        )
    else:
        yield "Keepers:", f"none; what is left is for the rag bag, {shown.area(docket.rag.area)}."
    worst = max((each.measure.within(tape + float(shown.step) / 2) for each in docket.panels), default=0.0)
    if docket.in_stack is None and len(docket.panels) > 1 and worst > lay.gap / 2:
        yield (
            "Chalk all before you cut:",
            f"panels lie {shown.fine(lay.gap)} apart, less than two tapes may differ. Lay every template, and shift it a "
            "little until none overlaps.",
        )


def in_runs(numbers: Sequence[int]) -> str:
    """Numbers in their order, three or more that follow each other as the first and the last.

    >>> in_runs([3, 4, 5, 9, 1, 2])
    '3–5, 9, 1, 2'
    """
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in in_a_row(numbers))


def _of_stack(docket: SheetDocket, stack: LaidStack, lay: Lay, shown: Shown) -> Iterator[tuple[str, str]]:
    """How the plies are laid on one another, what is amiss on those that are not seen, and what each tracing makes."""
    top = docket.sheet.remnant.outline
    laid = [
        f"{ply.tag} {plying.where_it_lies(rim, top, shown)}"
        for ply, rim in zip(stack.plies[1:], docket.under, strict=True)
        if plying.is_laid(stack, ply)
    ]
    for ply in stack.plies:
        if folded := plying.where_folded(lay, ply, shown):
            yield "Fold:", f"{ply.tag}, {folded}, on the grain."
    if laid:
        yield (
            "Lay the plies:",
            f"against the top one, {'; '.join(laid)}. A ply may slip {shown.fine(lay.slip or 0.0)}, no more.",
        )
    if docket.below:
        below = ", ".join(
            f"{', '.join(faults_of([each.fault for each in docket.below if each.ply == ply]))} in {tag} (ply {ply})"
            for ply, tag in dict.fromkeys((each.ply, each.tag) for each in docket.below)
        )
        yield "Under the top ply:", f"{below}; drawn with broken lines. Look at each ply before the next is laid on it."
    made = "; ".join(
        f"{tracing.number} makes {runs(list(tracing.panels.values()))}{plying.HALF if tracing.on_fold else ''}"
        f"{_some_plies(tracing, stack)}"
        for tracing in stack.tracings
    )
    yield "Tracings:", f"{made}."


def _some_plies(tracing: LaidTracing, stack: LaidStack) -> str:
    through = [ply for ply in tracing.panels if ply]
    return f" (ply {runs(through)} only)" if not tracing.on_fold and len(through) < len(stack.plies) else ""


def no_other_way(order: SheetOrder) -> str:
    """Up to where a spoiled panel can be made good."""
    panels, free = order.panels, order.free_until
    if free >= len(panels):
        return "One that is spoiled can be made good from the rest, up to the last."
    if free == 0:
        return "A spoiled panel cannot be made good from the rest, from the first cut on."
    return f"After {panels[free - 1].number} a spoiled panel cannot be made good from the rest."


def of_piece(piece: Piece, panels: Sequence[DocketPanel], called: str, shown: Shown) -> Iterator[str]:
    """A piece's size and allowances, and which panels are of it. `called`: a panel, or a tracing."""
    left, low, right, high = piece.cut_line.bounds
    yield f"{shown.size(right - left, high - low)} when cut, {'one way' if piece.one_way else 'either way'}"
    widths = {edge.allowance for edge in piece.edges}
    if len(widths) == 1:
        yield f"allowance {shown.fine(widths.pop())} all round"
    else:
        yield "allowances: " + ", ".join(f"{edge.name} {shown.fine(edge.allowance)}" for edge in piece.edges)
    hands: dict[str, list[int]] = {}
    for each in panels:
        hands.setdefault(str(each.panel.hand or ""), []).append(each.panel.number)
    for hand, numbers in hands.items():
        yield f"{hand or called + 's' * (len(numbers) > 1)} {runs(numbers)}"
    if over := [each.panel.number for each in panels if chalk_table.is_over(each)]:
        yield f"Turn the template over, across the grain, for {runs(over)}."


def of_part(panels: Sequence[DocketPanel], lay: Lay, shown: Shown) -> Iterator[str]:
    """Of parts of panels that are joined from two: to which each is sewn, and how its template is had."""
    for each in panels:
        mine = each.panel
        other = next((p for p in lay.panels if p.joined == mine.joined and p.number != mine.number), None)
        if other is None or mine.seam is None:
            continue
        beyond = mine.cut_line.exterior.distance(mine.seam.interpolate(0.5, normalized=True))
        sewn = f"{mine.number} is sewn to {other.number}, on {other.placement.sheet}"
        yield f"{sewn}: a seam of {shown.length(mine.seam.length)}, {shown.fine(round(beyond, 1))} beyond it"
    yield "Fold the piece's template so far beyond its seam, or cut by the drawing."
