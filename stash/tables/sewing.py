"""The tables of what is to be sewn: patterns and their pieces, jobs and their cloth rules."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from ..words import Grain, Line
from .bin import ClothRow
from .columns import Base, BaseGeometry, Moment, Shape, Word


class PatternRow(Base):
    """A pattern. `seams`: which edges are sewn together, with their ease, as `stash.seams` writes them."""

    __tablename__ = "pattern"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)
    note: Mapped[str] = mapped_column(Text)
    added_at: Mapped[datetime] = mapped_column(Moment)
    seams: Mapped[list[dict[str, Any]]] = mapped_column(JSON, default=list)
    pieces: Mapped[list[PieceRow]] = relationship(back_populates="pattern", order_by="PieceRow.id")


class PieceRow(Base):
    """A pattern piece, grain line along +x. `allowances` belong to the sides of the `drawn` line, in its order.

    `edges` are runs of those sides, with their names (none: each side is one). `notches` lie on edges, `joins` are lines where
    it may be made of two, `join_zones` bands in which such a line may lie anywhere, `fold` is the line on which its pattern
    lies on the fold, `draft` the measures that it was drafted from. `count`: how many the pattern takes. `grain`: how its
    grain line lies on the cloth. `front`: it is looked at first, and gets the best cloth. `anchor`: the point of it that lies
    on a bar of a stripe or check.
    """

    __tablename__ = "pattern_piece"
    __table_args__ = (
        UniqueConstraint("pattern_id", "key"),
        CheckConstraint("off_grain >= 0 AND off_grain <= 45", "off_grain"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    pattern_id: Mapped[int] = mapped_column(ForeignKey("pattern.id"))
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80))
    sewing_line: Mapped[BaseGeometry] = mapped_column(Shape, deferred=True, deferred_group="lines")
    cut_line: Mapped[BaseGeometry] = mapped_column(Shape, deferred=True, deferred_group="lines")
    allowances: Mapped[list[float]] = mapped_column(JSON)
    drawn: Mapped[Line] = mapped_column(Word(Line))
    grain_angle: Mapped[float]
    one_way: Mapped[bool]
    left_and_right: Mapped[bool]
    hidden: Mapped[bool]
    off_grain: Mapped[float]
    count: Mapped[int] = mapped_column(default=1)
    edges: Mapped[list[dict[str, Any]]] = mapped_column(JSON, default=list)
    notches: Mapped[list[dict[str, Any]]] = mapped_column(JSON, default=list)
    joins: Mapped[list[dict[str, Any]]] = mapped_column(JSON, default=list)
    fold: Mapped[list[list[float]] | None] = mapped_column(JSON(none_as_null=True))
    draft: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    grain: Mapped[Grain] = mapped_column(Word(Grain), default=Grain.WARP_WISE)
    front: Mapped[bool] = mapped_column(default=False)
    anchor: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    join_zones: Mapped[list[dict[str, Any]]] = mapped_column(JSON, default=list)
    pattern: Mapped[PatternRow] = relationship(back_populates="pieces")


class JobRow(Base):
    """A job. `one_lot`: all its seen pieces of one dye lot; `pairs_together`: each left and right pair from one remnant.
    `matched`: pieces with an anchor are matched on cloth with a stripe or check; `mirrored`: left and right then mirror each
    other, else they are alike."""

    __tablename__ = "job"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(80), unique=True)
    note: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime] = mapped_column(Moment)
    one_lot: Mapped[bool]
    pairs_together: Mapped[bool]
    matched: Mapped[bool] = mapped_column(default=True)
    mirrored: Mapped[bool] = mapped_column(default=True)
    pieces: Mapped[list[JobPieceRow]] = relationship(back_populates="job", order_by="JobPieceRow.id")


class JobPieceRow(Base):
    """A piece that a job needs, and its cloth rule. The lists hold keys (as they are compared); empty: anything will do.
    `hidden`: whether it is hidden when worn, where the job says so; None: as the pattern piece says."""

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
    hidden: Mapped[bool | None]
    job: Mapped[JobRow] = relationship(back_populates="pieces")
    piece: Mapped[PieceRow] = relationship()
    cloths: Mapped[list[ClothRow]] = relationship(secondary="job_piece_cloth", order_by="ClothRow.id")


class JobPieceClothRow(Base):
    """The cloths that a rule names."""

    __tablename__ = "job_piece_cloth"

    job_piece_id: Mapped[int] = mapped_column(ForeignKey("job_piece.id"), primary_key=True)
    cloth_id: Mapped[int] = mapped_column(ForeignKey("cloth.id"), primary_key=True, index=True)
