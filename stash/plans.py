"""What a lay plan is: the remnants it uses, the panels on them, where each lies. All of it follows from placements; the stash
holds no picture."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nesting import Panel, Placement, Result, Ring

from .jobs import so_far, still
from .plies import LaidStack, stacks_of
from .refusals import NotNeeded, Unknown, WrongState
from .remnants import Remnant, remnant_of
from .tables import LayRow, LaySheetRow, RemnantRow
from .two_parts import wholes
from .words import Aim, Fate, Hand, LayState, RemnantState

if TYPE_CHECKING:
    from shapely import LineString, MultiPolygon, Polygon

KEPT_OF_A_RESULT = ("placed", "bound", "proved", "complete", "cost", "least_cost", "rounds", "seed", "seconds")
"""What of a result is kept beside its placements: fields of `nesting.Result` and columns of the lay, of the same names."""

CHOSEN = (LayState.CHALKED, LayState.CUT)
"""The states of a lay that someone decided on."""
TRY_AGAIN = "Try a new lay with `fent lay try`"


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPanel:
    """A panel of a lay: its number in the lay (from 1), what it is, and its lines as they lie on the remnant (mm).

    Of a panel joined from two it is one `part` (1 or 2), `joined` says of which of the lay's joined panels, and `seam` is
    where it is sewn to the other."""

    number: int
    piece: str
    hand: Hand | None
    placement: Placement
    cut_line: Polygon
    sewing_line: Polygon
    fate: Fate
    part: int | None = None
    joined: int | None = None
    seam: LineString | None = None

    @property
    def called(self) -> str:
        """What it is in words: the piece, its hand, and which part of a panel that is joined from two."""
        said = f"{self.piece} ({self.hand})" if self.hand else self.piece
        return said if self.part is None else f"{said}, part {self.part}"


@dataclass(frozen=True, slots=True)
class LaySheet:
    """A remnant of a lay and the panels on it. `changed`: the remnant is no longer as it was when the lay was tried.
    `dropped`: it was not there when it should have been cut, and its panels are out of the lay."""

    remnant: Remnant
    panels: tuple[LaidPanel, ...]
    changed: bool
    dropped: bool = False

    @property
    def panel_area(self) -> float:
        """Area of the panels' cut lines, mm²."""
        return float(sum(panel.cut_line.area for panel in self.panels))


@dataclass(frozen=True, slots=True)
class Count:
    """Copies of a piece of the job: needed and welcome when the lay was tried, and those that the lay holds."""

    piece: str
    wanted: int
    spares: int
    placed: int

    @property
    def missing(self) -> int:
        """How many of those needed are not in the lay."""
        return max(0, self.wanted - self.placed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lay:
    """A lay plan. `result` is what the engine gave. `bound`, `proved` and the like are read there. `replaces`: the chalked
    lay that it plans again; `replaced_by`: the lay that was chalked in its place. `aim`: what it was sought by;
    `holds_until`: the last day on which it holds its remnants, once it is chalked. `stacks`: which of its remnants lie on one
    another, and what each tracing makes; `slip` (mm): what their plies may slip by."""

    number: int
    job: str
    state: LayState
    sheets: tuple[LaySheet, ...]
    counts: tuple[Count, ...]
    result: Result
    gap: float
    edge: float
    tried_at: datetime
    tried_by: str
    chalked_at: datetime | None
    chalked_by: str
    cut_at: datetime | None
    cut_by: str
    rubbed_out_at: datetime | None
    rubbed_out_by: str
    note: str
    replaces: int | None
    replaced_by: int | None
    aim: Aim | None = None
    holds_until: date | None = None
    slip: float | None = None
    stacks: tuple[LaidStack, ...] = ()

    @property
    def complete(self) -> bool:
        """All that the job needs is in it (spares left aside)."""
        return all(count.missing == 0 for count in self.counts)

    @property
    def panels(self) -> tuple[LaidPanel, ...]:
        """All panels by number."""
        return tuple(sorted((p for sheet in self.sheets for p in sheet.panels), key=lambda p: p.number))


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a sheet will leave when the lay is cut as it stands: keepers, the rag bag's share, and the good cloth lost
    (mm²)."""

    tag: str
    keepers: tuple[Polygon, ...]
    rag: MultiPolygon
    lost: float

    @property
    def rag_area(self) -> float:
        """Area of what goes to the rag bag, mm²."""
        return float(self.rag.area)


def row_of(session: Session, number: int, *, lock: bool = False) -> LayRow:
    """The row of the lay of that number; with `lock` nobody else may change it or its remnants meanwhile. Raises Unknown."""
    asked = select(LayRow).where(LayRow.id == number)
    row = session.scalar(asked.with_for_update() if lock else asked)
    if row is None:
        last = session.scalar(select(func.max(LayRow.id)))
        expected = f"a number from 1 to {last}" if last else ""
        raise Unknown(f"there is no lay {number}", where="lay", expected=expected, next="" if last else "There is no lay yet")
    if lock:
        mine = select(RemnantRow).where(RemnantRow.id.in_([sheet.remnant_id for sheet in row.sheets])).order_by(RemnantRow.id)
        session.scalars(mine.with_for_update()).all()
    return row


def lay_of(row: LayRow) -> Lay:
    """The lay that a row holds."""
    drawn = {panel["id"]: (panel["outline"], panel.get("sound", panel["outline"])) for panel in row.case["panels"]}
    tags = {sheet.remnant_id: sheet.remnant.tag for sheet in row.sheets}
    names = {count.job_piece_id: count.job_piece.piece.name for count in row.counts}
    panels: dict[int, list[LaidPanel]] = {sheet.remnant_id: [] for sheet in row.sheets}
    for panel in row.panels:
        placement = Placement(tags[panel.remnant_id], panel.panel, panel.x, panel.y, panel.turn, panel.flipped)
        cut_line, sewing_line = (as_laid(line, placement) for line in drawn[panel.panel])
        panels[panel.remnant_id].append(
            LaidPanel(
                number=panel.number,
                piece=names[panel.job_piece_id],
                hand=panel.hand,
                placement=placement,
                cut_line=cut_line,
                sewing_line=sewing_line,
                fate=panel.fate,
                part=panel.part,
                joined=panel.joined,
                seam=None if panel.seam is None else _seam(panel.seam, placement),
            )
        )
    over = row.state is LayState.CUT
    placed = Counter(panel.job_piece_id for panel, fate in wholes(row.panels) if over or fate is not Fate.UNCUT)
    return Lay(
        number=row.id,
        job=row.job.name,
        state=row.state,
        sheets=tuple(
            LaySheet(remnant_of(sheet.remnant), tuple(panels[sheet.remnant_id]), _changed(row, sheet), is_dropped(row, sheet))
            for sheet in row.sheets
        ),
        counts=tuple(
            Count(names[count.job_piece_id], count.wanted, count.spares, placed[count.job_piece_id]) for count in row.counts
        ),
        result=Result(
            placements=tuple(p.placement for p in sorted(chain(*panels.values()), key=lambda p: p.number)),
            **{name: getattr(row, name) for name in KEPT_OF_A_RESULT},
        ),
        gap=row.gap,
        edge=row.edge,
        tried_at=row.tried_at,
        tried_by=row.tried_by,
        chalked_at=row.chalked_at,
        chalked_by=row.chalked_by,
        cut_at=row.cut_at,
        cut_by=row.cut_by,
        rubbed_out_at=row.rubbed_out_at,
        rubbed_out_by=row.rubbed_out_by,
        note=row.note,
        replaces=row.replaces_id,
        aim=row.aim,
        holds_until=row.holds_until,
        slip=row.slip,
        stacks=stacks_of(row, names),
        replaced_by=next((after.id for after in row.replacements if after.state in CHOSEN), None),
    )


def as_laid(line: Ring, placement: Placement) -> Polygon:
    """A panel's line as it lies on the sheet, counter-clockwise again where it was flipped."""
    from shapely.geometry.polygon import orient

    from nesting import lay_out

    return orient(lay_out(Panel(placement.panel, line, copies=1), placement))


def _seam(line: Sequence[Sequence[float]], placement: Placement) -> LineString:
    from shapely import LineString

    from nesting import moved

    return moved(LineString(line), placement)


def is_dropped(lay: LayRow, sheet: LaySheetRow) -> bool:
    """Whether a remnant is out of a lay that is not cut yet: all its panels are to stay uncut."""
    fates = {panel.fate for panel in lay.panels if panel.remnant_id == sheet.remnant_id}
    return lay.state is LayState.CHALKED and fates == {Fate.UNCUT}


def must_be(lay: LayRow, *states: LayState, to: str) -> None:
    """Raise WrongState unless the lay is in one of the states."""
    if lay.state not in states:
        raise WrongState(
            f"lay {lay.id} is {lay.state}", where="lay", expected=f"a {' or '.join(states)} lay to {to}", next=TRY_AGAIN
        )


def must_be_needed(session: Session, lay: LayRow) -> None:
    """Raise NotNeeded where a lay that is not chalked yet has more of a piece, or of one of its hands, than its job still
    needs and welcomes: good cloth would be cut for nobody."""
    done = so_far(session, lay.job_id)
    for piece in lay.job.pieces:
        mine = Counter(p.hand for p, fate in wholes(lay.panels) if p.job_piece_id == piece.id and fate is Fate.PLANNED)
        room = {hand: copies.wanted + copies.spares for hand, copies in still(piece, done).items()}
        over = mine.total() > sum(room.values()) or any(mine[hand] > room.get(hand, 0) for hand in Hand if hand in room)
        if over:
            raise _not_needed(session, lay, piece.piece.name, mine.total(), sum(room.values()))


def _not_needed(session: Session, lay: LayRow, piece: str, has: int, needed: int) -> NotNeeded:
    """What the job still needs, who has the rest, and what can be done."""
    chalked = select(LayRow).where(LayRow.job_id == lay.job_id, LayRow.state == LayState.CHALKED).order_by(LayRow.id)
    others = [f"lay {other.id}, chalked by {other.chalked_by}" for other in session.scalars(chalked)]
    rest = f"; the others are in {' and '.join(others)}" if others else "; the others are cut"
    instead = "Rub that one out if this one is better (`fent lay rub-out`), or " if others else ""
    return NotNeeded(
        f"{lay.job.name} has use for {needed or 'no'} more {piece}, and lay {lay.id} has {has}{rest}",
        where=f"lay {lay.id}",
        expected="a lay with no more panels than its job still needs",
        next=f"{instead}{'t' if instead else 'T'}ry the job again: a new lay has only what is missing",
    )


def _changed(lay: LayRow, sheet: LaySheetRow) -> bool:
    """Whether the lay could no longer be cut from this remnant; of a lay that is over it is not asked."""
    if lay.state not in (LayState.TRIED, LayState.CHALKED) or is_dropped(lay, sheet):
        return False
    row = sheet.remnant
    mine = row.state is RemnantState.IN_BIN or row.held_by_id == lay.id
    return not mine or row.quarantined or row.revision != sheet.revision
