"""What goes to the cutting table: all that is drawn and told on the docket of each remnant of a lay, and the list to pull by.

Nothing here is kept: it follows from the lay, the remnants and the pattern as they are.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from shapely import MultiPolygon, Polygon
from shapely import Point as Spot
from shapely.geometry.base import BaseGeometry

from nesting import ChalkMeasure, Lie, Mark, Placement, Point, in_stack, marks_of, where_to_chalk

from . import jobs, lays, ordering, patterns
from .hand_proof import HandProof, hand_proof
from .keepers import tags_to_come
from .piece_lines import notch_ticks
from .plans import LaidPanel, Lay, LaySheet, must_be, row_of
from .plies import LaidPly, LaidStack, LaidTracing
from .words import EdgeKind, Fate, Half, Hand, LayState
from .workroom import Workroom

if TYPE_CHECKING:
    from .ordering import SheetOrder
    from .patterns import Piece
    from .remnants import Fault

OFF_THE_RIM = 0.1
"""mm: marks of a piece that come to lie farther than this from a panel's rim are not of that panel: the piece has changed."""
Tick = tuple[Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class DocketPanel:
    """A panel of a docket. `marks`: those of its piece, in small letters, as they lie; `notches`: each tick as it lies;
    `piece`: its pattern piece, None where that has changed since the lay was tried; `measure`: where to chalk it."""

    panel: LaidPanel
    piece: Piece | None
    marks: tuple[Mark, ...]
    notches: tuple[Tick, ...]
    measure: ChalkMeasure


@dataclass(frozen=True, slots=True)
class DocketKeeper:
    """A leftover and the tag that it will have (as long as no other keeper of its parent is logged before)."""

    tag: str
    shape: Polygon


@dataclass(frozen=True, slots=True)
class FaultBelow:
    """A hole or flaw of a ply under the top one, where it lies in the stack: whoever chalks does not see it."""

    ply: int
    tag: str
    fault: Fault


@dataclass(frozen=True, slots=True)
class Proof:
    """What to measure before the first cut: from one mark of the outline to another, and how far that should be, mm."""

    start: Mark
    end: Mark
    distance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetDocket:
    """All that is told of one remnant of a lay, or of a stack of them as it lies on the table (`stack`): then the sheet is its
    top ply, the panels are its tracings, `under` are the rims of the plies below, and `below` what is amiss on them.
    `wrong_side`: it is told as it is seen from there.

    `marks`: the corners of the outline, in capitals. `order`: in which the panels are cut, None for a stack's. `in_stack`: the
    stack in which this remnant is cut. `rag` and `lost` (mm²): what goes to the rag bag, and the good cloth lost. `hand`: the
    measure that proves that the panels are of the right hand."""

    sheet: LaySheet
    marks: tuple[Mark, ...]
    panels: tuple[DocketPanel, ...]
    keepers: tuple[DocketKeeper, ...]
    rag: MultiPolygon
    lost: float
    proofs: tuple[Proof, ...]
    order: SheetOrder | None
    hand: HandProof | None = None
    in_stack: int | None = None
    stack: LaidStack | None = None
    under: tuple[Polygon, ...] = ()
    below: tuple[FaultBelow, ...] = ()
    wrong_side: bool = False

    @property
    def called(self) -> str:
        """The tag of the remnant, or which stack it is."""
        return f"Stack {self.stack.number}" if self.stack else self.sheet.remnant.tag

    @property
    def used(self) -> float:
        """The share of the remnant that becomes panels."""
        return self.sheet.panel_area / self.sheet.remnant.area


@dataclass(frozen=True, slots=True)
class Pulled:
    """A remnant to pull, and the lay that it is for; the number of the stack that it lies in, and how, where it does."""

    lay: int
    job: str
    sheet: LaySheet
    stack: int | None = None
    plies: tuple[LaidPly, ...] = ()


def docket(workroom: Workroom, number: int) -> tuple[Lay, tuple[SheetDocket, ...]]:
    """The dockets of a tried or chalked lay, its stacks first, then one for each remnant that is there. Raises
    WrongState for one that is cut or rubbed out; Unknown."""
    lay, orders = ordering.order(workroom, number)
    left = {each.tag: each for each in lays.foresee(workroom, lay)}
    pieces = _pieces(workroom, lay)
    with workroom.reading() as session:
        tags = {tag: tags_to_come(session, tag, len(each.keepers)) for tag, each in left.items()}
    found = [stack_docket(lay, stack, pieces) for stack in lay.stacks]
    one_way = {piece.name for piece in pieces if piece.one_way}
    for order in orders:
        tag = order.sheet.remnant.tag
        marks, panels = _panels(order.sheet, pieces)
        found.append(
            SheetDocket(
                sheet=order.sheet,
                marks=marks,
                panels=panels,
                keepers=tuple(DocketKeeper(*each) for each in zip(tags[tag], left[tag].keepers, strict=True)),
                rag=left[tag].rag,
                lost=left[tag].lost,
                proofs=proofs_of(marks),
                order=order,
                hand=hand_proof(lay, one_way, tag),
                in_stack=_stack_of(lay, tag)[0],
            )
        )
    return lay, tuple(found)


def measures(workroom: Workroom, number: int) -> tuple[Lay, tuple[tuple[LaySheet, tuple[DocketPanel, ...]], ...]]:
    """The chalk measures of a tried or chalked lay alone, for each remnant that is there. Raises as `docket` does."""
    with workroom.reading() as session:
        must_be(row_of(session, number), LayState.TRIED, LayState.CHALKED, to="chalk")
    lay = lays.get(workroom, number)
    pieces = _pieces(workroom, lay)
    return lay, tuple((sheet, _panels(sheet, pieces)[1]) for sheet in lay.sheets if not sheet.dropped)


def to_pull(workroom: Workroom, numbers: Sequence[int]) -> tuple[Pulled, ...]:
    """The remnants of tried or chalked lays, in the order of their places; those that have none come last. Raises WrongState,
    Unknown."""
    found = []
    for number in dict.fromkeys(numbers):
        with workroom.reading() as session:
            must_be(row_of(session, number), LayState.TRIED, LayState.CHALKED, to="pull for")
        lay = lays.get(workroom, number)
        there = [sheet for sheet in lay.sheets if not sheet.dropped]
        found += [Pulled(lay.number, lay.job, sheet, *_stack_of(lay, sheet.remnant.tag)) for sheet in there]
    return tuple(sorted(found, key=lambda each: (_as_read(each.sheet.remnant.place), _as_read(each.sheet.remnant.tag))))


def _stack_of(lay: Lay, tag: str) -> tuple[int | None, tuple[LaidPly, ...]]:
    """The number of the stack that a remnant lies in, and its ply there (two of one that is folded)."""
    for stack in lay.stacks:
        if plies := tuple(ply for ply in stack.plies if ply.tag == tag):
            return stack.number, plies
    return None, ()


def stack_docket(lay: Lay, stack: LaidStack, pieces: Sequence[Piece]) -> SheetDocket:
    """A stack as whoever chalks on its top ply sees it; the panels have the numbers of their tracings."""
    top, rims = stack.plies[0], [rim_in_stack(lay, ply) for ply in stack.plies]
    sheet = next(sheet for sheet in lay.sheets if sheet.remnant.tag == top.tag)
    faults = faults_in_stack(lay, top)
    edges = tuple(replace(edge, line=in_stack(edge.line, top.lie)) for edge in sheet.remnant.edges)
    remnant = replace(sheet.remnant, outline=rims[0], faults=faults, edges=edges)
    laid, known = [], []
    for tracing in stack.tracings:
        panel, marks = _traced(lay, stack, tracing, pieces, rims[0])
        laid.append(panel)
        known.append(marks)
    raw = [edge.line for edge in edges if edge.kind is EdgeKind.RAW]
    letters, found = where_to_chalk(
        rims[0], [(panel.cut_line, of) for panel, (_, of, _) in zip(laid, known, strict=True)], unsure=raw
    )
    panels = tuple(
        DocketPanel(panel=panel, piece=piece, marks=of, notches=notches, measure=measure)
        for panel, (piece, of, notches), measure in zip(laid, known, found, strict=True)
    )
    return SheetDocket(
        sheet=replace(sheet, remnant=remnant, panels=tuple(laid)),
        marks=letters,
        panels=panels,
        keepers=(),
        rag=MultiPolygon(),
        lost=0.0,
        proofs=proofs_of(letters),
        order=None,
        stack=stack,
        under=tuple(rims[1:]),
        below=tuple(FaultBelow(ply.number, ply.tag, it) for ply in stack.plies[1:] for it in faults_in_stack(lay, ply)),
    )


def _traced(
    lay: Lay, stack: LaidStack, tracing: LaidTracing, pieces: Sequence[Piece], rim: Polygon
) -> tuple[LaidPanel, tuple[Piece | None, tuple[Mark, ...], tuple[Tick, ...]]]:
    """A tracing as a panel on the top ply, numbered as the tracing is; its piece, marks and notches. Of one on the fold it is
    the half that is traced."""
    ply, number = next(iter(tracing.panels.items()))
    lie = next((each.lie for each in stack.plies if each.number == ply), stack.plies[0].lie)
    panel = next(each for each in lay.panels if each.number == number)
    piece, marks = _marked(panel, pieces)
    there = tuple(replace(mark, at=_stacked(mark.at, lie)) for mark in marks)
    notches = tuple((_stacked(a, lie), _stacked(b, lie)) for a, b in _notches(panel, piece))
    cut, sewing = in_stack(panel.cut_line, lie), in_stack(panel.sewing_line, lie)
    if tracing.on_fold:
        cut, sewing = half_within(cut, rim), half_within(sewing, rim)
        there = tuple(mark for mark in there if cut.exterior.distance(Spot(mark.at)) <= OFF_THE_RIM)
        # The letters are those of the template, as far as its near half has two of them.
        there, notches = there if len(there) > 1 else marks_of(cut, small=True), ()
    turn = lie.turn - panel.placement.turn if lie.flipped else lie.turn + panel.placement.turn
    placement = replace(panel.placement, turn=turn % 360, flipped=panel.placement.flipped != lie.flipped)
    as_traced = replace(panel, number=tracing.number, hand=tracing.hand, placement=placement, cut_line=cut, sewing_line=sewing)
    return as_traced, (piece, there, notches)


def rim_in_stack(lay: Lay, ply: LaidPly) -> Polygon:
    """A ply's outline where it lies in its stack; of one that is folded, its half."""
    from shapely import box

    outline = next(sheet.remnant for sheet in lay.sheets if sheet.remnant.tag == ply.tag).outline
    if ply.fold is not None:
        left, low, right, high = outline.bounds
        far = ply.half is Half.FAR
        outline = _one(outline.intersection(box(left, ply.fold if far else low, right, high if far else ply.fold)))
    return Polygon(in_stack(outline, ply.lie).exterior)


def faults_in_stack(lay: Lay, ply: LaidPly) -> tuple[Fault, ...]:
    """A ply's faults where they lie in its stack; of one that is folded, those of its half."""
    rim = rim_in_stack(lay, ply)
    remnant = next(sheet.remnant for sheet in lay.sheets if sheet.remnant.tag == ply.tag)
    laid = (replace(fault, shape=in_stack(fault.shape, ply.lie)) for fault in remnant.faults)
    return tuple(fault for fault in laid if fault.shape.intersects(rim))


def half_within(shape: Polygon, rim: Polygon) -> Polygon:
    """Of a panel that lies across a fold the half that is traced: what of it lies within the rim of the top ply."""
    return _one(shape.intersection(rim))


def _one(shape: BaseGeometry) -> Polygon:
    """The largest part."""
    return max((part for part in getattr(shape, "geoms", [shape])), key=lambda part: float(part.area))


def _stacked(point: Point, lie: Lie) -> Point:
    from shapely import Point as Place

    at = in_stack(Place(point), lie)
    return (float(at.x), float(at.y))


def _as_read(text: str) -> tuple[bool, tuple[tuple[int, str], ...]]:
    """Sorts as a person does: drawer 2 before drawer 10, and nothing last.

    >>> sorted(["drawer 10", "", "Drawer 2", "bag"], key=_as_read)
    ['bag', 'Drawer 2', 'drawer 10', '']
    """
    parts = re.findall(r"\d+|\D+", text.lower())
    return not text, tuple((int(part), "") if part.isdigit() else (0, part) for part in parts)


def _pieces(workroom: Workroom, lay: Lay) -> list[Piece]:
    told = [each.piece for each in jobs.get(workroom, lay.job).pieces]
    return [patterns.piece(workroom, each.pattern, each.name) for each in told]


def _panels(sheet: LaySheet, pieces: Sequence[Piece]) -> tuple[tuple[Mark, ...], tuple[DocketPanel, ...]]:
    """The marks of a remnant, and its panels by number with where to chalk them."""
    laid = sorted((panel for panel in sheet.panels if panel.fate is Fate.PLANNED), key=lambda panel: panel.number)
    remnant = sheet.remnant
    raw = [edge.line for edge in remnant.edges if edge.kind is EdgeKind.RAW]
    known = [_marked(panel, pieces) for panel in laid]
    marks, found = where_to_chalk(
        remnant.outline, [(panel.cut_line, of) for panel, (_, of) in zip(laid, known, strict=True)], unsure=raw
    )
    return marks, tuple(
        DocketPanel(panel=panel, piece=piece, marks=of, notches=_notches(panel, piece), measure=measure)
        for panel, (piece, of), measure in zip(laid, known, found, strict=True)
    )


def _marked(panel: LaidPanel, pieces: Sequence[Piece]) -> tuple[Piece | None, tuple[Mark, ...]]:
    """The piece that a panel is of, and its marks as they lie. A mark has its letter from the piece as it is drawn, so that it
    is the same on every copy, either hand and the paper template."""
    for piece in pieces:
        if piece.name == panel.piece:
            marks = tuple(replace(mark, at=_laid(mark.at, panel)) for mark in marks_of(piece.cut_line, small=True))
            if all(panel.cut_line.exterior.distance(Spot(mark.at)) <= OFF_THE_RIM for mark in marks):
                return piece, marks
    return None, marks_of(panel.cut_line, small=True)


def _notches(panel: LaidPanel, piece: Piece | None) -> tuple[Tick, ...]:
    return tuple((_laid(a, panel), _laid(b, panel)) for a, b in notch_ticks(piece)) if piece else ()


def _laid(point: Point, panel: LaidPanel) -> Point:
    """A point of a piece as it is drawn, where it comes to lie."""
    x, y = point
    return as_placed((x, -y) if panel.hand is Hand.RIGHT else (x, y), panel.placement)


def as_placed(point: Point, placement: Placement) -> Point:
    """A point of a panel where its placement lays it: flipped across the grain, turned about (0, 0), shifted.

    >>> [round(mm, 9) for mm in as_placed((3.0, 1.0), Placement("S", "p", 10.0, 20.0, 90.0, True))]
    [11.0, 23.0]
    """
    x, y = point[0], -point[1] if placement.flipped else point[1]
    c, s = math.cos(math.radians(placement.turn)), math.sin(math.radians(placement.turn))
    return (c * x - s * y + placement.x, s * x + c * y + placement.y)


def proofs_of(marks: Sequence[Mark]) -> tuple[Proof, ...]:
    """The longest distance between two marks, and the longest that does not run from the same mark (or, of three, any other):
    two diagonals tell whether an outline is still the one that was measured."""
    every = [Proof(a, b, math.dist(a.at, b.at)) for a, b in combinations(marks, 2)]
    first = max(every, key=lambda proof: proof.distance)
    apart = [proof for proof in every if not {proof.start.letter, proof.end.letter} & {first.start.letter, first.end.letter}]
    rest = apart or [proof for proof in every if proof is not first]
    return (first, max(rest, key=lambda proof: proof.distance)) if rest else (first,)
