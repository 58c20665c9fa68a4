"""A table row by row, as a spreadsheet saves it (CSV) or as other programs write it (JSON Lines); what is wrong, by row.

In CSV the first line names the columns, in any order (capitals do not matter); commas, semicolons or tabs may part them. In
JSON Lines each line is an object whose keys are the columns; figures in it are mm, g and whole cents.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, TypeVar

from nesting import Ring

from .given import key_of
from .refusals import Plainly, Refused

MOST_ROWS = 5000
"""Rows in one table: more are a mistake, or better brought in parts."""
T = TypeVar("T")
E = TypeVar("E", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class Columns:
    """Which columns a table may have, and which it must. `called`: what a cell should be, where its column is not called
    so."""

    may_be: tuple[str, ...]
    must_be: tuple[str, ...]
    called: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong with a table. `row`: as the spreadsheet counts, the line of names being 1. `column`: "" for all of it."""

    row: int
    column: str
    what: str
    expected: str = ""

    def __str__(self) -> str:
        where = f"row {self.row}, {self.column}" if self.column else f"row {self.row}"
        return f"{where}: {self.what}" + (f"; expected {self.expected}" if self.expected else "")


@dataclass(slots=True)
class Row:
    """A row that is being read: its cells that are not empty, and what is wrong with them. A cell is text, but for lists and
    objects of JSON Lines."""

    number: int
    cells: Mapping[str, Any]
    columns: Columns
    faults: list[RowFault] = field(default_factory=list)

    def words(self, column: str) -> str:
        """The text of a cell, "" for an empty one."""
        return self.read(column, str, "")

    def read(self, column: str, reader: Callable[[str], T], otherwise: T, *, needed: str = "") -> T:
        """A cell's text read by `reader`; what is not there is `otherwise`, or a fault if it is `needed`."""
        return self.take(column, lambda cell: reader(_text(cell)), otherwise, needed=needed)

    def take(self, column: str, reader: Callable[[Any], T], otherwise: T, *, needed: str = "") -> T:
        """A cell, whatever it holds, read by `reader`."""
        cell = self.cells.get(column, "")
        if cell == "" or cell is None:
            if needed:
                self.faults.append(RowFault(self.number, column, "it is empty", needed))
            return otherwise
        try:
            return reader(cell)
        except Plainly as refusal:
            self.faults.append(RowFault(self.number, column, refusal.what, refusal.expected))
        except (ArithmeticError, LookupError, TypeError, ValueError):
            called = self.columns.called.get(column, column)
            self.faults.append(RowFault(self.number, column, f"{cell!r:.40} is no {called.split(',')[0]}", f"a {called}"))
        return otherwise

    def fault(self, refusal: Refused, column_of: Mapping[str, str]) -> None:
        """A refusal of the whole row, noted at the column that it is about."""
        column = column_of.get(refusal.where, refusal.where)
        self.faults.append(
            RowFault(self.number, column if column in self.columns.may_be else "", refusal.what, refusal.expected)
        )


def _text(cell: Any) -> str:
    if isinstance(cell, list | dict):
        raise ValueError(cell)
    return cell if isinstance(cell, str) else "yes" if cell is True else "no" if cell is False else repr(cell)


def rows_of(text: str, columns: Columns) -> tuple[list[Row], list[RowFault]]:
    """The rows of a table, or what is wrong with it as a whole."""
    text = text.removeprefix("\ufeff")  # spreadsheets begin UTF-8 with it
    return _json_rows(text, columns) if text.lstrip()[:1] == "{" else _csv_rows(text, columns)


def _json_rows(text: str, columns: Columns) -> tuple[list[Row], list[RowFault]]:
    """The rows of JSON Lines."""
    rows: list[Row] = []
    faults: list[RowFault] = []
    for number, line in enumerate(text.split("\n"), 1):
        if not line.strip():
            continue
        try:
            held = json.loads(line, parse_constant=_no_number)
        except (ValueError, RecursionError) as fault:
            faults.append(RowFault(number, "", f"it is no JSON ({str(fault)[:60]})", "an object of its own on each line"))
            continue
        if not isinstance(held, dict):
            faults.append(RowFault(number, "", "it is no object", 'an object: {"tag": "N-21", …}'))
            continue
        cells = {key_of(name): _tidy(cell) for name, cell in held.items()}
        faults += _unknown(cells, columns, number)
        rows.append(Row(number, cells, columns))
    return _looked_over(rows, faults, 1)


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _tidy(cell: Any) -> Any:
    return " ".join(cell.split()) if isinstance(cell, str) else cell


def _unknown(names: Sequence[str] | Mapping[str, Any], columns: Columns, number: int) -> Iterator[RowFault]:
    for name in names:
        if name not in columns.may_be:
            close = get_close_matches(name, columns.may_be, n=1)
            expected = f"{close[0]}" if close else ", ".join(columns.may_be)
            yield RowFault(number, name[:40], "there is no such column", expected)


def _csv_rows(text: str, columns: Columns) -> tuple[list[Row], list[RowFault]]:
    """The rows of CSV."""
    first = text.lstrip("\r\n").split("\n", 1)[0]
    by = max(",;\t", key=first.count)
    try:
        cells = list(csv.reader(text.splitlines(keepends=True), delimiter=by, strict=True))
    except csv.Error as fault:
        return [], [RowFault(1, "", f"it cannot be read as a table ({fault})", "CSV, as a spreadsheet saves it")]
    names = next((i for i, row in enumerate(cells) if any(cell.strip() for cell in row)), None)
    if names is None:
        expected = f"a first line that names the columns: {', '.join(columns.may_be)}"
        return [], [RowFault(1, "", "the table is empty", expected)]
    header = [key_of(cell) for cell in cells[names]]
    while header and not header[-1]:
        header.pop()
    faults = list(_header_faults(header, columns, names + 1))
    rows = []
    for number, row in enumerate(cells[names + 1 :], names + 2):
        filled = [" ".join(cell.split()) for cell in row]
        if any(filled):
            held = {name: cell for name, cell in zip(header, filled, strict=False) if cell}
            rows.append(Row(number, held, columns))
            if any(filled[len(header) :]):
                what = f"it has {len(row)} cells, and there are {len(header)} columns"
                faults.append(RowFault(number, "", what, "a cell for each column; quotes round words with a comma in them"))
    return _looked_over(rows, faults, names + 2)


def _looked_over(rows: list[Row], faults: list[RowFault], first: int) -> tuple[list[Row], list[RowFault]]:
    """The rows, with the fault of there being none, or too many."""
    if not rows and not faults:
        faults.append(RowFault(first, "", "there is nothing under the names of the columns", "a row for each"))
    if len(rows) > MOST_ROWS:
        faults.append(RowFault(rows[MOST_ROWS].number, "", f"there are {len(rows)} rows", f"at most {MOST_ROWS} at once"))
    return rows, faults


def _header_faults(header: Sequence[str], columns: Columns, number: int) -> Iterator[RowFault]:
    """What is wrong with the names of the columns."""
    for i, name in enumerate(header):
        yield from _unknown([name], columns, number)
        if name in columns.may_be and name in header[:i]:
            yield RowFault(number, name, "the column is there twice", "each column once")
    for name in columns.must_be:
        if name not in header:
            yield RowFault(number, name, "the column is missing", f"at least the columns {' and '.join(columns.must_be)}")


def one_of(words: type[E], text: str) -> E:
    """One of the fixed words, whatever its capitals. Raises Refused."""
    try:
        return words(key_of(text))
    except ValueError:
        raise Refused(f"{text!r:.40} is none of them", where="word", expected=f"one of: {', '.join(words)}") from None


def a_yes(text: str) -> bool:
    """Yes or no. Raises Refused."""
    said = key_of(text)
    if said not in ("yes", "no"):
        raise Refused(f"{text!r:.40} is neither yes nor no", where="word", expected="yes or no")
    return said == "yes"


def a_ring(cell: Any, reader: Callable[[str], Ring]) -> Ring:
    """Corners: as they are typed, or as a list of pairs in mm. Raises ValueError."""
    if isinstance(cell, str):
        return reader(cell)
    return tuple((_figure(x), _figure(y)) for x, y in cell)


def _figure(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(value)
    return float(value)
