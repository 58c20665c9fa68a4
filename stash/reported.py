"""What a report is asked for and what it tells: plain data, exact, in 0.01 mm² and mg.

Mass and area only. What that spares in water, carbon or money is not said: published figures spread too far to be multiplied
with anything exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from .words import LayState, Source


@dataclass(frozen=True, slots=True)
class Quantity:
    """An area in 0.01 mm² and a mass in mg."""

    area: int = 0
    mass: int = 0

    def __add__(self, other: Quantity) -> Quantity:
        return Quantity(self.area + other.area, self.mass + other.mass)

    def __sub__(self, other: Quantity) -> Quantity:
        return Quantity(self.area - other.area, self.mass - other.mass)


NONE = Quantity()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a report is about: what happened from `since` to `until` (days by UTC, both included), for one job or in one cloth
    if that is said. What is in the bin is always as it is now."""

    since: date | None = None
    until: date | None = None
    job: str | None = None
    cloth: str | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Part of the bin: what it has in common, how many remnants and envelopes, and how much cloth."""

    name: str
    remnants: int
    envelopes: int
    cloth: Quantity


@dataclass(frozen=True, slots=True)
class InBin:
    """What is in the bin now, grouped in four ways; each way adds up to all of it."""

    all: Group
    by_fibre: tuple[Group, ...]
    by_weight: tuple[Group, ...]
    by_colour: tuple[Group, ...]
    by_age: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class Lain:
    """A remnant that lies in the bin, and for how many days."""

    tag: str
    cloth: str
    colour: str
    place: str
    came_on: date
    days: int
    cloth_of_it: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """What a job (or all of them) has used.

    `taken`: the remnants that were cut, of which there were `used_up`; `panels`, `spoiled`, `rag_bag` and `returned` (the
    keepers, of which there were `keepers`) are what became of it, to the last unit.
    """

    job: str
    cuts: int
    good: int
    used_up: int
    keepers: int
    taken: Quantity
    panels: Quantity
    spoiled: Quantity
    rag_bag: Quantity
    returned: Quantity

    @property
    def used(self) -> Quantity:
        """Cloth that is no more: what was taken less what was returned."""
        return self.taken - self.returned

    @property
    def share_used(self) -> float:
        """How much of the cloth that is no more became good panels, 0 to 1."""
        return self.panels.area / self.used.area if self.used.area else 0.0

    @property
    def not_bought(self) -> Quantity:
        """New cloth that was not needed: the good panels, all of which were cut from remnants."""
        return self.panels


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A lay that was chalked or cut: panels by what became of them, and its keepers as they were computed and by how much they
    came out otherwise when they were measured again."""

    lay: int
    job: str
    state: LayState
    on: date
    planned: int
    cut: int
    spoiled: int
    uncut: int
    computed: Quantity
    otherwise: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """What a month or a year brought. `name`: 2026-03, or 2026. All that came in or was found again (+) and went (−) is
    `change`, and `left` is what was in the bin at its end."""

    name: str
    came: tuple[tuple[Source, Quantity], ...]
    panels: Quantity
    spoiled: Quantity
    rag_bag: Quantity
    given: Quantity
    sold: Quantity
    thrown: Quantity
    lost: Quantity
    re_measured: Quantity
    shrunk: Quantity
    left: Quantity
    paid: int
    got: int

    @property
    def came_in(self) -> Quantity:
        """All that came in, whatever its source."""
        return sum((quantity for _, quantity in self.came), NONE)

    @property
    def went(self) -> Quantity:
        """All that left otherwise than as panels or rags."""
        return self.given + self.sold + self.thrown


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything. `currency`: of all prices, "" if none was chosen; prices are whole cents."""

    asked: Asked
    made_at: datetime
    currency: str
    entries: int
    undone: int
    bin: InBin
    longest: tuple[Lain, ...]
    jobs: tuple[Used, ...]
    in_all: Used
    planned: tuple[Planned, ...]
    months: tuple[Period, ...]
    years: tuple[Period, ...]
