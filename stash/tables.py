"""The stash's tables. `migrations` holds the same, change by change; a test keeps the two from drifting apart.

Outlines and shapes are OGC WKB in mm on the grain (+x is the warp), right side up; beside them stand plain columns to search
by. Lengths are mm and weights g/m², as floats; every `area` and `mass` is a booked amount: a whole number of 0.01 mm² or mg.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Any, ClassVar

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from .words import Account, EdgeKind, Event, Face, Fate, FaultKind, Hand, LayState, Line, Nap, RemnantState, Source, Subject

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry
else:
    BaseGeometry = object  # only named in hints: a list of remnants loads no outline, and shapely takes longer than the list

SCHEMA = "0002"
"""The head of `migrations/versions` that these tables are. A stash of this version is opened without loading Alembic."""


class Shape(TypeDecorator[BaseGeometry]):
    """A shapely geometry, kept as WKB."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: BaseGeometry | None, dialect: Dialect) -> bytes | None:
        if value is None:
            return None
        import shapely

        return bytes(shapely.to_wkb(value))

    def process_result_value(self, value: bytes | None, dialect: Dialect) -> BaseGeometry | None:
        if value is None:
            return None
        import shapely

        return shapely.from_wkb(bytes(value))


class Moment(TypeDecorator[datetime]):
    """A moment in UTC. SQLite keeps no time zone, so none is stored and UTC is put back on reading."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


class Word(TypeDecorator[Any]):
    """One of the fixed words, kept as the word itself, so that the tables can be read without the program."""

    impl = String(20)
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        return None if value is None else str(self.words(value))

    def process_result_value(self, value: Any, dialect: Dialect) -> StrEnum | None:
        return None if value is None else self.words(value)


class Base(DeclarativeBase):
    """All tables. Constraints are named by rule, so that a later migration can find them on every database."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {float: Double}


class ClothRow(Base):
    """`key` is the name as it is compared: capitals and spacing do not matter. `weight_within`: g/m² by which a weighed weight
    may be out. `shrinks_warp`, `shrinks_weft`: per cent. `price`: whole cents a metre."""

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
    price: Mapped[int | None] = mapped_column(BigInteger)
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
    """A hole or flaw: a polygon, or a line for a tear."""

    __tablename__ = "remnant_fault"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    kind: Mapped[FaultKind] = mapped_column(Word(FaultKind))
    face: Mapped[Face] = mapped_column(Word(Face))
    shape: Mapped[BaseGeometry] = mapped_column(Shape)


class EdgeRow(Base):
    """A part of the rim that is not plainly cut. It is kept as a line, not as the number of a side, so that it outlives
    mending, mirroring and the next cut."""

    __tablename__ = "remnant_edge"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    kind: Mapped[EdgeKind] = mapped_column(Word(EdgeKind))
    line: Mapped[BaseGeometry] = mapped_column(Shape)


class RemnantBeforeRow(Base):
    """What a remnant was before it was measured again: the cloth that was there, and its booked amounts."""

    __tablename__ = "remnant_before"

    id: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    entry_id: Mapped[int | None] = mapped_column(ForeignKey("book_entry.id"), index=True)
    at: Mapped[datetime] = mapped_column(Moment)
    shape: Mapped[BaseGeometry] = mapped_column(Shape)
    rough: Mapped[bool]
    area: Mapped[int] = mapped_column(BigInteger)
    mass: Mapped[int] = mapped_column(BigInteger)


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


class MendedRow(Base):
    """A description that was mended: whose (the kind and its id there), what, from what to what. Kept for good."""

    __tablename__ = "mended"
    __table_args__ = (Index(None, "subject", "subject_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(40))
    note: Mapped[str] = mapped_column(Text)
    subject: Mapped[Subject] = mapped_column(Word(Subject))
    subject_id: Mapped[int]
    what: Mapped[str] = mapped_column(String(40))
    before: Mapped[str] = mapped_column(Text)
    after: Mapped[str] = mapped_column(Text)


class PatternRow(Base):
    __tablename__ = "pattern"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)
    note: Mapped[str] = mapped_column(Text)
    added_at: Mapped[datetime] = mapped_column(Moment)
    pieces: Mapped[list[PieceRow]] = relationship(back_populates="pattern", order_by="PieceRow.id")


class PieceRow(Base):
    """A pattern piece, grain line along +x. `allowances` belong to the sides of the `drawn` line, in its order."""

    __tablename__ = "pattern_piece"
    __table_args__ = (
        UniqueConstraint("pattern_id", "key"),
        CheckConstraint("off_grain >= 0 AND off_grain <= 45", "off_grain"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    pattern_id: Mapped[int] = mapped_column(ForeignKey("pattern.id"))
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80))
    sewing_line: Mapped[BaseGeometry] = mapped_column(Shape)
    cut_line: Mapped[BaseGeometry] = mapped_column(Shape)
    allowances: Mapped[list[float]] = mapped_column(JSON)
    drawn: Mapped[Line] = mapped_column(Word(Line))
    grain_angle: Mapped[float]
    one_way: Mapped[bool]
    left_and_right: Mapped[bool]
    hidden: Mapped[bool]
    off_grain: Mapped[float]
    pattern: Mapped[PatternRow] = relationship(back_populates="pieces")


class JobRow(Base):
    __tablename__ = "job"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)
    note: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime] = mapped_column(Moment)
    pieces: Mapped[list[JobPieceRow]] = relationship(back_populates="job", order_by="JobPieceRow.id")


class JobPieceRow(Base):
    """A piece that a job needs, and its cloth rule. The lists hold keys (as they are compared); empty: anything will do."""

    __tablename__ = "job_piece"
    __table_args__ = (CheckConstraint("count > 0 AND spares >= 0", "counts"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("pattern_piece.id"), index=True)
    count: Mapped[int]
    spares: Mapped[int]
    fibres: Mapped[list[str]] = mapped_column(JSON)
    weight_from: Mapped[float | None]
    weight_to: Mapped[float | None]
    colours: Mapped[list[str]] = mapped_column(JSON)
    weaves: Mapped[list[str]] = mapped_column(JSON)
    washed: Mapped[bool]
    job: Mapped[JobRow] = relationship(back_populates="pieces")
    piece: Mapped[PieceRow] = relationship()
    cloths: Mapped[list[ClothRow]] = relationship(secondary="job_piece_cloth", order_by="ClothRow.id")


class JobPieceClothRow(Base):
    """The cloths that a rule names."""

    __tablename__ = "job_piece_cloth"

    job_piece_id: Mapped[int] = mapped_column(ForeignKey("job_piece.id"), primary_key=True)
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), primary_key=True, index=True)


class LayRow(Base):
    """A lay plan: the case it was tried on (only the sheets it uses), what the engine said of it, and placements. Never a
    picture: all that is drawn follows from these. `replaces_id`: the chalked lay that it plans again."""

    __tablename__ = "lay"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("lay.id"), index=True)
    state: Mapped[LayState] = mapped_column(Word(LayState), index=True)
    case: Mapped[dict[str, Any]] = mapped_column(JSON, deferred=True)
    gap: Mapped[float]
    edge: Mapped[float]
    placed: Mapped[int]
    bound: Mapped[int | None]
    proved: Mapped[bool]
    complete: Mapped[bool]
    cost: Mapped[float | None]
    least_cost: Mapped[float | None]
    rounds: Mapped[int]
    seed: Mapped[int]
    seconds: Mapped[float]
    note: Mapped[str] = mapped_column(Text)
    tried_at: Mapped[datetime] = mapped_column(Moment)
    tried_by: Mapped[str] = mapped_column(String(40))
    chalked_at: Mapped[datetime | None] = mapped_column(Moment)
    chalked_by: Mapped[str] = mapped_column(String(40))
    cut_at: Mapped[datetime | None] = mapped_column(Moment)
    cut_by: Mapped[str] = mapped_column(String(40))
    rubbed_out_at: Mapped[datetime | None] = mapped_column(Moment)
    rubbed_out_by: Mapped[str] = mapped_column(String(40))
    job: Mapped[JobRow] = relationship()
    replacements: Mapped[list[LayRow]] = relationship(viewonly=True, order_by="LayRow.id")
    counts: Mapped[list[LayCountRow]] = relationship(order_by="LayCountRow.job_piece_id")
    sheets: Mapped[list[LaySheetRow]] = relationship(order_by="LaySheetRow.position")
    panels: Mapped[list[LayPanelRow]] = relationship(order_by="LayPanelRow.number")


class LayCountRow(Base):
    """What the job still needed of a piece when the lay was tried."""

    __tablename__ = "lay_count"

    lay_id: Mapped[int] = mapped_column(ForeignKey("lay.id"), primary_key=True)
    job_piece_id: Mapped[int] = mapped_column(ForeignKey("job_piece.id"), primary_key=True)
    wanted: Mapped[int]
    spares: Mapped[int]
    job_piece: Mapped[JobPieceRow] = relationship()


class LaySheetRow(Base):
    """A remnant of a lay, and its revision when the lay was tried."""

    __tablename__ = "lay_sheet"

    lay_id: Mapped[int] = mapped_column(ForeignKey("lay.id"), primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), primary_key=True, index=True)
    position: Mapped[int]
    revision: Mapped[int]
    remnant: Mapped[RemnantRow] = relationship()


class LayPanelRow(Base):
    """A placement. `panel` is its id in the case. `area` and `mass` (0.01 mm², mg) are its share once it was cut."""

    __tablename__ = "lay_panel"
    __table_args__ = (UniqueConstraint("lay_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    lay_id: Mapped[int] = mapped_column(ForeignKey("lay.id"))
    number: Mapped[int]
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    job_piece_id: Mapped[int] = mapped_column(ForeignKey("job_piece.id"), index=True)
    panel: Mapped[str] = mapped_column(String(200))
    hand: Mapped[Hand | None] = mapped_column(Word(Hand))
    x: Mapped[float]
    y: Mapped[float]
    turn: Mapped[float]
    flipped: Mapped[bool]
    fate: Mapped[Fate] = mapped_column(Word(Fate))
    area: Mapped[int | None] = mapped_column(BigInteger)
    mass: Mapped[int | None] = mapped_column(BigInteger)


class EntryRow(Base):
    """An event in the cloth book. `lines` is how many lines it has: triggers let no more be added, and none be changed."""

    __tablename__ = "book_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(Moment, index=True)
    event: Mapped[Event] = mapped_column(Word(Event), index=True)
    by: Mapped[str] = mapped_column(String(40))
    note: Mapped[str] = mapped_column(Text)
    lay_id: Mapped[int | None] = mapped_column(ForeignKey("lay.id"), index=True)
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("book_entry.id"), unique=True)
    line_count: Mapped[int]
    lines: Mapped[list[LineRow]] = relationship(order_by="LineRow.id")


class LineRow(Base):
    """A line of an entry: 0.01 mm² and mg, + into the account, − out of it. `remnant_id`, `envelope_id`: whose area it
    is or was."""

    __tablename__ = "book_line"

    id: Mapped[int] = mapped_column(primary_key=True)
    entry_id: Mapped[int] = mapped_column(ForeignKey("book_entry.id"), index=True)
    account: Mapped[Account] = mapped_column(Word(Account), index=True)
    detail: Mapped[str] = mapped_column(String(80))
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), index=True)
    remnant_id: Mapped[int | None] = mapped_column(ForeignKey("remnant.id"), index=True)
    envelope_id: Mapped[int | None] = mapped_column(ForeignKey("envelope.id"), index=True)
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    area: Mapped[int] = mapped_column(BigInteger)
    mass: Mapped[int] = mapped_column(BigInteger)
    cloth: Mapped[ClothRow] = relationship()
    remnant: Mapped[RemnantRow | None] = relationship()
    envelope: Mapped[EnvelopeRow | None] = relationship()
    job: Mapped[JobRow | None] = relationship()


class SettingRow(Base):
    """A setting that was changed from its default: a figure, or `words`."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[float]
    words: Mapped[str | None] = mapped_column(String(40))
