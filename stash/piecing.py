"""Panels joined from two scraps, where whole ones do not suffice and the piece permits it (`joins`).

What lies there of whole panels stays. The parts of those that are missing are sought on all the cloth that the job's rules
allow, also on what is too small for a whole panel; both parts of a panel come from one cloth and lie on its grain alike, and a
stripe or check runs on across the seam. Nothing is kept by it: a person decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import cast

from sqlalchemy import select

from nesting import Case, Panel, Placement, Result, Sheet

from .asking import Asked, ask
from .jobs import row_of as job_row_of
from .joins import Parts, ends_meet, permitted
from .lying import TURNS, line_of
from .patterns import Piece, Seam, pattern_of, piece_of
from .replanning import Meant
from .seeking import Effort, needed
from .small_lays import added, at_once
from .tables import JobPieceRow, RemnantRow
from .terms import Terms
from .words import Grain, Hand
from .workroom import Workroom

LOOKED_INTO = 3
"""So many seams are sought for in earnest, the likeliest first."""
ROUNDS = 8
"""Rounds of each of these."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Panels of a piece that are joined from two: `count` of them, by a seam of `seam` mm `along` the grain or across it,
    `off` mm from the piece's near edge or left end, with `allowance` mm on either side. `whole`: mm² of one panel, `more`:
    what the allowances take beyond it. `apart`: two such panels sewn to each other would have their seams meet."""

    piece: str
    hand: Hand | None
    count: int
    along: bool
    off: float
    seam: float
    allowance: float
    whole: float
    more: float
    apart: bool


@dataclass(frozen=True, slots=True)
class Piecing:
    """A lay in which some panels are joined from two: the question as it then stands, the result, what is joined, and how many
    panels are missing even so."""

    asked: Asked
    result: Result
    joined: tuple[Joined, ...]
    missing: int

    @property
    def count(self) -> int:
        return sum(each.count for each in self.joined)

    @property
    def saved(self) -> float:
        """mm² of panels for which no cloth need be found."""
        return sum(each.count * each.whole for each in self.joined)

    @property
    def more(self) -> float:
        """mm² that the seams take."""
        return sum(each.count * each.more for each in self.joined)

    @property
    def seams(self) -> float:
        """mm to be sewn."""
        return sum(each.count * each.seam for each in self.joined)


def piecing(
    workroom: Workroom, asked: Asked | None, result: Result, *, job: str, terms: Terms, effort: Effort
) -> Piecing | None:
    """The lay in `result` with what it lacks joined from two, as much of it as is found; None where nothing is, or no piece
    permits it. `asked`: the question it answers, None where nothing in the bin would do for a whole panel.

    Raises what `asking.ask` raises.
    """
    if not permits(workroom, job):
        return None
    wide = asked if asked and asked.replaces else ask(workroom, job, replace(terms, any_size=True, spares=False))
    work = _Work.of(workroom, wide, result)
    for name in sorted(work.lacking, key=lambda name: -work.lacking[name]):
        work.join(name, effort)
    return work.done()


def permits(workroom: Workroom, job: str) -> bool:
    """Whether any piece of a job may be joined from two."""
    with workroom.reading() as session:
        return any(piece.piece.joins or piece.piece.join_zones for piece in job_row_of(session, job).pieces)


@dataclass(slots=True)
class _Work:
    """The lay while panels are joined in it. `pieces` by job piece; `groups`: the remnants of each cloth, by tag."""

    wide: Asked
    case: Case
    fixed: tuple[Placement, ...]
    lacking: Counter[str]
    pieces: Mapping[int, Piece]
    seams: Mapping[int, tuple[Seam, ...]]
    groups: list[frozenset[str]]
    chosen: list[tuple[str, Parts, int, tuple[Panel, Panel]]]

    @classmethod
    def of(cls, workroom: Workroom, wide: Asked, result: Result) -> _Work:
        case = needed(wide)
        made = Counter(placement.panel for placement in result.placements)
        lacking = Counter({panel.id: panel.copies - made[panel.id] for panel in case.panels if panel.copies > made[panel.id]})
        ids = {wide.panels[name].job_piece_id for name in lacking}
        with workroom.reading() as session:
            rows = session.scalars(select(JobPieceRow).where(JobPieceRow.id.in_(ids))).all()
            pieces = {row.id: piece_of(row.piece) for row in rows}
            seams = {row.id: pattern_of(row.piece.pattern).seams for row in rows}
            cloth = session.execute(
                select(RemnantRow.tag, RemnantRow.cloth_id).where(RemnantRow.tag.in_([sheet.id for sheet in case.sheets]))
            )
            groups: dict[int, set[str]] = {}
            for tag, cloth_id in cloth:
                groups.setdefault(cloth_id, set()).add(tag)
        area = {tag: worth.area for tag, worth in wide.worth.items()}
        several = sorted(groups.values(), key=lambda tags: -sum(area[tag] for tag in tags))
        return cls(wide, case, result.placements, lacking, pieces, seams, [frozenset(tags) for tags in several], [])

    def join(self, name: str, effort: Effort) -> None:
        """Join as many as are missing of a panel, or as many as are found."""
        tried = ((self._trial(name, parts, tags), parts) for parts in self._ways(name) for tags in self._cloths(name))
        found = [(self._pairs(case, 0, effort), case, parts) for case, parts in tried if not effort.stopped()]
        found.sort(key=lambda one: (-len(one[0]), one[2].more))
        if found and len(found[0][0]) < self.lacking[name]:
            harder = [
                (self._pairs(case, ROUNDS, effort), case, parts)
                for _, case, parts in found[:LOOKED_INTO]
                if not effort.stopped()
            ]
            found = sorted([*harder, *found], key=lambda one: (-len(one[0]), one[2].more))
        if not found or not found[0][0]:
            return
        pairs, case, parts = found[0]
        self.fixed = (*self.fixed, *(placement for pair in pairs for placement in pair))
        self.lacking[name] -= len(pairs)
        two = cast("tuple[Panel, Panel]", case.panels[-2:])
        self.chosen.append((name, parts, len(pairs), two))
        # Not the sheets of the trial: their flaws spare no panel of which nothing lies there yet.
        self.case = replace(self.case, sheets=tuple(_spares(sheet, name, two) for sheet in self.case.sheets))

    def _ways(self, name: str) -> Iterator[Parts]:
        """The permitted parts of a panel whose seam meets none that was chosen before."""
        id_ = self.wide.panels[name].job_piece_id
        for parts in permitted(self.pieces[id_]):
            others = (
                (self.pieces[self.wide.panels[other].job_piece_id], its.join)
                for other, its, _, _ in self.chosen
                if other != name
            )
            if not any(ends_meet(self.pieces[id_], parts.join, piece, its, self.seams[id_]) for piece, its in others):
                yield parts

    def _cloths(self, name: str) -> Iterator[frozenset[str]]:
        """The remnants of one cloth after the other that will do for a panel; of the lot of the others where it must be so."""
        on = next(panel.on for panel in self.case.panels if panel.id == name)
        lots = {self.wide.worth[p.sheet].lot for p in self.fixed if p.panel in self.wide.seen}
        same_lot = self.wide.one_lot and name in self.wide.seen and lots
        for tags in self.groups:
            mine = frozenset(tag for tag in tags if on is None or tag in on)
            mine = frozenset(tag for tag in mine if self.wide.worth[tag].lot in lots) if same_lot else mine
            if mine:
                yield mine

    def _trial(self, name: str, parts: Parts, tags: frozenset[str]) -> Case:
        """The case in which all that lies there stays, and the parts of what is missing of one panel are wanted."""
        whole = next(panel for panel in self.case.panels if panel.id == name)
        meant = self.wide.panels[name]
        two = tuple(self._part(whole, meant, parts, number, self.lacking[name], tuple(sorted(tags))) for number in (1, 2))
        made = Counter(placement.panel for placement in self.fixed)
        before = [replace(p, copies=made[p.id]) for p in self._all_panels() if made[p.id]]
        kept = {panel.id for panel in (*before, *two)}
        sheets = tuple(_spares(sheet, name, two).for_panels(kept) for sheet in self.case.sheets)
        return replace(self.case, panels=(*before, *two), sheets=sheets, fixed=self.fixed)

    def _all_panels(self) -> list[Panel]:
        return [*self.case.panels, *(panel for _, _, _, two in self.chosen for panel in two)]

    def _part(self, whole: Panel, meant: Meant, parts: Parts, number: int, copies: int, on: tuple[str, ...]) -> Panel:
        """One part as a panel: on the grain as the whole is and at none of its other slants, so that both lie alike."""
        piece = self.pieces[meant.job_piece_id]
        turns = whole.turns if piece.grain is not Grain.EITHER_BIAS else tuple(t for t in whole.turns if t % 180 == 45)
        turns = turns if piece.grain is not Grain.FREE else TURNS[Grain.WARP_WISE]
        striped = any(any(sheet.repeat) for sheet in self.case.sheets if sheet.id in on)
        anchor = whole.anchor or (_middle(parts, meant.hand) if striped else None)
        return replace(
            whole,
            id=f"{whole.id}, part {number}",
            outline=line_of(parts.cut[number - 1], meant.hand),
            sound=line_of(parts.sewing[number - 1], meant.hand),
            copies=copies,
            turns=turns,
            off_grain=0.0,
            flip=False,
            anchor=anchor,
            on=on,
        )

    def _pairs(self, case: Case, rounds: int, effort: Effort) -> list[tuple[Placement, Placement]]:
        """The panels of which both parts were laid beside what is fixed."""
        new = added(at_once(case, rounds, effort.seed).placements, case.fixed)
        first, second = ([p for p in new if p.panel == panel.id] for panel in case.panels[-2:])
        return list(zip(first, second, strict=False))

    def done(self) -> Piecing | None:
        """The lay as it stands, and the question that it answers."""
        from nesting import sheet_cost

        if not self.chosen:
            return None
        joined = Counter(dict.fromkeys(self.wide.panels, 0))
        panels, meant = [], dict(self.wide.panels)
        for name, parts, count, two in self.chosen:
            joined[name] += count
            line = _seam_of(parts, self.wide.panels[name].hand)
            for number, panel in enumerate(two, 1):
                panels.append(replace(panel, copies=count))
                meant[panel.id] = replace(self.wide.panels[name], wanted=count, spares=0, part=number, seam=line)
        for panel in self.case.panels:
            if panel.copies > joined[panel.id]:
                panels.append(replace(panel, copies=panel.copies - joined[panel.id]))
            meant[panel.id] = replace(meant[panel.id], wanted=meant[panel.id].wanted - joined[panel.id], spares=0)
        kept = {panel.id for panel in panels}
        sheets = tuple(sheet.for_panels(kept) for sheet in self.case.sheets)
        case = replace(self.case, panels=tuple(panels), sheets=sheets)
        touched = {placement.sheet for placement in self.fixed}
        result = Result(
            placements=self.fixed,
            placed=len(self.fixed),
            complete=len(self.fixed) == sum(panel.copies for panel in panels),
            cost=sum(sheet_cost(sheet) for sheet in sheets if sheet.id in touched),
        )
        seen = self.wide.seen | {panel.id for name, _, _, two in self.chosen if name in self.wide.seen for panel in two}
        front = self.wide.front | {panel.id for name, _, _, two in self.chosen if name in self.wide.front for panel in two}
        panels_meant = {name: m for name, m in meant.items() if name in kept}
        asked = replace(self.wide, case=case, panels=panels_meant, seen=seen, front=front)
        return Piecing(asked, result, tuple(self._told()), sum(self.lacking.values()))

    def _told(self) -> Iterator[Joined]:
        for name, parts, count, _ in self.chosen:
            meant = self.wide.panels[name]
            piece, join = self.pieces[meant.job_piece_id], parts.join
            low_x, low_y, _, _ = piece.sewing_line.bounds
            yield Joined(
                piece=meant.piece,
                hand=meant.hand,
                count=count,
                along=join.along,
                off=join.off - (low_y if join.along else low_x),
                seam=join.seam,
                allowance=join.allowance,
                whole=piece.cut_line.area,
                more=parts.more,
                apart=ends_meet(piece, join, piece, join, self.seams[meant.job_piece_id]),
            )


def _spares(sheet: Sheet, name: str, two: Sequence[Panel]) -> Sheet:
    """The sheet with parts of a panel harmed by the flaws that harm the whole."""
    ids = {panel.id for panel in two}
    return replace(sheet, flaws=tuple(replace(f, spares=f.spares | ids) if name in f.spares else f for f in sheet.flaws))


def _seam_of(parts: Parts, hand: Hand | None) -> tuple[tuple[float, float], tuple[float, float]]:
    """The seam in the panel's own coordinates."""
    sign = -1.0 if hand is Hand.RIGHT else 1.0
    (ax, ay), (bx, by) = parts.join.line
    return ((ax, sign * ay), (bx, sign * by))


def _middle(parts: Parts, hand: Hand | None) -> tuple[float, float]:
    (ax, ay), (bx, by) = _seam_of(parts, hand)
    return (ax + bx) / 2, (ay + by) / 2
