"""Reports as tables: what stands in each column, written for a person or, to the last digit, for a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING

from .shown import Shown, money

if TYPE_CHECKING:
    from stash.reported import Group, InBin, Lain, Period, Planned, Quantity, Report, Used

Cell = str | int | float | date


class Kind(Enum):
    """What a column holds: areas in 0.01 mm², masses in mg, shares from 0 to 1, money in whole cents."""

    TEXT = "text"
    COUNT = "count"
    AREA = "area"
    MASS = "mass"
    SHARE = "share"
    DAY = "day"
    MONEY = "money"


@dataclass(frozen=True)
class Column:
    """The head of a column, and what it holds."""

    head: str
    kind: Kind = Kind.TEXT


@dataclass(frozen=True)
class Table:
    """A table with its title, and a sentence about it for someone who sees it for the first time."""

    title: str
    about: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def heads(self) -> list[str]:
        return [column.head for column in self.columns]

    @property
    def right(self) -> list[int]:
        """The columns that hold figures."""
        return [number for number, column in enumerate(self.columns) if column.kind not in (Kind.TEXT, Kind.DAY)]

    def without_noughts(self) -> Table:
        """Without columns of amounts that are nought in every row: they only make it wide."""
        amounts = (Kind.AREA, Kind.MASS, Kind.MONEY)
        kept = [n for n, column in enumerate(self.columns) if column.kind not in amounts or any(row[n] for row in self.rows)]
        rows = tuple(tuple(row[n] for n in kept) for row in self.rows)
        return replace(self, columns=tuple(self.columns[n] for n in kept), rows=rows)

    def said(self, shown: Shown, currency: str = "") -> list[list[str]]:
        """The rows as a person reads them."""
        return [
            [_said(column.kind, cell, shown, currency) for column, cell in zip(self.columns, row, strict=True)]
            for row in self.rows
        ]

    def exact(self) -> tuple[list[str], list[list[str | int | float]]]:
        """Heads and rows with every digit, in m², g and the currency, the unit in the head."""
        units = {Kind.AREA: " (m²)", Kind.MASS: " (g)", Kind.SHARE: " (%)"}
        heads = [f"{column.head}{units.get(column.kind, '')}" for column in self.columns]
        return heads, [
            [_exact(column.kind, cell) for column, cell in zip(self.columns, row, strict=True)] for row in self.rows
        ]


def _said(kind: Kind, cell: Cell, shown: Shown, currency: str) -> str:
    if kind is Kind.AREA:
        return _signed(int(cell), lambda amount: shown.area(amount / 100))  # type: ignore[arg-type]
    if kind is Kind.MASS:
        return _signed(int(cell), lambda amount: shown.mass(amount / 1000))  # type: ignore[arg-type]
    if kind is Kind.SHARE:
        return f"{cell:.0%}"
    if kind is Kind.MONEY:
        return money(int(cell), currency) if cell else ""  # type: ignore[arg-type]
    return str(cell)


def _signed(amount: int, say: Callable[[int], str]) -> str:
    return f"−{say(-amount)}" if amount < 0 else say(amount)


def _exact(kind: Kind, cell: Cell) -> str | int | float:
    if kind is Kind.AREA:
        return _Exactly(Decimal(int(cell)).scaleb(-8))  # type: ignore[arg-type]
    if kind is Kind.MASS:
        return _Exactly(Decimal(int(cell)).scaleb(-3))  # type: ignore[arg-type]
    if kind is Kind.MONEY:
        return _Exactly(Decimal(int(cell)).scaleb(-2))  # type: ignore[arg-type]
    if kind is Kind.SHARE:
        return round(100 * float(cell), 2)  # type: ignore[arg-type]
    return cell.isoformat() if isinstance(cell, date) else cell


class _Exactly(float):
    """A number that is written with the digits it came with."""

    def __new__(cls, number: Decimal) -> _Exactly:
        made = super().__new__(cls, number)
        made.digits = f"{number:f}"
        return made

    digits: str

    def __str__(self) -> str:
        return self.digits

    __repr__ = __str__


# --- the tables ----------------------------------------------------------------------------------------------------------


def _both(quantity: Quantity) -> tuple[int, int]:
    return quantity.area, quantity.mass


def bin_tables(found: InBin) -> tuple[Table, ...]:
    """The bin as it is now, in four ways."""
    ways = (
        ("fibre", "By fibre", "What the cloth is made of, the largest share first.", found.by_fibre),
        ("weight", "By weight", "Grams to the square metre of cloth.", found.by_weight),
        ("colour", "By colour", "As it was described when the cloth was put on the list.", found.by_colour),
        ("age", "By age", "How long it has been in the house.", found.by_age),
    )
    return tuple(_groups(head, title, about, (*groups, found.all)) for head, title, about, groups in ways)


def _groups(head: str, title: str, about: str, groups: Sequence[Group]) -> Table:
    columns = (Column(head), Column("remnants", Kind.COUNT), Column("envelopes", Kind.COUNT))
    rows = [(group.name, group.remnants, group.envelopes, *_both(group.cloth)) for group in groups]
    rows[-1] = ("in all", *rows[-1][1:])
    return Table(title, about, (*columns, Column("area", Kind.AREA), Column("weight", Kind.MASS)), tuple(rows))


def longest_table(found: Sequence[Lain]) -> Table:
    """What has lain longest."""
    columns = (
        Column("tag"),
        Column("cloth"),
        Column("colour"),
        Column("place"),
        Column("came on", Kind.DAY),
        Column("days", Kind.COUNT),
        Column("area", Kind.AREA),
        Column("weight", Kind.MASS),
    )
    rows = [
        (each.tag, each.cloth, each.colour, each.place, each.came_on, each.days, *_both(each.cloth_of_it)) for each in found
    ]
    return Table("What has lain longest", "Cloth that waits for someone to think of it.", columns, tuple(rows))


def jobs_table(found: Sequence[Used], in_all: Used | None = None) -> Table:
    """By job: what it used, and what became of it."""
    columns = (
        Column("job"),
        Column("cuts", Kind.COUNT),
        Column("good panels", Kind.COUNT),
        Column("remnants used up", Kind.COUNT),
        Column("keepers returned", Kind.COUNT),
        Column("cloth used", Kind.AREA),
        Column("became panels", Kind.SHARE),
        Column("panels: new cloth not bought", Kind.AREA),
        Column("panels, weight", Kind.MASS),
        Column("spoiled", Kind.AREA),
        Column("rag bag", Kind.AREA),
        Column("rag bag, weight", Kind.MASS),
    )
    every = [*found, *([in_all] if in_all is not None and len(found) > 1 else [])]
    rows = tuple(
        (
            used.job,
            used.cuts,
            used.good,
            used.used_up,
            used.keepers,
            used.used.area,
            used.share_used,
            *_both(used.not_bought),
            used.spoiled.area,
            *_both(used.rag_bag),
        )
        for used in every
    )
    about = (
        "Cloth used is what was pulled less the keepers that went back. All of it became panels, was spoiled, or is in the "
        "rag bag. The good panels are new cloth that did not have to be bought."
    )
    return Table("By job", about, columns, rows)


def planned_table(found: Sequence[Planned]) -> Table:
    """Planned against cut."""
    columns = (
        Column("lay", Kind.COUNT),
        Column("job"),
        Column("on", Kind.DAY),
        Column("stands"),
        Column("planned", Kind.COUNT),
        Column("cut", Kind.COUNT),
        Column("spoiled", Kind.COUNT),
        Column("left uncut", Kind.COUNT),
        Column("keepers as computed", Kind.AREA),
        Column("measured again: otherwise by", Kind.AREA),
    )
    rows = tuple(
        (
            each.lay,
            each.job,
            each.on,
            str(each.state),
            each.planned,
            each.cut,
            each.spoiled,
            each.uncut,
            each.computed.area,
            each.otherwise.area,
        )
        for each in found
    )
    about = "Panels that were chalked, and what became of them; and how far keepers came out as they were computed."
    return Table("Planned against cut", about, columns, rows)


def periods_table(found: Sequence[Period], title: str, name: str) -> Table:
    """Month by month, or year by year."""
    kinds = ("came in", "panels", "spoiled", "rag bag", "given", "sold", "thrown away", "lost", "shrunk", "re-measured")
    columns = (
        Column(name),
        *(Column(kind, Kind.AREA) for kind in kinds),
        Column("in the bin at its end", Kind.AREA),
        Column("… weight", Kind.MASS),
        Column("paid", Kind.MONEY),
        Column("got", Kind.MONEY),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (each.name, *_amounts(each), *_both(each.left), each.paid, each.got) for each in found
    )
    about = "What came in, what became of it, and what was left. Each row adds up, to the hundredth of a square millimetre."
    return Table(title, about, columns, rows)


def _amounts(each: Period) -> tuple[int, ...]:
    """The areas of a period, in the order of the columns."""
    gone = (each.given, each.sold, each.thrown, each.lost, each.shrunk, each.re_measured)
    return tuple(quantity.area for quantity in (each.came_in, each.panels, each.spoiled, each.rag_bag, *gone))


def tables_of(found: Report) -> Mapping[str, tuple[Table, ...]]:
    """All tables of a report, by what they are about."""
    return {
        "months": (periods_table(found.months, "Month by month", "month"),),
        "years": (periods_table(found.years, "Year by year", "year"),),
        "jobs": (jobs_table(found.jobs, found.in_all),),
        "planned": (planned_table(found.planned),),
        "bin": bin_tables(found.bin),
        "longest": (longest_table(found.longest),),
    }
