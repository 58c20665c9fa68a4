"""Stacks in words: as they are asked for, how their plies lie, what is cut through which, and which ply is too small."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from . import reading
from .saying import Voice, many, runs

if TYPE_CHECKING:
    from shapely import Polygon

    from stash import Workroom
    from stash.hand_proof import HandProof
    from stash.lays import Lay
    from stash.plies import LaidPly, LaidStack, NotThrough
    from stash.ply_proof import PlyEdge
    from stash.seeking import Found
    from stash.terms import InStack

    from .shown import Shown

EXPECTED = (
    "tags with commas between, the top one first: N-02, N-03; one that is folded on the grain: N-02 folded, or N-02 folded at "
    "14cm from its near edge"
)
PLY = re.compile(r"(\S+(?: \S+)*?)(?:\s+(folded)(?:\s+at\s+(.+))?)?", re.IGNORECASE)
MISSPELT = re.compile(r"\sfold", re.IGNORECASE)
"""In what would be a tag: a fold that is not said as it is expected."""
CAUTION = (
    "Cut no more plies at once than your blade is made for, weighted or pinned so that none slips; keep the other hand off "
    "the line, and where the place has rules for cutting through many layers, they come first."
)
HALF = ", half of it, its middle on the fold"
FLUSH = 0.05
"""mm: edges that lie no farther apart are flush."""


def stack(text: str, where: str = "--stack") -> tuple[InStack, ...]:
    """What one `--stack` says. Raises Unreadable."""
    from stash.terms import InStack

    found = []
    for part in text.split(","):
        ply = PLY.fullmatch(part.strip())
        if ply is None or MISSPELT.search(ply[1]):
            raise reading.Unreadable(f"{text!r} cannot be read", EXPECTED, where)
        tag, folded, at = ply.groups()
        fold = reading.of_option(reading.a_length, at, where) if at else None
        found.append(InStack(tag, folded is not None, fold))
    return tuple(found)


def tell(voice: Voice, lay: Lay, refused: Sequence[NotThrough] = ()) -> None:
    """The stacks of a lay: how each ply lies, what is cut through it, and how near that comes to its edge."""
    from stash.ply_proof import edges_of

    if not lay.stacks:
        return
    edges = {(edge.stack, edge.ply): edge for edge in edges_of(lay)}
    for one in lay.stacks:
        voice.line()
        voice.line(_headline(lay, one))
        if len(cloths := {_cloth(lay, ply.tag) for ply in one.plies}) > 1:
            voice.line(f"Mind: {' and '.join(sorted(cloths))} slip and stretch differently: pin them well, and cut one first.")
        for text in (_not_through(each, voice.shown) for each in refused if each.stack == one.number):
            voice.line(text)
        voice.line()
        voice.table(
            ["ply", "remnant", "lies", "laid", "tracings", "nearest to its own edge"],
            [_row(lay, one, ply, edges.get((one.number, ply.number)), voice.shown) for ply in one.plies],
            right=[0],
        )
        for text in _made(one):
            voice.line(text)
    voice.line()
    voice.line(CAUTION)


def tell_not_done(voice: Voice, found: Found) -> None:
    """What was asked of stacks and is not so, and why."""
    if found.idle:
        voice.line()
        voice.line(
            f"Left out of its stack: {', '.join(found.idle)}. No panel that is still needed could be cut there together with "
            "the other plies."
        )
    for piece in found.cut_whole:
        voice.line()
        voice.line(
            f"{piece} is drawn on the fold, and not every one of it is cut on one. That is done only along the grain, on one "
            "remnant that is folded by itself, wherever its two halves hold it: the rest is cut whole, from a single layer or "
            "beside the fold."
        )


def tell_nap(voice: Voice, lay: Lay) -> None:
    """Which way the nap runs on the remnants that have one."""
    tags = [sheet.remnant.tag for sheet in lay.sheets if sheet.remnant.one_way]
    if tags:
        voice.line()
        said = "it runs with the grain, from left to right as drawn, and no panel is turned head to foot"
        voice.line(f"Nap or print on {', '.join(tags)}: {said}.")


def hand_proof_of(opened: Workroom, lay: Lay, tag: str | None = None) -> HandProof | None:
    """The measure that proves the hand of a lay, or of one of its remnants."""
    from stash import jobs
    from stash.hand_proof import hand_proof

    one_way = {each.piece.name for each in jobs.get(opened, lay.job).pieces if each.piece.one_way}
    return hand_proof(lay, one_way, tag)


def tell_hand(voice: Voice, proof: HandProof | None) -> None:
    """The proving measure, where there is one."""
    if proof is not None:
        voice.line()
        voice.line(hand_said(proof, voice.shown))


def hand_said(proof: HandProof, shown: Shown) -> str:
    """Which panel is measured from where to where, and what it is if it is right and if it is wrong."""
    hand, measure = f" ({proof.hand})" if proof.hand else "", proof.measure
    return (
        "Proving measure, right side up, the grain from left to right: "
        f"panel {proof.panel} on {proof.tag}, {proof.piece}{hand}, from its {measure.first} to its {measure.second} corner: "
        f"{_by_tape(measure.length, shown)}. Of the other hand it would be {_by_tape(measure.other, shown)}."
    )


def _by_tape(mm: float, shown: Shown) -> str:
    """To a tenth of a millimetre or, since no tape has 64ths, to a sixteenth of an inch."""
    sixteenth = 25.4 / 16
    return shown.fine(round(mm / sixteenth) * sixteenth if shown.in_inches else round(mm, 1))


def _headline(lay: Lay, one: LaidStack) -> str:
    made = sum(len(tracing.panels) for tracing in one.tracings)
    top = one.plies[0]
    lies = " (chalk on its wrong side)" if top.lie.flipped else ""
    return (
        f"Stack {one.number}: {_plies(len(one.plies))}, {top.tag} on top{lies}; "
        f"{many(len(one.tracings), 'tracing')} make{'s' if len(one.tracings) == 1 else ''} {many(made, 'panel')}."
    )


def _plies(count: int) -> str:
    return "1 ply" if count == 1 else f"{count} plies"


def _cloth(lay: Lay, tag: str) -> str:
    return next(sheet.remnant.cloth.name for sheet in lay.sheets if sheet.remnant.tag == tag)


def is_laid(one: LaidStack, ply: LaidPly) -> bool:
    """Whether someone lays it down under the top ply; the far half of a fold comes where the near one is."""
    return ply is not one.plies[0] and str(ply.half) != "far"


def _row(lay: Lay, one: LaidStack, ply: LaidPly, edge: PlyEdge | None, shown: Shown) -> list[str]:
    from stash.dockets import rim_in_stack

    laid = where_it_lies(rim_in_stack(lay, ply), rim_in_stack(lay, one.plies[0]), shown) if is_laid(one, ply) else ""
    through = [tracing.number for tracing in one.tracings if {ply.number, 0} & set(tracing.panels)]
    return [
        str(ply.number),
        ply.tag,
        how_it_lies(ply),
        "; ".join(filter(None, (where_folded(lay, ply, shown), laid))),
        runs(through) if through else "none",
        "" if edge is None else _edge(edge, shown),
    ]


def _edge(edge: PlyEdge, shown: Shown) -> str:
    return (
        f"{shown.fine(round(edge.distance, 1))}: tracing {edge.tracing}, {shown.length(edge.left)} from its left, "
        f"{shown.length(edge.near)} from its near edge"
    )


def how_it_lies(ply: LaidPly) -> str:
    """How a ply lies against the way it is drawn."""
    if ply.fold is not None:
        return "its far half, folded under" if str(ply.half) == "far" else "its near half"
    said = [word for word, so in (("turned over", ply.lie.flipped), ("end for end", ply.lie.turn == 180)) if so]
    return ", ".join(said) or "right side up"


def where_folded(lay: Lay, ply: LaidPly, shown: Shown) -> str:
    """Where the near half of a folded remnant is folded; "" of any other ply."""
    if ply.fold is None or str(ply.half) != "near":
        return ""
    low = next(sheet.remnant.outline.bounds[1] for sheet in lay.sheets if sheet.remnant.tag == ply.tag)
    out = "wrong" if ply.lie.flipped else "right"
    return f"folded {shown.fine(round(ply.fold - low, 1))} from its near edge, {out} side out"


def where_it_lies(ply: Polygon, top: Polygon, shown: Shown) -> str:
    """Where a ply is laid, against the edges of the top one: flush with them, or so far in or out."""
    a, b, c, d = (float(p - t) for p, t in zip(ply.bounds, top.bounds, strict=True))
    return f"{_side(a, c, ('left', 'right'), shown)}, {_side(b, d, ('near edge', 'far edge'), shown)}"


def _side(low: float, high: float, names: tuple[str, str], shown: Shown) -> str:
    if abs(low) <= FLUSH:
        return f"{names[0]} flush"
    if abs(high) <= FLUSH:
        return f"{names[1]} flush"
    return f"{names[0]} {shown.fine(round(abs(low), 1))} {'in' if low > 0 else 'out'}"


def _not_through(one: NotThrough, shown: Shown) -> str:
    """Why not every tracing goes through every ply, and where."""
    said = (
        f"Not every tracing goes through every ply: so, {one.through_all or 'none'} of the {many(one.wanted, 'panel')} "
        f"{'was' if one.through_all == 1 else 'were'} found; like this it is {one.copies}."
    )
    return " ".join([said, *_lacks(one, shown)])


def _lacks(one: NotThrough, shown: Shown) -> Iterator[str]:
    for lack in one.lacks:
        yield (
            f"{lack.tag} (ply {lack.ply}) is {shown.fine(round(lack.by, 1))} too small for tracing {lack.tracing}, at "
            f"{shown.length(lack.left)} from its left and {shown.length(lack.near)} from its near edge: leave it out there."
        )
        wants = [(lack.narrower, "narrower"), (lack.shorter, "shorter")]
        said = " and ".join(f"{shown.fine(round(by, 1))} {word}" for by, word in wants if by > FLUSH)
        if said:
            yield f"It is {said} than the cloth that the plies share which hold it."


def _made(one: LaidStack) -> Iterator[str]:
    """Which panels each tracing makes, where that is not one and the same in each."""
    for tracing in one.tracings:
        hand = f" ({tracing.hand})" if tracing.hand else ""
        fold = HALF if tracing.on_fold else ""
        plies = [ply for ply in tracing.panels if ply]
        in_some = len(plies) < len(one.plies) and not tracing.on_fold
        partly = f", through {'ply' if len(plies) == 1 else 'plies'} {runs(plies)} only" if in_some else ""
        numbers = list(tracing.panels.values())
        panels = f"panel{'s' if len(numbers) > 1 else ''} {runs(numbers)}"
        yield f"Tracing {tracing.number}: {tracing.piece}{hand}{fold}{partly}; {panels}."
