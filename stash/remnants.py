"""Remnants: logging one, showing it, keeping it apart. How one is settled onto its grain when it is logged: `settling`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import LargeBinary, select, type_coerce
from sqlalchemy.orm import Session

from nesting import Point, Ring

from .amounts import grams, square_mm
from .book import Posting, post
from .cloths import Cloth, cloth_of
from .cloths import row_of as cloth_row_of
from .given import LONGEST_INITIALS, a_day, a_description, a_reason, a_tag, initials, key_of, unknown
from .refusals import Held, Taken, WrongState
from .settings import a_price
from .tables import EdgeRow, EnvelopeRow, FaultRow, LineRow, MendedRow, PlaceRow, RemnantRow, is_line
from .words import Account, EdgeKind, Event, Face, FaultKind, GrainBy, MayLie, Nap, RemnantState, Source, Subject, Way
from .workroom import Workroom

if TYPE_CHECKING:
    from shapely import LineString, Polygon

    from .outlines import Measured

# Geometry is imported where it is used: much that is asked of a remnant needs none, and shapely takes long to load.


@dataclass(frozen=True, slots=True)
class NewFault:
    """A hole or flaw as measured, in the same coordinates as the outline. A ring of two points is a tear. `may_lie`: where it
    may come to lie, if not where others of its kind may."""

    kind: FaultKind
    ring: Ring
    face: Face = Face.BOTH
    may_lie: MayLie | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRemnant:
    """A remnant as it is told to the stash.

    `grain_angle`: degrees, counter-clockwise, from the x of the measured outline to the grain arrow (the warp).
    `face_up`: the face that was up when it was measured. `nap`: which way it runs; must be said for a one-way cloth.
    `mass`: g, if the remnant itself was weighed; else it follows from area and g/m². `washed`: how ("cold, by hand"), "" if
    not. `place` is made if there is none of that name. `price`: whole cents, what was paid for it. `came_on`: the day it came
    in, None for today. `grain_by`: what showed the grain. `told`: the readings as they were told, kept beside the outline.
    `bar_left`, `bar_near`: how far (mm) a bar of its stripe or check lies from its left end and from its near edge, as it lies
    before the measurer, grain from left to right. `skew`: degrees by which its weft is out of square, as it lies, above 0
    where the far end of a weft thread leans to the right; None where nobody has looked.
    """

    tag: str
    cloth: str
    outline: Measured
    grain_angle: float = 0.0
    face_up: Face = Face.RIGHT
    nap: Nap | None = None
    faults: tuple[NewFault, ...] = ()
    place: str = ""
    washed: str = ""
    mass: float | None = None
    source: Source = Source.FOUND
    price: int | None = None
    came_on: date | None = None
    note: str = ""
    grain_by: GrainBy = GrainBy.LAID
    told: str = ""
    bar_left: float | None = None
    bar_near: float | None = None
    skew: float | None = None


@dataclass(frozen=True, slots=True)
class FaultTold:
    """A hole or flaw, told without where it is. A `tear` is a hole that takes no cloth."""

    kind: FaultKind
    face: Face
    tear: bool
    may_lie: MayLie | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """A hole or flaw on the grain and right side: a polygon, or a line for a tear."""

    kind: FaultKind
    shape: Polygon | LineString
    face: Face
    may_lie: MayLie | None = None


@dataclass(frozen=True, slots=True)
class Edge:
    """Part of the rim that is not plainly cut."""

    kind: EdgeKind
    line: LineString


@dataclass(frozen=True, slots=True, kw_only=True)
class RemnantTold:
    """What is said of a remnant in the stash, but for its outline (mm, mm², g): all that most who look at one ask.

    `area` is the cloth that is there: outline less holes, as booked.
    `length`, `width`: its greatest extent along and across the grain; `rect_length`, `rect_width`: its largest rectangle.
    `way`: how its outline was measured, `told` by which readings; None and "" for a keeper, which was computed. `within` (mm),
    `area_within` (mm²): what its least sure corner, and its area, may be out by, ±. `grain_by`: what showed the grain.
    `repeat_along`, `repeat_across` (mm): of its stripe or check, its own or its cloth's; `bar_x`, `bar_y`: where on it a bar
    lies, None where there is none or it was not measured. `skew`: degrees by which its weft is out of square (`squareness`).
    `confirmed`: someone had it in hand as it stands here (a keeper is computed first). `quarantine`: the reason, "" if it is
    in none; the moments and names beside it are those of the last one, also when it is over.
    """

    id: int
    tag: str
    cloth: Cloth
    state: RemnantState
    rough: bool
    one_way: bool
    area: float
    mass: float
    weighed: bool
    length: float
    width: float
    rect_length: float
    rect_width: float
    place: str
    washed: str
    source: Source | None
    price: int | None
    came_on: date
    note: str
    grain_angle: float
    face_up: Face
    nap: Nap | None
    way: Way | None
    within: float | None
    area_within: float | None
    grain_by: GrainBy | None
    told: str
    repeat_along: float | None
    repeat_across: float | None
    bar_x: float | None
    bar_y: float | None
    skew: float | None
    parent: str | None
    children: tuple[str, ...]
    held_by: int | None
    confirmed: bool
    quarantine: str
    quarantined_at: datetime | None
    quarantined_by: str
    released_at: datetime | None
    released_by: str
    logged_at: datetime
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RemnantSeen(RemnantTold):
    """The same with the kinds of its faults and edges; and, of one whose bars are measured, the near left `corner` that they
    are measured from, in its own coordinates."""

    faults: tuple[FaultTold, ...]
    edges: tuple[EdgeKind, ...]
    corner: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remnant(RemnantTold):
    """A remnant in the stash, on the grain and right side up. `outline` has no holes: those are faults."""

    outline: Polygon
    faults: tuple[Fault, ...]
    edges: tuple[Edge, ...]

    @property
    def shape(self) -> Polygon:
        """The cloth that is there: the outline less the holes."""
        from .settling import cloth_in

        return cast("Polygon", cloth_in(self.outline, [fault.shape for fault in self.faults if fault.kind is FaultKind.HOLE]))


def log(workroom: Workroom, remnant: NewRemnant, *, by: str = "") -> Remnant:
    """Log a remnant: settle its outline, put it in the bin, post the entry.

    Raises Refused (Taken, Unknown, BadOutline …) and then nothing is kept.
    """
    from .settling import settled

    tag = a_tag(remnant.tag)
    with workroom.writing() as session:
        cloth = cloth_row_of(session, remnant.cloth)
        tag_must_be_free(session, tag)
        row = settled(remnant, cloth)
        row.price = a_price(session, remnant.price)
        row.tag = tag
        row.place = place_row_of(session, remnant.place)
        row.logged_at = row.confirmed_at = workroom.now()
        row.confirmed_by = " ".join(by.split())[:LONGEST_INITIALS]
        today = workroom.now().date()
        row.came_on = today if remnant.came_on is None else a_day(remnant.came_on, "the day it came", today)
        session.add(row)
        session.flush()
        amount = {"cloth_id": cloth.id, "remnant_id": row.id}
        post(
            session,
            Posting(at=workroom.now(), event=Event.LOGGED, by=by.strip(), price=row.price),
            [
                LineRow(account=Account.IN, detail=str(remnant.source), area=-row.area, mass=-row.mass, **amount),
                LineRow(account=Account.BIN, detail="", area=row.area, mass=row.mass, **amount),
            ],
        )
        return remnant_of(row)


def tag_must_be_free(session: Session, tag: str) -> None:
    """Raise Taken where a remnant or an envelope has that tag: what is chalked on it must say which."""
    for table, what, show in ((RemnantRow, "a remnant", "fent bin show"), (EnvelopeRow, "an envelope", "fent envelope show")):
        if session.scalar(select(table.id).where(table.tag == tag)) is not None:
            raise Taken(f"there is {what} {tag} already", where="tag", next=f"Look at it with `{show}`, or choose another tag")


def get(workroom: Workroom, tag: str) -> Remnant:
    """The remnant of that tag (capitals do not matter). Raises Unknown, with close tags."""
    with workroom.reading() as session:
        return remnant_of(row_of(session, tag))


def look_at(workroom: Workroom, tag: str) -> RemnantSeen:
    """The remnant of that tag as it is told in words, for which no geometry is loaded. Raises Unknown."""
    with workroom.reading() as session:
        row = row_of(session, tag)
        shape = type_coerce(FaultRow.shape, LargeBinary)
        faults = select(FaultRow.kind, FaultRow.face, shape, FaultRow.may_lie).order_by(FaultRow.id)
        edges = select(EdgeRow.kind).where(EdgeRow.remnant_id == row.id).order_by(EdgeRow.id)
        return RemnantSeen(
            **_said(row),
            faults=tuple(
                FaultTold(kind, face, kind is FaultKind.HOLE and is_line(wkb), where)
                for kind, face, wkb, where in session.execute(faults.where(FaultRow.remnant_id == row.id))
            ),
            edges=tuple(session.scalars(edges)),
            # Only then is geometry loaded, which takes longer than all else that is shown.
            corner=None if row.bar_x is None and row.bar_y is None else row.outline.bounds[:2],
        )


def put_apart(workroom: Workroom, tag: str, reason: str, *, by: str) -> Remnant:
    """Quarantine a remnant (moth, mould, unknown dust): no lay may use it until a named person releases it.

    Raises Refused without a reason or initials; WrongState if it is not in the bin, or in quarantine already.
    """
    why = a_reason(reason, "a quarantine")
    who = initials(by, "a quarantine")
    with workroom.writing() as session:
        row = row_of(session, tag)
        if row.state not in (RemnantState.IN_BIN, RemnantState.HELD) or row.quarantined:
            stands = "in quarantine already" if row.quarantined else str(row.state)
            raise WrongState(f"{row.tag} is {stands}", where="remnant", expected="a remnant in the bin, not in quarantine")
        row.quarantined_at, row.quarantined_by, row.quarantine_reason = workroom.now(), who, why
        row.released_at, row.released_by = None, ""
        session.add(_noted(row, row.quarantined_at, who, "", why))
        session.flush()
        return remnant_of(row)


def release(workroom: Workroom, tag: str, *, by: str) -> Remnant:
    """Let a remnant out of quarantine, under the name of whoever says so: lays that were tried on it are good again.

    Raises WrongState if it is in none; Refused without a name.
    """
    who = initials(by, "a release from quarantine")
    with workroom.writing() as session:
        row = row_of(session, tag)
        if not row.quarantined:
            raise WrongState(f"{row.tag} is not in quarantine", where="remnant", expected="a remnant in quarantine")
        row.released_at, row.released_by = workroom.now(), who
        session.add(_noted(row, row.released_at, who, row.quarantine_reason, ""))
        session.flush()
        return remnant_of(row)


def _noted(row: RemnantRow, at: datetime, by: str, before: str, after: str) -> MendedRow:
    """A quarantine begun or ended, kept among what was mended, where later ones do not write it over."""
    of = {"subject": Subject.REMNANT, "subject_id": row.id, "what": "quarantine", "note": ""}
    return MendedRow(at=at, by=by, before=before, after=after, **of)


def must_be_free(row: RemnantRow, *, to: str, even_apart: bool = False) -> None:
    """Raise Held, or WrongState, unless a remnant is in the bin, held by no lay and (unless `even_apart`) in no quarantine."""
    if row.state is RemnantState.HELD:
        raise Held(
            f"lay {row.held_by_id} holds {row.tag}",
            where="remnant",
            expected=f"a remnant that no lay holds, to {to}",
            next=f"Cut lay {row.held_by_id}, or rub it out with `fent lay rub-out {row.held_by_id}`",
        )
    if row.state is not RemnantState.IN_BIN:
        raise WrongState(f"{row.tag} is {row.state}", where="remnant", expected=f"a remnant in the bin, to {to}")
    if row.quarantined and not even_apart:
        raise WrongState(
            f"{row.tag} is in quarantine: {row.quarantine_reason}",
            where="remnant",
            expected=f"a remnant in no quarantine, to {to}",
            next=f"Someone who knows that it is safe may release it with `fent bin release {row.tag}`",
        )


def row_of(session: Session, tag: str) -> RemnantRow:
    """The row of the remnant of that tag. Raises Unknown."""
    row = session.scalar(select(RemnantRow).where(RemnantRow.tag == " ".join(tag.split()).upper()))
    if row is None:
        raise unknown("remnant", tag, session.scalars(select(RemnantRow.tag)), listed="fent bin list")
    return row


def place_row_of(session: Session, name: str) -> PlaceRow | None:
    """The row of a place, made if there is none of that name; None for ""."""
    name = a_description(name, "place")
    if not name:
        return None
    row = session.scalar(select(PlaceRow).where(PlaceRow.key == key_of(name)))
    return row or PlaceRow(name=name, key=key_of(name))


def remnant_of(row: RemnantRow) -> Remnant:
    """The remnant that a row holds."""
    return Remnant(
        **_said(row),
        outline=cast("Polygon", row.outline),
        faults=tuple(Fault(f.kind, cast("Polygon | LineString", f.shape), f.face, f.may_lie) for f in row.faults),
        edges=tuple(Edge(e.kind, cast("LineString", e.line)) for e in row.edges),
    )


def told_of(row: RemnantRow) -> RemnantTold:
    """The same without its outline, for which no geometry is loaded."""
    return RemnantTold(**_said(row))


def _said(row: RemnantRow) -> dict[str, Any]:
    return {
        "id": row.id,
        "tag": row.tag,
        "cloth": cloth_of(row.cloth),
        "state": row.state,
        "rough": row.rough,
        "one_way": row.one_way,
        "area": square_mm(row.area),
        "mass": grams(row.mass),
        "weighed": row.weighed,
        "length": row.length,
        "width": row.width,
        "rect_length": row.rect_length,
        "rect_width": row.rect_width,
        "place": row.place.name if row.place else "",
        "washed": row.washed,
        "source": row.source,
        "price": row.price,
        "came_on": row.came_on,
        "note": row.note,
        "grain_angle": row.grain_angle,
        "face_up": row.face_up,
        "nap": row.nap,
        "way": row.way,
        "within": row.within,
        "area_within": row.area_within,
        "grain_by": row.grain_by,
        "told": row.told,
        "repeat_along": row.cloth.repeat_along if row.repeat_along is None else row.repeat_along,
        "repeat_across": row.cloth.repeat_across if row.repeat_across is None else row.repeat_across,
        "bar_x": row.bar_x,
        "bar_y": row.bar_y,
        "skew": row.skew,
        "parent": row.parent.tag if row.parent else None,
        "children": tuple(child.tag for child in row.children),
        "held_by": row.held_by_id,
        "confirmed": row.confirmed_at is not None,
        "quarantine": row.quarantine_reason if row.quarantined else "",
        "quarantined_at": row.quarantined_at,
        "quarantined_by": row.quarantined_by,
        "released_at": row.released_at,
        "released_by": row.released_by,
        "logged_at": row.logged_at,
        "revision": row.revision,
    }
