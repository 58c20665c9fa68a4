"""A stash read in from plain text (`writing_out`), into a stash in which there is nothing yet: the same to the last digit.

The tables are made as they were in the version that wrote the text, filled, and then brought up to date like any older stash.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, Column, Connection, Date, DateTime, LargeBinary, MetaData, Table, func, insert, select, text

from .connecting import engine_of, file_of, in_plain_words, look_at_file, shown, url_of, workroom_address
from .refusals import Refused, WrongState
from .schema import VERSION_TABLE, tables_at, version_of, write_ahead
from .writing_out import FORM

AT_ONCE = 500
"""Rows that are put into the database with one statement."""


@dataclass(frozen=True, slots=True)
class ReadIn:
    """How many rows were read in, into how many tables."""

    rows: int
    tables: int


def read_in(lines: Iterable[str], address: str | os.PathLike[str] | None = None) -> ReadIn:
    """Fill a stash that is not there yet, or in which there is nothing, from the lines of a text. All of it or nothing.

    Raises Refused, with the number of the line, for what is no such text; NewerStash for one by a newer Fent; WrongState for a
    stash in which there is something, or that cannot be made as the text needs it.
    """
    numbered = enumerate(lines, 1)
    version = _head(numbered)
    url = url_of(workroom_address(address))
    look_at_file(url, create=True)
    file = file_of(url)
    new = file is not None and not file.exists()
    engine = engine_of(url)
    try:
        if new:
            write_ahead(engine)
        with in_plain_words(shown(url)), engine.execution_options(writes=True).connect() as connection, connection.begin():
            _make(connection, version, shown(url))
            return _fill(connection, numbered)
    except BaseException:
        engine.dispose()
        if new and file is not None:
            file.unlink(missing_ok=True)
        raise
    finally:
        engine.dispose()


def _head(lines: Iterator[tuple[int, str]]) -> str:
    """The version of the tables that the text was written from."""
    head = _read(*next(lines, (1, "")))
    if head.get("form") != FORM or not isinstance(head.get("tables"), str):
        raise Refused("it is not a stash that was written out", where="line 1", expected=f'a head that says "form": "{FORM}"')
    return str(head["tables"])


def _make(connection: Connection, version: str, address: str) -> None:
    """See that the tables are there as that version has them, and that nothing is in them."""
    there = version_of(connection, address)
    if there is None:
        tables_at(connection, version, "the text")
        return
    reflected = MetaData()
    reflected.reflect(connection)
    full = [
        t.name
        for t in reflected.sorted_tables
        if t.name != VERSION_TABLE and connection.scalar(select(func.count()).select_from(t))
    ]
    if full:
        raise WrongState(
            f"there is something in {address} already ({', '.join(full[:3])} …)",
            where="workroom",
            expected="a stash in which there is nothing",
            next="Name a file that is not there yet with --workroom",
        )
    if there != version:
        raise WrongState(
            f"{address} has tables of version {there}, and the text has those of version {version}",
            where="workroom",
            expected="a stash that is not there yet",
            next="Name a file that is not there yet with --workroom",
        )


def _fill(connection: Connection, lines: Iterator[tuple[int, str]]) -> ReadIn:
    reflected = MetaData()
    reflected.reflect(connection)
    if connection.dialect.name == "sqlite":
        connection.execute(text("PRAGMA defer_foreign_keys = ON"))
    seen: list[str] = []
    count = 0
    waiting: list[dict[str, Any]] = []

    def put_in() -> None:
        if waiting:
            connection.execute(insert(reflected.tables[seen[-1]]), waiting)
            waiting.clear()

    for number, line in lines:
        told = _read(number, line)
        where = f"line {number}"
        if "table" in told:
            put_in()
            if told["table"] not in reflected.tables or told["table"] in seen:
                raise Refused(f"there is no table {told['table']!r:.40} to fill now", where=where, expected="each table once")
            seen.append(told["table"])
            continue
        if not seen or told.get("in") != seen[-1] or not isinstance(told.get("row"), dict):
            raise Refused("a row of another table", where=where, expected="the rows of a table after the line about it")
        waiting.append(_row(reflected.tables[seen[-1]], told["row"], where))
        count += 1
        if len(waiting) == AT_ONCE:
            put_in()
    put_in()
    missing = set(reflected.tables) - set(seen) - {VERSION_TABLE}
    if missing:
        raise Refused(f"the text ends before {sorted(missing)[0]}", where="its end", expected="all tables")
    _see_that_it_holds_together(connection)
    return ReadIn(count, len(seen))


def _row(table: Table, row: dict[str, Any], where: str) -> dict[str, Any]:
    names = {column.name for column in table.columns}
    if set(row) != names:
        odd = sorted(set(row) ^ names)[0]
        raise Refused(
            f"{odd!r:.40} is {'missing' if odd in names else 'no column'}", where=where, expected=", ".join(sorted(names))
        )
    try:
        return {column.name: _value(column, row[column.name]) for column in table.columns}
    except (ValueError, TypeError, AttributeError) as fault:
        raise Refused(f"it cannot be read: {fault}", where=where, expected="what the line about its table says") from None


def _value(column: Column[Any], value: Any) -> Any:
    if value is None:
        return None
    readers: tuple[tuple[type, Callable[[Any], Any]], ...] = (
        (LargeBinary, _shape),
        (DateTime, lambda said: datetime.fromisoformat(said).replace(tzinfo=None)),
        (Date, date.fromisoformat),
        (JSON, lambda said: said),
    )
    for kind, read in readers:
        if isinstance(column.type, kind):
            return read(value)
    if isinstance(value, list | dict):
        raise ValueError(f"{column.name} is a list")
    return value


def _shape(said: str) -> bytes:
    import shapely

    from .wkt import read

    return bytes(shapely.to_wkb(read(said)))


def _read(number: int, line: str) -> dict[str, Any]:
    try:
        told = json.loads(line)
    except ValueError:
        told = None
    if not isinstance(told, dict):
        raise Refused("it is no JSON object", where=f"line {number}", expected="JSON Lines, one object a line")
    return told


def _see_that_it_holds_together(connection: Connection) -> None:
    """No row may name one that is not there; numbers go on after the last."""
    if connection.dialect.name == "sqlite":
        astray = connection.execute(text("PRAGMA foreign_key_check")).fetchone()
        if astray is not None:
            raise Refused(
                f"a row of {astray[0]} names one of {astray[2]} that is not there", where="its rows", expected="a whole stash"
            )
    elif connection.dialect.name == "postgresql":
        reflected = MetaData()
        reflected.reflect(connection)
        for table in reflected.sorted_tables:
            if "id" in table.columns:
                last = connection.scalar(select(func.max(table.c.id)))
                if last:
                    connection.execute(select(func.setval(func.pg_get_serial_sequence(table.name, "id"), last)))
