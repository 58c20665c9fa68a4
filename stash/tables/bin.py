"""The tables of what there is: cloths, places, remnants with their faults and edges, envelopes."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from ..words import EdgeKind, Face, FaultKind, GrainBy, MayLie, Nap, RemnantState, Source, Way
from .columns import Base, BaseGeometry, Moment, Shape, Word


class ClothRow(Base):
    """`key` is the name as it is compared: capitals and spacing do not matter. `weight_within`: g/m² by which a weighed weight
    may be out. `shrinks_warp`, `shrinks_weft`: per cent. `frays`, `thickness`: mm. `price`: whole cents a metre.
    `repeat_along`, `repeat_across`: mm from one bar of its stripe or check to the next like it; `bar`: which bar is measured;
    `uneven_along`, `uneven_across`: it is not the same read backwards."""

    __tablename__ = "cloth"
    __table_args__ = (CheckConstraint("weight > 0", "weight"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)
    weight: Mapped[float]
    weight_within: Mapped[float | None]
    weave: Mapped[str] = mapped_column(String(80))
    colour: Mapped[str] = mapped_column(String(80))
    lot: Mapped[str] = mapped_column(String(80))
    width: Mapped[float | None]
    selvedge: Mapped[float | None]
    one_way: Mapped[bool]
    faces_alike: Mapped[bool]
    shrinks_warp: Mapped[float | None]
    shrinks_weft: Mapped[float | None]
    frays: Mapped[float | None]
    thickness: Mapped[float | None]
    price: Mapped[int | None] = mapped_column(BigInteger)
    repeat_along: Mapped[float | None]
    repeat_across: Mapped[float | None]
    bar: Mapped[str] = mapped_column(String(80), default="")
    uneven_along: Mapped[bool] = mapped_column(default=False)
    uneven_across: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str] = mapped_column(Text)
    added_at: Mapped[datetime] = mapped_column(Moment)
    fibres: Mapped[list[FibreRow]] = relationship(cascade="all, delete-orphan", lazy="selectin")


class FibreRow(Base):
    """Part of a cloth's make-up. `share`: whole hundredths of a per cent, so that 100 % is exactly 10 000."""

    __tablename__ = "cloth_fibre"
    __table_args__ = (CheckConstraint("share > 0 AND share <= 10000", "share"),)

    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), primary_key=True)
    fibre: Mapped[str] = mapped_column(String(40), primary_key=True, index=True)
    share: Mapped[int]


class PlaceRow(Base):
    __tablename__ = "place"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)


class RemnantRow(Base):
    """A remnant. `outline` has no holes: they are faults. `area` (0.01 mm²) is outline less holes, `mass` (mg), `price` in
    whole cents. `confirmed_at`: when it was last seen to be as it stands here; None for a keeper that was only computed.

    `way`: how its outline was measured, `told`: the readings as they were told; None and "" for a keeper, which was computed.
    `within` (mm) and `area_within` (mm²): what the least sure corner, and the area, may be out by. `grain_by`: what showed the
    grain. `skew`: by how many degrees its weft is out of square to its warp, more than nought where the far end of a weft
    thread leans to the right; None where nobody has looked. `repeat_along`, `repeat_across`: its own repeat, where it is not
    its cloth's (washing shrinks it); `bar_x`, `bar_y`: where on it a bar lies, None where that was not measured.

    `revision` goes up whenever anything changes that a lay relies on: a lay remembers the revision it was tried with.
    """

    __tablename__ = "remnant"
    __table_args__ = (
        CheckConstraint("area > 0 AND mass >= 0", "amounts"),
        CheckConstraint("(state = 'held') = (held_by_id IS NOT NULL)", "held"),
        Index(None, "state", "cloth_id"),
        Index(None, "state", "rect_length", "rect_width"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    tag: Mapped[str] = mapped_column(String(40), unique=True)
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), index=True)
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("remnant.id"), index=True)
    state: Mapped[RemnantState] = mapped_column(Word(RemnantState))
    held_by_id: Mapped[int | None] = mapped_column(ForeignKey("lay.id"), index=True)
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"), index=True)

    outline: Mapped[BaseGeometry] = mapped_column(Shape, deferred=True)
    rough: Mapped[bool]
    one_way: Mapped[bool]
    grain_angle: Mapped[float]
    face_up: Mapped[Face] = mapped_column(Word(Face))
    nap: Mapped[Nap | None] = mapped_column(Word(Nap))
    way: Mapped[Way | None] = mapped_column(Word(Way))
    grain_by: Mapped[GrainBy | None] = mapped_column(Word(GrainBy))
    within: Mapped[float | None]
    area_within: Mapped[float | None]
    skew: Mapped[float | None]
    told: Mapped[str] = mapped_column(Text, default="")
    repeat_along: Mapped[float | None]
    repeat_across: Mapped[float | None]
    bar_x: Mapped[float | None]
    bar_y: Mapped[float | None]

    area: Mapped[int] = mapped_column(BigInteger)
    mass: Mapped[int] = mapped_column(BigInteger)
    weighed: Mapped[bool]
    length: Mapped[float]
    width: Mapped[float]
    rect_length: Mapped[float]
    rect_width: Mapped[float]

    washed: Mapped[str] = mapped_column(String(80))
    source: Mapped[Source | None] = mapped_column(Word(Source))
    price: Mapped[int | None] = mapped_column(BigInteger)
    came_on: Mapped[date]
    note: Mapped[str] = mapped_column(Text)
    logged_at: Mapped[datetime] = mapped_column(Moment)
    confirmed_at: Mapped[datetime | None] = mapped_column(Moment)
    confirmed_by: Mapped[str] = mapped_column(String(40))
    revision: Mapped[int]

    quarantined_at: Mapped[datetime | None] = mapped_column(Moment)
    quarantined_by: Mapped[str] = mapped_column(String(40))
    quarantine_reason: Mapped[str] = mapped_column(Text)
    released_at: Mapped[datetime | None] = mapped_column(Moment)
    released_by: Mapped[str] = mapped_column(String(40))

    cloth: Mapped[ClothRow] = relationship()
    place: Mapped[PlaceRow | None] = relationship()
    parent: Mapped[RemnantRow | None] = relationship(remote_side=[id], back_populates="children")
    children: Mapped[list[RemnantRow]] = relationship(back_populates="parent", order_by="RemnantRow.id")
    faults: Mapped[list[FaultRow]] = relationship(cascade="all, delete-orphan", order_by="FaultRow.id")
    edges: Mapped[list[EdgeRow]] = relationship(cascade="all, delete-orphan", order_by="EdgeRow.id")

    @property
    def quarantined(self) -> bool:
        """Whether it may not be pulled now."""
        return self.quarantined_at is not None and self.released_at is None


class FaultRow(Base):
    """A hole or flaw: a polygon, or a line for a tear. `may_lie`: where it may lie, where that was said of this one."""

    __tablename__ = "remnant_fault"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    kind: Mapped[FaultKind] = mapped_column(Word(FaultKind))
    face: Mapped[Face] = mapped_column(Word(Face))
    shape: Mapped[BaseGeometry] = mapped_column(Shape)
    may_lie: Mapped[MayLie | None] = mapped_column(Word(MayLie))


class EdgeRow(Base):
    """A part of the rim that is not plainly cut. It is kept as a line, not as the number of a side, so that it outlives
    mending, mirroring and the next cut."""

    __tablename__ = "remnant_edge"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    kind: Mapped[EdgeKind] = mapped_column(Word(EdgeKind))
    line: Mapped[BaseGeometry] = mapped_column(Shape)


class RemnantBeforeRow(Base):
    """What a remnant was before it was measured again or washed: the cloth that was there, and its booked amounts. `was`: all
    that such an event changes, to be put back if it is undone (None where an older Fent kept none)."""

    __tablename__ = "remnant_before"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    entry_id: Mapped[int | None] = mapped_column(ForeignKey("book_entry.id"), index=True)
    at: Mapped[datetime] = mapped_column(Moment)
    shape: Mapped[BaseGeometry] = mapped_column(Shape)
    rough: Mapped[bool]
    area: Mapped[int] = mapped_column(BigInteger)
    mass: Mapped[int] = mapped_column(BigInteger)
    was: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))


class PhotographRow(Base):
    """A photograph of a remnant, kept in the folder beside the stash. `name`: its SHA-256 and its kind, by which it is known
    to be unchanged."""

    __tablename__ = "photograph"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(Text)
    kept_at: Mapped[datetime] = mapped_column(Moment)
    kept_by: Mapped[str] = mapped_column(String(40))


class RemnantJoinedRow(Base):
    """A remnant that was sewn together from others (`part_id`), which are no more."""

    __tablename__ = "remnant_joined"

    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), primary_key=True, index=True)


class ClothBeforeRow(Base):
    """What a cloth was said to weigh (g/m²) before it was weighed again. `entry_id`: None where no remnant was booked anew."""

    __tablename__ = "cloth_before"

    id: Mapped[int] = mapped_column(primary_key=True)
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), index=True)
    entry_id: Mapped[int | None] = mapped_column(ForeignKey("book_entry.id"), index=True)
    at: Mapped[datetime] = mapped_column(Moment)
    weight: Mapped[float]
    weight_within: Mapped[float | None]


class EnvelopeRow(Base):
    """Offcuts too small to outline. `area` (0.01 mm²) and `mass` (mg) are what the book has in it."""

    __tablename__ = "envelope"
    __table_args__ = (CheckConstraint("area >= 0 AND mass >= 0", "amounts"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    tag: Mapped[str] = mapped_column(String(40), unique=True)
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), index=True)
    lot: Mapped[str] = mapped_column(String(80))
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"), index=True)
    area: Mapped[int] = mapped_column(BigInteger)
    mass: Mapped[int] = mapped_column(BigInteger)
    note: Mapped[str] = mapped_column(Text)
    opened_at: Mapped[datetime] = mapped_column(Moment)
    cloth: Mapped[ClothRow] = relationship()
    place: Mapped[PlaceRow | None] = relationship()
