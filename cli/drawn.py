"""From what the stash gives to what a picture draws: which words stand over a remnant, which label stands in a panel."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from shapely.geometry import LineString, MultiPolygon, Polygon

from . import pictures
from .joining_up import pairs_in_words
from .plies_drawn import from_the_wrong_side, stacks_drawn
from .saying import many, runs
from .shown import Shown

if TYPE_CHECKING:
    from stash import Workroom
    from stash.lays import Foreseen, Lay, LaySheet
    from stash.patterns import Pattern
    from stash.remnants import Fault, Remnant

    from .contact_sheet import Item
    from .page import Page


def lay_page(workroom: Workroom, lay: Lay, foreseen: Sequence[Foreseen], shown: Shown, *, wrong_side: bool = False) -> Page:
    """A lay as it lies on its remnants, its stacks first; on their wrong side, as whoever chalks there sees it."""
    remnants = sheets_drawn(workroom, lay, foreseen, shown)
    if lay.stacks:
        remnants = [*stacks_drawn(lay, _one_way(workroom, lay)), *remnants]
    remnants = [from_the_wrong_side(one) for one in remnants] if wrong_side else remnants
    lines = [_counts(lay), *_which_numbers(lay)]
    number = f"Lay {lay.number}" if lay.number else "A lay that is not kept"
    return pictures.lay_picture(f"{number} for {lay.job} ({lay.state})", lines, remnants, shown)


def sheets_drawn(
    workroom: Workroom, lay: Lay, foreseen: Sequence[Foreseen], shown: Shown, before: str = ""
) -> list[pictures.RemnantDrawn]:
    """The remnants of a lay with its panels on them; `before` stands before each title."""
    one_way = _one_way(workroom, lay)
    left = {each.tag: each for each in foreseen}
    return [_sheet(sheet, left.get(sheet.remnant.tag), shown, one_way, before) for sheet in lay.sheets]


def _one_way(workroom: Workroom, lay: Lay) -> set[str]:
    """The pieces of a lay's job that lie one way."""
    from stash import jobs

    return {each.piece.name for each in jobs.get(workroom, lay.job).pieces if each.piece.one_way}


def bin_page(remnants: Sequence[Remnant], shown: Shown, title: str = "The bin") -> Page:
    """The bin, or some of it, as a contact sheet."""
    drawn = [
        pictures.RemnantDrawn(
            remnant.tag,
            _notes(remnant, shown),
            _outer(remnant.outline),
            faults_drawn(remnant.faults),
            bars=tuple(_bars(remnant)),
        )
        for remnant in remnants
    ]
    lines = [f"{many(len(remnants), 'remnant')}, right side up, the grain from left to right"]
    return pictures.contact_sheet(title, lines, drawn, shown)


def bin_items(workroom: Workroom, listed: Sequence[tuple[str, str]], shown: Shown) -> list[Item]:
    """Remnants (tag, and what is to be said of its state) for a contact sheet, each with its newest photograph that is
    there."""
    from pathlib import Path

    from stash import photographs, remnants

    from .contact_sheet import Item

    found = []
    for tag, state in listed:
        remnant = remnants.get(workroom, tag)
        files = [Path(each.file) for each in photographs.of(workroom, tag)]
        notes = (*_notes(remnant, shown), *([state] if state else []))
        drawn = pictures.RemnantDrawn(tag, notes, _outer(remnant.outline), faults_drawn(remnant.faults))
        found.append(Item(drawn, next((file for file in reversed(files) if file.is_file()), None)))
    return found


def pattern_page(pattern: Pattern, shown: Shown) -> Page:
    """The pieces of a pattern: cut line, sewing line, grain, notches, the fold and where a join is permitted."""
    from stash.piece_lines import notch_ticks

    drawn = []
    for piece in pattern.pieces:
        left, low, right, high = piece.cut_line.bounds
        on_it = [join.line for join in piece.joins] + ([piece.fold] if piece.fold else [])
        panel = pictures.PanelDrawn(
            piece.name,
            piece.cut_line,
            piece.sewing_line,
            0.0,
            not piece.one_way,
            notches=tuple(notch_ticks(piece)),
            lines=tuple(on_it),
        )
        notes = [f"{shown.size(right - left, high - low)} when cut"]
        notes += [f"cut {piece.count}"] if piece.count > 1 else []
        notes += ["left and right"] if piece.left_and_right else []
        notes += ["drawn half, on the fold"] if piece.fold else []
        drawn.append(pictures.RemnantDrawn(piece.name, tuple(notes), piece.cut_line, panels=(panel,)))
    return pictures.lay_picture(pattern.name, [many(len(pattern.pieces), "piece")], drawn, shown)


def _sheet(sheet: LaySheet, left: Foreseen | None, shown: Shown, one_way: set[str], before: str = "") -> pictures.RemnantDrawn:
    remnant = sheet.remnant
    panels = tuple(
        pictures.PanelDrawn(
            str(panel.number),
            panel.cut_line,
            panel.sewing_line,
            panel.placement.turn,
            panel.piece not in one_way,
            lines=() if panel.seam is None else (_ends(panel.seam),),
        )
        for panel in sheet.panels
    )
    keepers = tuple(pictures.KeeperDrawn("keeper", keeper) for keeper in left.keepers) if left else ()
    return pictures.RemnantDrawn(
        f"{before}{remnant.tag}: {many(len(panels), 'panel')}",
        _notes(remnant, shown),
        _outer(remnant.outline),
        faults_drawn(remnant.faults),
        panels,
        keepers,
        _rag(left),
        nap=remnant.one_way,
        bars=tuple(_bars(remnant)),
    )


def _bars(remnant: Remnant) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """The bars of its stripe or check as far as they lie on it; none where they were not measured."""
    low_x, low_y, high_x, high_y = remnant.outline.bounds
    ways = ((remnant.bar_x, remnant.repeat_along, low_x, high_x), (remnant.bar_y, remnant.repeat_across, low_y, high_y))
    for upright, (bar, step, low, high) in zip((True, False), ways, strict=True):
        if bar is None or not step:
            continue
        for k in range(math.ceil((low - bar) / step), math.floor((high - bar) / step) + 1):
            at = bar + k * step
            line = LineString([(at, low_y), (at, high_y)] if upright else [(low_x, at), (high_x, at)])
            on_it = line.intersection(remnant.outline)
            for part in getattr(on_it, "geoms", [on_it]):
                if isinstance(part, LineString) and part.length:
                    yield _ends(part)


def _ends(seam: LineString) -> tuple[tuple[float, float], tuple[float, float]]:
    (ax, ay), (bx, by) = seam.coords
    return (ax, ay), (bx, by)


def _rag(left: Foreseen | None) -> MultiPolygon | None:
    return left.rag if left else None


def _notes(remnant: Remnant, shown: Shown) -> tuple[str, ...]:
    """What a person needs in order to find it: cloth, place, size."""
    size = shown.size(remnant.length, remnant.width) + (", rough" if remnant.rough else "")
    return tuple(
        filter(None, [remnant.cloth.name, remnant.place, size, f"cut from {remnant.parent}" if remnant.parent else ""])
    )


def _outer(outline: Polygon) -> Polygon:
    return Polygon(outline.exterior)


def faults_drawn(faults: Sequence[Fault]) -> tuple[pictures.FaultDrawn, ...]:
    drawn = []
    for fault in faults:
        rim = fault.shape.exterior if isinstance(fault.shape, Polygon) else fault.shape
        ring = tuple((float(x), float(y)) for x, y in rim.coords)
        closed = isinstance(fault.shape, Polygon)
        kind = "tear" if fault.kind.value == "hole" and not closed else fault.kind.value
        drawn.append(pictures.FaultDrawn(kind, ring[:-1] if closed else ring, hole=fault.kind.value == "hole"))
    return tuple(drawn)


def faults_below_drawn(ply: int, faults: Sequence[Fault]) -> tuple[pictures.FaultDrawn, ...]:
    """Faults of a ply under the top one: by a broken line, since the cloth above them is whole, with their ply."""
    return tuple(pictures.FaultDrawn(f"{drawn.kind}, ply {ply}", drawn.ring, hole=False) for drawn in faults_drawn(faults))


def _counts(lay: Lay) -> str:
    said = [f"{count.piece}: {count.placed} of {count.wanted + count.spares}" for count in lay.counts]
    return f"{', '.join(said)}, from {many(len(lay.sheets), 'remnant')}."


def _which_numbers(lay: Lay) -> list[str]:
    """Which numbers are which piece, where a lay has several."""
    by_name: dict[str, list[int]] = {}
    for panel in lay.panels:
        by_name.setdefault(panel.called, []).append(panel.number)
    said = [f"{name} is number{'' if len(found) == 1 else 's'} {runs(found)}" for name, found in by_name.items()]
    return [*(said if len(said) > 1 else []), *pairs_in_words(lay.panels)]
