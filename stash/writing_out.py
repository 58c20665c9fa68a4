"""The whole stash as plain text that another program can read in twenty years: JSON Lines, outlines as WKT.

The form is `fent-stash/1` (DEVELOPERS.md tells it in full; the first lines of every file tell it too). One JSON object a line,
in UTF-8: first the head, then for each table a line about it and a line for each of its rows. The same stash gives the same
bytes, and what is read back (`reading_in`) is the same stash to the last digit.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, BigInteger, Boolean, Column, Date, Double, Integer, Table, select
from sqlalchemy.orm import Session

from .tables import SCHEMA, Base, Moment, Shape, Word
from .workroom import Workroom

FORM = "fent-stash/1"
ABOUT = (
    "A workroom's whole stash of cloth, as Fent writes it out. One JSON object a line (JSON Lines, UTF-8).",
    "The first line is this head. Then, for each table, a line that names it under 'table', says what it is for and what its "
    "columns hold, and after it a line for each row: 'in' names the table, 'row' has the columns.",
    "Lengths and coordinates are millimetres, weights of cloth grams to the square metre, angles degrees counter-clockwise. "
    "Every 'area' and 'mass' is a whole number: hundredths of a square millimetre, and milligrams. Prices are whole cents of "
    "the currency in 'setting'. 'share' of a fibre is in hundredths of a per cent.",
    "Shapes are OGC well-known text (WKT), on the grain (the warp runs along x), right side of the cloth up. Moments are UTC "
    "(ISO 8601). A column that ends in '_id' has the 'id' of a row of another table.",
    "The cloth book is double entry: the rows of 'book_line' with the same 'entry_id' sum to zero in area and in mass; + goes "
    "into an account, - comes out of it. What is in the account 'bin' for a remnant is what is there of it.",
)


def write_out(workroom: Workroom, write: Callable[[str], object]) -> int:
    """Write the whole stash out, line by line (each with its line end), and return how many rows it has."""
    rows = 0
    with workroom.reading() as session:
        write(_line({"form": FORM, "tables": SCHEMA, "about": list(ABOUT)}))
        for table in Base.metadata.sorted_tables:
            write(_line(_told(table)))
            for row in _rows(session, table):
                write(_line({"in": table.name, "row": row}))
                rows += 1
    return rows


def _line(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False) + "\n"


def _told(table: Table) -> dict[str, object]:
    """What a table is for and what its columns hold."""
    classes = {mapper.local_table.name: mapper.class_ for mapper in Base.registry.mappers}  # type: ignore[attr-defined]
    about = " ".join((classes[table.name].__dict__.get("__doc__") or "").replace("`", "'").split())
    return {"table": table.name, "about": about, "columns": {column.name: _holds(column) for column in table.columns}}


def _holds(column: Column[Any]) -> str:
    kinds: dict[type, str] = {
        Shape: "shape (WKT)",
        Moment: "moment (UTC)",
        Date: "day",
        JSON: "JSON",
        Boolean: "true or false",
        Double: "number",
        BigInteger: "whole number",
        Integer: "whole number",
    }
    if isinstance(column.type, Word):
        kind = f"one of: {', '.join(column.type.words)}"
    else:
        kind = next((said for type_, said in kinds.items() if isinstance(column.type, type_)), "text")
    to = "".join(f"; the {key.column.name} of a row of {key.column.table.name}" for key in column.foreign_keys)
    return f"{kind}{to}{'; or null' if column.nullable else ''}"


def _rows(session: Session, table: Table) -> Iterator[dict[str, object]]:
    asked = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=500)
    for row in session.execute(asked).mappings():
        yield {column.name: _plain(column, row[column.name]) for column in table.columns}


def _plain(column: Column[Any], value: Any) -> object:
    if value is None:
        return None
    if isinstance(column.type, Shape):
        from .wkt import written

        return written(value)
    if isinstance(value, datetime):
        return value.replace(tzinfo=None).isoformat() + "Z"
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, StrEnum) else value
