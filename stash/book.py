"""The cloth book: double-entry, append-only, exact. Areas are whole hundredths of a mm², masses whole milligrams."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from .words import Account, Event
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class BookLine:
    """One line of an entry: `area` in 0.01 mm² and `mass` in mg, + into the account and − out of it."""

    account: Account
    detail: str
    cloth: str
    remnant: str | None
    job: str | None
    area: int
    mass: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An event and its lines, which sum to zero in area and in mass."""

    number: int
    at: datetime
    event: Event
    by: str
    note: str
    lay: int | None
    undoes: int | None
    lines: tuple[BookLine, ...]


@dataclass(frozen=True, slots=True)
class Total:
    """What an account holds, in 0.01 mm² and mg."""

    account: Account
    area: int
    mass: int


@dataclass(frozen=True, slots=True)
class Balance:
    """Every account (in the order of `Account`), and the sums over all, which are zero."""

    totals: tuple[Total, ...]
    area: int
    mass: int
    entries: int

    @property
    def balanced(self) -> bool:
        """Whether the book sums to exactly zero, in area and in mass."""
        return self.area == 0 and self.mass == 0


def balance(workroom: Workroom) -> Balance:
    """The balance of every account and of the whole book."""
    raise NotImplementedError


def entries(
    workroom: Workroom,
    *,
    event: Event | None = None,
    remnant: str | None = None,
    job: str | None = None,
    limit: int | None = None,
) -> tuple[Entry, ...]:
    """Entries, the newest first; of one kind, remnant or job if asked. Raises Unknown."""
    raise NotImplementedError
