"""Lay plans: tried, shown, proved, chalked, rubbed out. Cutting one is in `cutting`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from shapely import Polygon

from nesting import Placement, Result

from .asking import Asked
from .remnants import Remnant
from .words import Fate, Hand, LayState
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPanel:
    """A panel of a lay: its number in the lay (from 1), what it is, and its lines as they lie on the remnant (mm)."""

    number: int
    piece: str
    hand: Hand | None
    placement: Placement
    cut_line: Polygon
    sewing_line: Polygon
    fate: Fate


@dataclass(frozen=True, slots=True)
class LaySheet:
    """A remnant of a lay and the panels on it. `changed`: the remnant is no longer as it was when the lay was tried."""

    remnant: Remnant
    panels: tuple[LaidPanel, ...]
    changed: bool

    @property
    def panel_area(self) -> float:
        """Area of the panels' cut lines, mm²."""
        return float(sum(panel.cut_line.area for panel in self.panels))


@dataclass(frozen=True, slots=True)
class Count:
    """Copies of a piece of the job: needed and welcome when the lay was tried, and those that the lay holds."""

    piece: str
    wanted: int
    spares: int
    placed: int

    @property
    def missing(self) -> int:
        """How many of those needed are not in the lay."""
        return max(0, self.wanted - self.placed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lay:
    """A lay plan. `result` is what the engine gave. `bound`, `proved` and the like are read there."""

    number: int
    job: str
    state: LayState
    sheets: tuple[LaySheet, ...]
    counts: tuple[Count, ...]
    result: Result
    gap: float
    edge: float
    tried_at: datetime
    tried_by: str
    chalked_at: datetime | None
    chalked_by: str
    cut_at: datetime | None
    cut_by: str
    rubbed_out_at: datetime | None
    rubbed_out_by: str
    note: str

    @property
    def complete(self) -> bool:
        """All that the job needs is in it (spares left aside)."""
        return all(count.missing == 0 for count in self.counts)

    @property
    def panels(self) -> tuple[LaidPanel, ...]:
        """All panels by number."""
        return tuple(sorted((p for sheet in self.sheets for p in sheet.panels), key=lambda p: p.number))


@dataclass(frozen=True, slots=True)
class ListedLay:
    """One line of the list of lays."""

    number: int
    job: str
    state: LayState
    placed: int
    remnants: tuple[str, ...]
    tried_at: datetime


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a sheet will leave when the lay is cut as it stands: keepers, and the rag bag's share (mm²)."""

    tag: str
    keepers: tuple[Polygon, ...]
    rag_area: float


def record(workroom: Workroom, asked: Asked, result: Result, *, by: str = "", note: str = "") -> Lay:
    """Keep a lay that was tried. Raises Refused if the independent check finds fault with it."""
    raise NotImplementedError


def get(workroom: Workroom, number: int) -> Lay:
    """The lay of that number. Raises Unknown."""
    raise NotImplementedError


def every(workroom: Workroom, *, job: str | None = None, states: tuple[LayState, ...] = ()) -> tuple[ListedLay, ...]:
    """Lays, the newest first; of one job, or in some states, if asked."""
    raise NotImplementedError


def prove(workroom: Workroom, number: int) -> tuple[Lay, "Examination"]:  # noqa: F821, UP037
    """The lay and what the independent check (`nesting.examine`) says of it. Changes nothing."""
    raise NotImplementedError


def foresee(workroom: Workroom, number: int) -> tuple[Foreseen, ...]:
    """What each sheet of the lay will leave if all its panels are cut."""
    raise NotImplementedError


def chalk(workroom: Workroom, number: int, *, by: str) -> Lay:
    """Chalk a tried lay: it holds its remnants under these initials until it is cut or rubbed out.

    Raises WrongState, Held (another lay holds one), ChangedSince (CannotBeDone); Refused without initials.
    """
    raise NotImplementedError


def rub_out(workroom: Workroom, number: int, *, by: str, note: str = "") -> Lay:
    """Give a tried or chalked lay up; what it held is free again."""
    raise NotImplementedError
