"""Many remnants and envelopes at once, from a table as a spreadsheet saves it (CSV): all of them or none.

The first line names the columns (`COLUMNS`; in any order, capitals do not matter). Commas, semicolons or tabs may part them.
Every fault is found and told by row and column, and if there is one, nothing is kept.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from sqlalchemy.orm import Session

from . import cloths, envelopes, outlines, remnants
from .given import a_tag, key_of
from .refusals import Plainly, Refused
from .words import EdgeKind, Nap, Source
from .workroom import Workroom

COLUMNS = (
    *("tag", "cloth", "kind", "length", "width", "edges", "nap", "place", "washed", "mass"),
    *("lot", "source", "came on", "price", "note"),
)
"""tag and cloth must be there. kind: rough (unless said), rectangle or envelope. length along the grain, width across it.
edges: one kind for all, or four with spaces between (near, right, far, left). mass: must be said for an envelope. lot: of an
envelope, if it is not the cloth's. came on: 2026-03-02."""
MUST_BE = ("tag", "cloth")
MOST_ROWS = 5000
"""Rows in one table: more are a mistake, or better brought in parts."""


class Kind(StrEnum):
    """What a row is."""

    ROUGH = "rough"
    RECTANGLE = "rectangle"
    ENVELOPE = "envelope"


NOT_FOR = {
    Kind.ENVELOPE: ("length", "width", "edges", "nap", "washed", "came on", "price"),
    Kind.ROUGH: ("edges", "lot"),
    Kind.RECTANGLE: ("lot",),
}
"""Columns that must be empty in a row of that kind: what they say would be lost."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How a cell's words become a figure: mm, g and whole cents. They raise ValueError (Refused is one) for what is none."""

    length: Callable[[str], float] = float
    mass: Callable[[str], float] = float
    price: Callable[[str], int] = int


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


@dataclass(frozen=True, slots=True)
class Brought:
    """What came of it: tags of remnants and envelopes that were logged; or else all the faults, and nothing was kept."""

    remnants: tuple[str, ...]
    envelopes: tuple[str, ...]
    faults: tuple[RowFault, ...]


CALLED = {"came on": "day, such as 2026-03-02", "mass": "weight", "price": "price in whole cents"}
"""What a cell should be, where it is not what its column is called."""
COLUMN_OF = {"the day it came": "came on", "washing": "washed"}
"""The column of what a refusal says that it is about, where it is not called so."""
T = TypeVar("T")


@dataclass(slots=True)
class _Row:
    """A row that is being read: its cells that are not empty, and what is wrong with them."""

    number: int
    cells: Mapping[str, str]
    faults: list[RowFault] = field(default_factory=list)

    def read(self, column: str, reader: Callable[[str], T], otherwise: T, *, needed: str = "") -> T:
        """A cell read by `reader`; what is not there is `otherwise`, or a fault if it is `needed`."""
        text = self.cells.get(column, "")
        if not text:
            if needed:
                self.faults.append(RowFault(self.number, column, "it is empty", needed))
            return otherwise
        try:
            return reader(text)
        except Plainly as refusal:
            self.faults.append(RowFault(self.number, column, refusal.what, refusal.expected))
        except (ValueError, OverflowError):
            called = CALLED.get(column, column)
            self.faults.append(RowFault(self.number, column, f"{text!r:.40} is no {called.split(',')[0]}", f"a {called}"))
        return otherwise


class _NotKept(Exception):  # noqa: N818 - only to end a transaction
    """Ends a transaction of which nothing is kept."""


def log(workroom: Workroom, text: str, *, reading: Reading | None = None, by: str = "") -> Brought:
    """Log all that a table says, in one transaction. Faults come back as values, by row; then nothing was kept."""
    rows, faults = _table(text)
    if faults:
        return Brought((), (), tuple(faults))
    kept: dict[Kind, list[str]] = {kind: [] for kind in Kind}
    with suppress(_NotKept), workroom.writing() as session:
        seen: dict[str, int] = {}
        for row in rows:
            kind, tag = _log_row(session, workroom, row, reading or Reading(), seen, by)
            kept[kind].append(tag)
            faults += row.faults
        if faults:
            raise _NotKept
    if faults:
        return Brought((), (), tuple(faults))
    return Brought((*kept[Kind.ROUGH], *kept[Kind.RECTANGLE]), tuple(kept[Kind.ENVELOPE]), ())


def _table(text: str) -> tuple[list[_Row], list[RowFault]]:
    """The rows of a table, or what is wrong with it as a whole."""
    text = text.removeprefix("\ufeff")  # spreadsheets begin UTF-8 with it
    first = text.lstrip("\r\n").split("\n", 1)[0]
    by = max(",;\t", key=first.count)
    try:
        cells = list(csv.reader(text.splitlines(keepends=True), delimiter=by, strict=True))
    except csv.Error as fault:
        return [], [RowFault(1, "", f"it cannot be read as a table ({fault})", "CSV, as a spreadsheet saves it")]
    names = next((i for i, row in enumerate(cells) if any(cell.strip() for cell in row)), None)
    if names is None:
        return [], [RowFault(1, "", "the table is empty", f"a first line that names the columns: {', '.join(COLUMNS)}")]
    header = [key_of(cell) for cell in cells[names]]
    while header and not header[-1]:
        header.pop()
    faults = list(_header_faults(header, names + 1))
    rows = []
    for number, row in enumerate(cells[names + 1 :], names + 2):
        filled = [" ".join(cell.split()) for cell in row]
        if any(filled):
            rows.append(_Row(number, {name: cell for name, cell in zip(header, filled, strict=False) if cell}))
            if any(filled[len(header) :]):
                what = f"it has {len(row)} cells, and there are {len(header)} columns"
                faults.append(RowFault(number, "", what, "a cell for each column; quotes round words with a comma in them"))
    if not rows and not faults:
        faults.append(RowFault(names + 2, "", "there is nothing under the names of the columns", "a row for each remnant"))
    if len(rows) > MOST_ROWS:
        faults.append(RowFault(rows[MOST_ROWS].number, "", f"there are {len(rows)} rows", f"at most {MOST_ROWS} at once"))
    return rows, faults


def _header_faults(header: Sequence[str], number: int) -> Iterator[RowFault]:
    """What is wrong with the names of the columns."""
    for i, name in enumerate(header):
        if name not in COLUMNS:
            close = get_close_matches(name, COLUMNS, n=1)
            yield RowFault(number, name[:40], "there is no such column", f"{close[0]}" if close else ", ".join(COLUMNS))
        elif name in header[:i]:
            yield RowFault(number, name, "the column is there twice", "each column once")
    for name in MUST_BE:
        if name not in header:
            yield RowFault(number, name, "the column is missing", f"at least the columns {' and '.join(MUST_BE)}")


def _log_row(
    session: Session, workroom: Workroom, row: _Row, reading: Reading, seen: dict[str, int], by: str
) -> tuple[Kind, str]:
    """Log one row, if nothing is wrong with it; faults are left in the row."""
    kind = row.read("kind", lambda text: one_of(Kind, text), Kind.ROUGH)
    for column in NOT_FOR[kind]:
        if column in row.cells:
            what = "an envelope" if kind is Kind.ENVELOPE else f"a {kind} remnant"
            row.faults.append(RowFault(row.number, column, f"{what} has no {column} of its own", "an empty cell"))
    tag = row.read("tag", lambda text: _free_tag(session, text, seen), "", needed="a tag")
    seen.setdefault(tag, row.number)
    cloth = row.read("cloth", lambda text: cloths.row_of(session, text).name, "", needed="the name of a cloth")
    new = (_envelope if kind is Kind.ENVELOPE else _remnant)(row, kind, tag, cloth, reading)
    if not row.faults and new is not None:
        try:
            if isinstance(new, envelopes.NewEnvelope):
                envelopes.add(workroom, new, by=by)
            else:
                remnants.log(workroom, new, by=by)
        except Refused as refusal:
            row.faults.append(_fault(row, refusal))
    return kind, tag


def _fault(row: _Row, refusal: Refused) -> RowFault:
    """A refusal of the whole row, at the column that it is about."""
    column = COLUMN_OF.get(refusal.where, refusal.where)
    return RowFault(row.number, column if column in COLUMNS else "", refusal.what, refusal.expected)


def _free_tag(session: Session, text: str, seen: Mapping[str, int]) -> str:
    tag = a_tag(text)
    if tag in seen:
        raise Refused(f"row {seen[tag]} has the tag {tag} too", where="tag", expected="each tag once")
    remnants.tag_must_be_free(session, tag)
    return tag


def _envelope(row: _Row, kind: Kind, tag: str, cloth: str, reading: Reading) -> envelopes.NewEnvelope:
    return envelopes.NewEnvelope(
        tag=tag,
        cloth=cloth,
        mass=row.read("mass", reading.mass, 0.0, needed="what is in the envelope"),
        lot=row.read("lot", str, "") or None,
        place=row.cells.get("place", ""),
        source=row.read("source", lambda text: one_of(Source, text), Source.FOUND),
        note=row.cells.get("note", ""),
    )


def _remnant(row: _Row, kind: Kind, tag: str, cloth: str, reading: Reading) -> remnants.NewRemnant | None:
    """The remnant that a row tells, or None where its measures are none."""
    length = row.read("length", reading.length, 0.0, needed="its length along the grain")
    width = row.read("width", reading.length, 0.0, needed="its width across the grain")
    edges = row.read("edges", _edges, [EdgeKind.CUT] * 4)
    told = {
        "nap": row.read("nap", lambda text: one_of(Nap, text), None),
        "mass": row.read("mass", reading.mass, None),
        "source": row.read("source", lambda text: one_of(Source, text), Source.FOUND),
        "came_on": row.read("came on", date.fromisoformat, None),
        "price": row.read("price", reading.price, None),
    }
    words = {name: row.cells.get(name, "") for name in ("place", "washed", "note")}
    if row.faults:
        return None
    try:
        outline = outlines.rectangle(length, width, edges, rough=kind is Kind.ROUGH)
    except Refused as refusal:
        row.faults.append(_fault(row, refusal))
        return None
    return remnants.NewRemnant(tag=tag, cloth=cloth, outline=outline, **told, **words)  # type: ignore[arg-type]


def _edges(text: str) -> list[EdgeKind]:
    """One kind for all four sides, or four: near, right, far, left."""
    kinds = [one_of(EdgeKind, word) for word in text.replace(";", " ").split()]
    if len(kinds) not in (1, 4):
        raise Refused(f"{len(kinds)} edges", where="edges", expected="one kind for all sides, or four: near, right, far, left")
    return kinds * 4 if len(kinds) == 1 else kinds


E = TypeVar("E", bound=StrEnum)


def one_of(words: type[E], text: str) -> E:
    """One of the fixed words, whatever its capitals. Raises Refused."""
    try:
        return words(key_of(text))
    except ValueError:
        raise Refused(f"{text!r:.40} is none of them", where="word", expected=f"one of: {', '.join(words)}") from None
