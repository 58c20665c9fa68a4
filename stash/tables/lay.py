"""The tables of lay plans: which panel lies where on which remnant."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from ..words import Aim, Fate, Half, Hand, LayState
from .bin import RemnantRow
from .columns import Base, Moment, Word
from .sewing import JobPieceRow, JobRow


class LayRow(Base):
    """A lay plan: the case it was tried on (only the sheets it uses), what the engine said of it, and placements. Never a
    picture: all that is drawn follows from these. `replaces_id`: the chalked lay that it plans again. `aim`: what it was
    sought by, None for lays from before there were aims. `holds_until`: the last day on which a chalked lay holds its
    remnants. `slip` (mm): what each ply of its stacks may slip by; None for a lay of single remnants."""

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
    aim: Mapped[Aim | None] = mapped_column(Word(Aim))
    holds_until: Mapped[date | None]
    slip: Mapped[float | None]
    job: Mapped[JobRow] = relationship()
    replacements: Mapped[list[LayRow]] = relationship(viewonly=True, order_by="LayRow.id")
    counts: Mapped[list[LayCountRow]] = relationship(order_by="LayCountRow.job_piece_id")
    sheets: Mapped[list[LaySheetRow]] = relationship(order_by="LaySheetRow.position")
    panels: Mapped[list[LayPanelRow]] = relationship(order_by="LayPanelRow.number")
    plies: Mapped[list[LayPlyRow]] = relationship(order_by="LayPlyRow.stack, LayPlyRow.ply")


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


class LayPlyRow(Base):
    """A ply of a stack, 1 on top: a remnant, or half of one that is folded along y = `fold` of its own coordinates. It lies
    turned over across the grain if `flipped`, then turned by `turn` (0 or 180), then shifted by (`x`, `y`), in mm of the
    stack."""

    __tablename__ = "lay_ply"

    lay_id: Mapped[int] = mapped_column(ForeignKey("lay.id"), primary_key=True)
    stack: Mapped[int] = mapped_column(primary_key=True)
    ply: Mapped[int] = mapped_column(primary_key=True)
    remnant_id: Mapped[int] = mapped_column(ForeignKey("remnant.id"), index=True)
    x: Mapped[float]
    y: Mapped[float]
    turn: Mapped[float]
    flipped: Mapped[bool]
    fold: Mapped[float | None]
    half: Mapped[Half | None] = mapped_column(Word(Half))
    remnant: Mapped[RemnantRow] = relationship()


class LayPanelRow(Base):
    """A placement. `panel` is its id in the case. `area` and `mass` (0.01 mm², mg) are its share once it was cut. Of
    those cut through a stack, `tracing`: the number of the tracing that it is of, `ply`: the ply; None for one cut single.

    Of a panel that is joined from two, `part` says which this is (1 or 2), `joined` which of the lay's joined panels it is of,
    and `seam` the two ends of the seam in the panel's own coordinates."""

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
    tracing: Mapped[int | None]
    ply: Mapped[int | None]
    part: Mapped[int | None]
    joined: Mapped[int | None]
    seam: Mapped[list[list[float]] | None] = mapped_column(JSON(none_as_null=True))
