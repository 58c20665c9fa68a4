"""The tables of what was written down: the cloth book, descriptions that were mended, settings that were chosen."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from ..words import Account, Event, Subject
from .bin import ClothRow, EnvelopeRow, RemnantRow
from .columns import Base, Moment, Word
from .sewing import JobRow


class EntryRow(Base):
    """An event in the cloth book. `line_count` is how many lines it has: triggers let no more be added, and none be changed.
    `price`: whole cents, what was paid or got for it. `whom`: to whom it was given or sold."""

    __tablename__ = "book_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(Moment, index=True)
    event: Mapped[Event] = mapped_column(Word(Event), index=True)
    by: Mapped[str] = mapped_column(String(40))
    note: Mapped[str] = mapped_column(Text)
    lay_id: Mapped[int | None] = mapped_column(ForeignKey("lay.id"), index=True)
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("book_entry.id"), unique=True)
    price: Mapped[int | None] = mapped_column(BigInteger)
    whom: Mapped[str] = mapped_column(String(80))
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


class SettingRow(Base):
    """A setting that was changed from its default: a figure, or `words`."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[float]
    words: Mapped[str | None] = mapped_column(String(40))
