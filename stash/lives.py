"""Lives: what became of a remnant, from the length that it came from, through every cut, to what is left; and of a cloth:
all that ever came of it. What was undone is left out."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import datetime

from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, undefer

from .amounts import grams, square_mm
from .audit_cloth import shape_of
from .cloths import row_of as cloth_row_of
from .plans import lay_of
from .remnants import row_of
from .standing import stands
from .tables import EntryRow, LayRow, LineRow, RemnantBeforeRow, RemnantJoinedRow, RemnantRow
from .words import Account, Event, Fate, RemnantState
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Something that happened to a remnant: the entry that says so, and how much of it there was after it (mm², g).

    `detail`: how it came, to whom it went, for which job it was cut. `was`: the cloth until then, where the event changed it.
    """

    at: datetime
    event: Event
    entry: int
    by: str
    detail: str
    note: str
    area: float
    mass: float
    was: BaseGeometry | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """A remnant's life. `shape`: the cloth as it is now, or was last; `area`, `mass` likewise (mm², g).

    `panels`: what was cut from it, and `pieces` how many of which, good ones; `spoiled` how many; `rag_area`, `rag_mass`: what
    of it went to the rag bag. `became`: the lives of what it became. `joined_into`: the tag of what it was sewn into; of the
    parts of that, the first has its life among what it `became`.
    """

    tag: str
    cloth: str
    state: RemnantState
    shape: BaseGeometry | None
    area: float
    mass: float
    place: str
    asked: bool
    steps: tuple[Step, ...]
    panels: tuple[Polygon, ...]
    pieces: tuple[tuple[str, int], ...]
    spoiled: int
    rag_area: float
    rag_mass: float
    joined_into: str | None
    became: tuple[Life, ...]


def of_remnant(workroom: Workroom, tag: str) -> tuple[Life, ...]:
    """The life of a remnant, told from the lengths that it came from: one, or several where it was sewn together. Raises
    Unknown."""
    with workroom.reading() as session:
        row = row_of(session, tag)
        kin = _Kin(session, row.cloth_id)
        roots = kin.roots_of(row.id)
        return tuple(kin.life(root, asked=row.id) for root in roots)


def of_cloth(workroom: Workroom, name: str) -> tuple[Life, ...]:
    """The lives of all that ever came of a cloth, by when it came. Raises Unknown."""
    with workroom.reading() as session:
        kin = _Kin(session, cloth_row_of(session, name).id)
        return tuple(kin.life(root) for root in kin.first)


class _Kin:
    """All remnants of a cloth and what happened to them, loaded once."""

    def __init__(self, session: Session, cloth_id: int) -> None:
        self.session = session
        mine = (RemnantRow.cloth_id == cloth_id, RemnantRow.state != RemnantState.STRUCK_OUT)
        asked = select(RemnantRow).where(*mine).options(undefer(RemnantRow.outline)).order_by(RemnantRow.id)
        self.rows = {row.id: row for row in session.scalars(asked)}
        self.children: dict[int, list[int]] = defaultdict(list)
        for row in self.rows.values():
            if row.parent_id in self.rows and row.parent_id is not None:
                self.children[row.parent_id].append(row.id)
        self.parts: dict[int, list[int]] = defaultdict(list)
        self.whole: dict[int, int] = {}
        for link in session.scalars(select(RemnantJoinedRow).order_by(RemnantJoinedRow.remnant_id, RemnantJoinedRow.part_id)):
            if link.remnant_id in self.rows:
                self.parts[link.remnant_id].append(link.part_id)
                self.whole[link.part_id] = link.remnant_id
        self.first = [row.id for row in self.rows.values() if row.parent_id is None and row.id not in self.parts]
        self.entries: dict[int, list[EntryRow]] = defaultdict(list)
        lines = (
            select(EntryRow)
            .join(LineRow)
            .where(LineRow.cloth_id == cloth_id, stands())
            .options(joinedload(EntryRow.lines))
            .order_by(EntryRow.id)
        )
        for entry in session.scalars(lines).unique():
            for remnant in dict.fromkeys(line.remnant_id for line in entry.lines if line.remnant_id is not None):
                self.entries[remnant].append(entry)
        befores = select(RemnantBeforeRow).join(RemnantRow).where(RemnantRow.cloth_id == cloth_id)
        self.before = {(before.remnant_id, before.entry_id): before for before in session.scalars(befores)}
        self.lays: dict[int, LayRow] = {}

    def roots_of(self, remnant: int) -> list[int]:
        """The remnants that it came from, that came from none."""
        if self.parts[remnant]:
            return list(dict.fromkeys(root for part in self.parts[remnant] for root in self.roots_of(part)))
        parent = self.rows[remnant].parent_id if remnant in self.rows else None
        return [remnant] if parent is None or parent not in self.rows else self.roots_of(parent)

    def life(self, remnant: int, asked: int | None = None) -> Life:
        row = self.rows[remnant]
        steps = [self._step(row, entry) for entry in self.entries[remnant]]
        cut = next((entry for entry in self.entries[remnant] if entry.event is Event.CUT and _went(entry, remnant)), None)
        panels = self._panels(cut, row.tag) if cut is not None else []
        good = Counter(piece for piece, fate, _ in panels if fate is Fate.CUT)
        rags = [
            line
            for entry in self.entries[remnant]
            for line in entry.lines
            if line.account is Account.RAG_BAG and line.remnant_id == remnant
        ]
        became = list(self.children[remnant])
        whole = self.whole.get(remnant)
        if whole is not None and self.parts[whole][0] == remnant:
            became.append(whole)
        return Life(
            tag=row.tag,
            cloth=row.cloth.name,
            state=row.state,
            shape=shape_of(row),
            area=square_mm(row.area),
            mass=grams(row.mass),
            place=row.place.name if row.place else "",
            asked=remnant == asked,
            steps=tuple(steps),
            panels=tuple(line for _, _, line in panels),
            pieces=tuple(sorted(good.items())),
            spoiled=sum(fate is Fate.SPOILED for _, fate, _ in panels),
            rag_area=square_mm(sum(line.area for line in rags if line.detail != "spoiled")),
            rag_mass=grams(sum(line.mass for line in rags if line.detail != "spoiled")),
            joined_into=self.rows[whole].tag if whole is not None else None,
            became=tuple(self.life(child, asked) for child in became),
        )

    def _panels(self, cut: EntryRow, tag: str) -> list[tuple[str, Fate, Polygon]]:
        lay = lay_of(self.session.get_one(LayRow, cut.lay_id))
        mine = (panel for sheet in lay.sheets if sheet.remnant.tag == tag for panel in sheet.panels)
        return [(panel.piece, panel.fate, panel.cut_line) for panel in mine if panel.fate in (Fate.CUT, Fate.SPOILED)]

    def _step(self, row: RemnantRow, entry: EntryRow) -> Step:
        upto = [
            line
            for each in self.entries[row.id]
            if each.id <= entry.id
            for line in each.lines
            if line.remnant_id == row.id and line.account is Account.BIN
        ]
        before = self.before.get((row.id, entry.id))
        return Step(
            at=entry.at,
            event=entry.event,
            entry=entry.id,
            by=entry.by,
            detail=_detail(self.session, entry, row),
            note=entry.note,
            area=square_mm(sum(line.area for line in upto)),
            mass=grams(sum(line.mass for line in upto)),
            was=before.shape if before is not None else None,
        )


def _went(entry: EntryRow, remnant: int) -> bool:
    """Whether an entry took a remnant out of the bin."""
    return any(line.remnant_id == remnant and line.account is Account.BIN and line.area < 0 for line in entry.lines)


def _detail(session: Session, entry: EntryRow, row: RemnantRow) -> str:
    if entry.event is Event.LOGGED:
        return next((line.detail for line in entry.lines if line.account is Account.IN), "")
    if entry.event is Event.CUT:
        job = session.get_one(LayRow, entry.lay_id).job.name
        return f"for {job}" if _went(entry, row.id) else f"from {row.parent.tag}, for {job}" if row.parent else ""
    if entry.event is Event.SPLIT and row.parent is not None and not _went(entry, row.id):
        return f"from {row.parent.tag}"
    return f"to {entry.whom}" if entry.whom else ""
