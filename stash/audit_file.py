"""The audit of the file itself: can everything be read, does everything point to something, is the book still guarded."""

from __future__ import annotations

import json
from collections.abc import Iterator

from sqlalchemy import JSON, Column, Table, func, inspect, select, text, type_coerce
from sqlalchemy.orm import Session
from sqlalchemy.types import LargeBinary, String

from .audit import RESTORE, Damage, Found
from .tables import Base, Shape, Word

GUARDS = {
    "sqlite": (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        {
            *("book_entry_no_update", "book_entry_no_delete", "book_line_no_update", "book_line_no_delete"),
            "book_line_complete",
        },
    ),
    "postgresql": (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
        {"book_entry_only_appended", "book_line_only_appended", "book_line_complete"},
    ),
}
"""By kind of database: how the guards of the book are found there, and what they are called (`migrations`)."""


def the_file(session: Session) -> Iterator[Found]:
    """What SQLite itself finds wrong with its file."""
    if session.get_bind().dialect.name == "sqlite":
        said = [str(row[0]) for row in session.execute(text("PRAGMA integrity_check(20)"))]
        for complaint in said if said != ["ok"] else []:
            # A row that breaks a rule can be read all the same, and is told where it is found wrong too.
            damage = Damage.RULE if complaint.startswith("CHECK constraint") else Damage.FILE
            yield Found(damage, "the file", complaint, RESTORE)


def what_cannot_be_read(session: Session) -> Iterator[Found]:
    """Words that are none, texts that are no JSON, outlines that are no shapes."""
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            if isinstance(column.type, Word):
                yield from _words(session, table, column)
            elif isinstance(column.type, JSON):
                yield from _texts(session, table, column)
            elif isinstance(column.type, Shape):
                yield from _shapes(session, table, column)


def _words(session: Session, table: Table, column: Column[object]) -> Iterator[Found]:
    assert isinstance(column.type, Word)
    plain = type_coerce(column, String)
    for word, count in session.execute(select(plain, func.count()).group_by(plain)):
        if word is not None and word not in list(column.type.words):
            expected = ", ".join(column.type.words)
            yield Found(
                Damage.UNREADABLE,
                f"{table.name}.{column.name}",
                f"{count} × {word!r:.40}, which is none of: {expected}",
                RESTORE,
            )


def _texts(session: Session, table: Table, column: Column[object]) -> Iterator[Found]:
    key = table.primary_key.columns[0]
    for row, said in session.execute(select(key, type_coerce(column, String)).where(column.is_not(None))):
        try:
            json.loads(said) if isinstance(said, str) else said
        except ValueError:
            yield Found(Damage.UNREADABLE, f"{table.name} {row}", f"its {column.name} is no JSON", RESTORE)


def _shapes(session: Session, table: Table, column: Column[object]) -> Iterator[Found]:
    import shapely

    key = table.primary_key.columns[0]
    rows = list(session.execute(select(key, type_coerce(column, LargeBinary)).where(column.is_not(None))))
    read = shapely.from_wkb(
        [bytes(said) if isinstance(said, bytes | memoryview) else b"" for _, said in rows], on_invalid="ignore"
    )
    for (row, _), shape in zip(rows, read, strict=True):
        if shape is None:
            yield Found(Damage.UNREADABLE, f"{table.name} {row}", f"its {column.name} is no shape (OGC WKB)", RESTORE)


def what_points_nowhere(session: Session) -> Iterator[Found]:
    """Rows that name a row which is not there."""
    if session.get_bind().dialect.name == "sqlite":  # other databases cannot be brought to hold such a row
        for table, row, target, _ in session.execute(text("PRAGMA foreign_key_check")):
            yield Found(Damage.NOWHERE, f"{table} {row}", f"the {target} that it names is not there", RESTORE)


def the_guards(session: Session) -> Iterator[Found]:
    """The triggers that let nobody change the book."""
    dialect = session.get_bind().dialect.name
    if dialect in GUARDS:
        asked, expected = GUARDS[dialect]
        there = set(session.scalars(text(asked)))
        for name in sorted(expected - there):
            yield Found(Damage.GUARD, "the book", f"the guard {name} was taken away: entries may have been changed", RESTORE)
    missing = {table.name for table in Base.metadata.sorted_tables} - set(inspect(session.get_bind()).get_table_names())
    for name in sorted(missing):
        yield Found(Damage.FILE, "the file", f"the table {name} is missing", RESTORE)


CHECKS = (the_file, what_cannot_be_read, what_points_nowhere, the_guards)
