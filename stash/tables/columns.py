"""How a value is kept in a column: outlines, moments and the fixed words; and the base of all tables."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Any, ClassVar

from sqlalchemy import DateTime, Dialect, Double, LargeBinary, MetaData, String, TypeDecorator
from sqlalchemy.orm import DeclarativeBase

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as BaseGeometry
else:
    BaseGeometry = object  # only named in hints: a list of remnants loads no outline, and shapely takes longer than the list


LINE = 2


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


def is_line(wkb: bytes) -> bool:
    """Whether a shape is a line, by what WKB says before all else: the order of bytes, then the kind (OGC 06-103r4, 8.2).

    >>> is_line(bytes.fromhex("0102000000")), is_line(bytes.fromhex("0000000003"))
    (True, False)
    """
    return int.from_bytes(wkb[1:5], "little" if wkb[0] else "big") == LINE


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
