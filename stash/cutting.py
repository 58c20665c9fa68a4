"""Cutting a chalked lay: panels to the job, keepers back to the bin, the rest to the rag bag, in one balanced entry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar, cast

from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from sqlalchemy.orm import Session

from .amounts import Parts, grams, share_in_parts, square_mm
from .book import Posting, post
from .given import initials
from .keepers import tags_to_come
from .lays import let_go, must_be_as_tried, what_is_left
from .plans import LaidPanel, Lay, LaySheet, is_dropped, lay_of, must_be
from .plans import row_of as lay_row_of
from .refusals import Refused
from .remnants import Remnant, remnant_of
from .settings import Settings, settings_of
from .settling import put_together
from .tables import EdgeRow, FaultRow, LayRow, LineRow, RemnantRow
from .two_parts import widowed
from .words import Account, Event, Face, Fate, FaultKind, LayState, Nap, RemnantState
from .workroom import Workroom

SPOILED, OFFCUTS = "spoiled", "offcuts"
"""What of the rag bag is a panel that was spoiled, and what was too small to keep."""
ON_THE_RIM = 0.01
"""mm: a keeper's side this near to its parent's edge is that edge; leftovers are computed to a thousandth of a mm."""
SHORTEST_EDGE = 0.5
"""mm: bits of edges and flaws shorter than this, all round, are crumbs of the computation."""


@dataclass(frozen=True, slots=True)
class CutSheet:
    """What became of one remnant (mm², g). `whole`: none of its panels was cut, and it went back as it was."""

    tag: str
    area: float
    mass: float
    panel_area: float
    panel_mass: float
    spoiled_area: float
    spoiled_mass: float
    keepers: tuple[Remnant, ...]
    rag_area: float
    rag_mass: float
    whole: bool


@dataclass(frozen=True, slots=True)
class Cut:
    """What a cut did: the lay as it is now, each remnant's end, and the number of the entry in the book. `widowed`: parts that
    are cut, of panels joined from two whose other part is not, by their numbers, each with the other's."""

    lay: Lay
    sheets: tuple[CutSheet, ...]
    entry: int
    widowed: tuple[tuple[int, int], ...] = ()


def cut(workroom: Workroom, number: int, *, by: str, spoiled: Sequence[int] = (), uncut: Sequence[int] = ()) -> Cut:
    """Cut a chalked lay. `spoiled` and `uncut` are numbers of its panels: cut but no good, and not cut after all.

    Raises WrongState, ChangedSince (CannotBeDone); Refused for a number that is not in the lay or named twice, for a lay of
    which nothing was cut, and without initials.
    """
    who = initials(by, "cutting")
    with workroom.writing() as session:
        lay = lay_row_of(session, number, lock=True)
        must_be(lay, LayState.CHALKED, to="cut")
        fates = _fates(lay_of(lay), spoiled, uncut)
        there = {sheet.remnant.tag for sheet in lay.sheets if not is_dropped(lay, sheet)}
        for sheet in lay.sheets:
            if sheet.remnant.tag in there:
                must_be_as_tried(sheet)
        for panel in lay.panels:
            panel.fate = fates[panel.number]
        rules = settings_of(session)
        sheets = [sheet for sheet in lay_of(lay).sheets if sheet.remnant.tag in there]
        done = [_cut_sheet(session, workroom, lay, sheet, rules) for sheet in sheets]
        lay.state, lay.cut_at, lay.cut_by = LayState.CUT, workroom.now(), who
        posting = Posting(at=workroom.now(), event=Event.CUT, by=who, lay_id=lay.id)
        entry = post(session, posting, [line for one in done for line in one.lines])
        return Cut(lay_of(lay), tuple(one.told() for one in done), entry.id, tuple(widowed(lay.panels).items()))


@dataclass(slots=True)
class _Done:
    """What cutting one sheet did: its parent, the booked parts, the rows of its keepers and the lines for the book."""

    parent: RemnantRow
    parts: Parts | None
    spoiled: list[int]
    keepers: list[RemnantRow]
    lines: list[LineRow]

    def told(self) -> CutSheet:
        parts = self.parts or Parts((), (), (0, 0))
        good = [part for i, part in enumerate(parts.panels) if i not in self.spoiled]
        bad = [part for i, part in enumerate(parts.panels) if i in self.spoiled]
        return CutSheet(
            tag=self.parent.tag,
            area=square_mm(self.parent.area),
            mass=grams(self.parent.mass),
            panel_area=square_mm(sum(area for area, _ in good)),
            panel_mass=grams(sum(mass for _, mass in good)),
            spoiled_area=square_mm(sum(area for area, _ in bad)),
            spoiled_mass=grams(sum(mass for _, mass in bad)),
            keepers=tuple(remnant_of(row) for row in self.keepers),
            rag_area=square_mm(parts.rag[0]),
            rag_mass=grams(parts.rag[1]),
            whole=self.parts is None,
        )


def _fates(lay: Lay, spoiled: Sequence[int], uncut: Sequence[int]) -> dict[int, Fate]:
    """What became of each panel, by number. Raises Refused for numbers that cannot be."""
    gone = {panel.number for sheet in lay.sheets if sheet.dropped for panel in sheet.panels}
    fates = {panel.number: Fate.UNCUT if panel.number in gone else Fate.CUT for panel in lay.panels}
    for number, fate in [*((n, Fate.SPOILED) for n in spoiled), *((n, Fate.UNCUT) for n in uncut)]:
        where = f"lay {lay.number}"
        if number not in fates:
            raise Refused(f"there is no panel {number}", where=where, expected=f"a number from 1 to {len(fates)}")
        if number in gone:
            raise Refused(
                f"panel {number} lay on a remnant that is not there", where=where, expected="panels of what is there"
            )
        if fates[number] is not Fate.CUT:
            raise Refused(f"panel {number} is named twice", where=where, expected="each panel once, as spoiled or as uncut")
        fates[number] = fate
    if all(fate is Fate.UNCUT for fate in fates.values()):
        raise Refused(
            "nothing was cut",
            where=f"lay {lay.number}",
            expected="at least one panel cut",
            next="To give the lay up, use `fent lay rub-out`",
        )
    return fates


def _cut_sheet(session: Session, workroom: Workroom, lay: LayRow, sheet: LaySheet, rules: Settings) -> _Done:
    """Take one remnant apart: panels, keepers, rag. One of which nothing was cut goes back as it is."""
    parent = session.get_one(RemnantRow, sheet.remnant.id)
    cut_here = [panel for panel in sheet.panels if panel.fate is not Fate.UNCUT]
    if not cut_here:
        let_go(lay, parent)
        return _Done(parent, None, [], [], [])
    left = what_is_left(sheet.remnant, cut_here, rules)
    shape = sheet.remnant.shape
    parts = share_in_parts(
        parent.area,
        parent.mass,
        cut=left.cut.area,
        panels=[panel.cut_line.intersection(shape).area for panel in cut_here],
        keepers=[keeper.area for keeper in left.keepers],
    )
    parent.state, parent.held_by_id = RemnantState.CUT, None
    keepers = _keepers(session, workroom, parent, left.keepers, parts)
    rows = {panel.number: panel for panel in lay.panels}
    for panel, (area, mass) in zip(cut_here, parts.panels, strict=True):
        rows[panel.number].area, rows[panel.number].mass = area, mass
    spoiled = [i for i, panel in enumerate(cut_here) if panel.fate is Fate.SPOILED]
    return _Done(parent, parts, spoiled, keepers, _lines(lay, parent, cut_here, parts, keepers))


def _lines(
    lay: LayRow, parent: RemnantRow, panels: Sequence[LaidPanel], parts: Parts, keepers: Sequence[RemnantRow]
) -> list[LineRow]:
    """The lines of one remnant: out of the bin, and into cut work, rag bag and bin again."""
    of_parent = {"cloth_id": parent.cloth_id, "remnant_id": parent.id, "job_id": lay.job_id}
    lines = [LineRow(account=Account.BIN, detail="", area=-parent.area, mass=-parent.mass, **of_parent)]
    sums: dict[tuple[Account, str], tuple[int, int]] = {}
    for panel, (area, mass) in zip(panels, parts.panels, strict=True):
        spoiled = panel.fate is Fate.SPOILED
        into = (Account.RAG_BAG, SPOILED) if spoiled else (Account.CUT_WORK, panel.piece)
        sums[into] = (sums.get(into, (0, 0))[0] + area, sums.get(into, (0, 0))[1] + mass)
    sums[Account.RAG_BAG, OFFCUTS] = parts.rag
    for (account, detail), (area, mass) in sums.items():
        lines.append(LineRow(account=account, detail=detail, area=area, mass=mass, **of_parent))
    for keeper in keepers:
        of_keeper = of_parent | {"remnant_id": keeper.id}
        lines.append(LineRow(account=Account.BIN, detail="keeper", area=keeper.area, mass=keeper.mass, **of_keeper))
    return lines


def _keepers(
    session: Session, workroom: Workroom, parent: RemnantRow, shapes: Sequence[Polygon], parts: Parts
) -> list[RemnantRow]:
    """The keepers of a remnant as remnants of their own, in the parent's coordinates, with what they inherit."""
    tags = tags_to_come(session, parent.tag, len(shapes))
    rows = []
    for tag, shape, (area, mass) in zip(tags, shapes, parts.keepers, strict=True):
        row = keeper_of(parent, shape)
        row.tag, row.area, row.mass = tag, area, mass
        row.logged_at = workroom.now()
        session.add(row)
        rows.append(row)
    session.flush()
    return rows


def keeper_of(parent: RemnantRow, shape: Polygon) -> RemnantRow:
    """A row for a leftover worth keeping: its own holes, and of its parent's faults and edges what lies on it."""
    shape = cast(Polygon, shape.simplify(0))  # points on straight sides, which cutting leaves behind
    holes = [FaultRow(kind=FaultKind.HOLE, face=Face.BOTH, shape=orient(Polygon(ring))) for ring in shape.interiors]
    rim = shape.exterior.buffer(ON_THE_RIM, cap_style="flat")
    edges = [
        EdgeRow(kind=edge.kind, line=line)
        for edge in parent.edges
        for line in _parts(edge.line.intersection(rim), LineString)
        if line.length > SHORTEST_EDGE
    ]
    row = put_together(
        orient(Polygon(shape.exterior)), [*holes, *_inherited(parent, shape)], edges, where=f"a keeper of {parent.tag}"
    )
    row.parent, row.cloth, row.place = parent, parent.cloth, parent.place
    row.rough, row.one_way, row.washed, row.skew = parent.rough, parent.one_way, parent.washed, parent.skew
    row.grain_angle, row.face_up, row.nap = 0.0, Face.RIGHT, Nap.ALONG if parent.one_way else None
    row.weighed, row.source, row.note = False, None, ""
    row.repeat_along, row.repeat_across, row.bar_x, row.bar_y = (
        parent.repeat_along, parent.repeat_across, parent.bar_x, parent.bar_y
    )  # fmt: skip
    row.came_on = parent.came_on  # since when its cloth has been in the house
    return row


def _inherited(parent: RemnantRow, shape: Polygon) -> Iterator[FaultRow]:
    """The flaws and tears of the parent as far as they lie on a keeper; its other holes are holes of the keeper already."""
    for fault in parent.faults:
        tear = isinstance(fault.shape, LineString)
        if tear or fault.kind is not FaultKind.HOLE:
            for part in _parts(fault.shape.intersection(shape), LineString if tear else Polygon):
                # A ring without its own holes says no less than the fault: what a flaw goes round is better not used either.
                kept = part if isinstance(part, LineString) else orient(Polygon(part.exterior))
                if kept.length > SHORTEST_EDGE:
                    yield FaultRow(kind=fault.kind, face=fault.face, shape=kept, may_lie=fault.may_lie)


P = TypeVar("P", Polygon, LineString)


def _parts(shape: BaseGeometry, kind: type[P]) -> list[P]:
    """The polygons or lines of whatever an overlay gives."""
    return [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, kind) and not part.is_empty]
