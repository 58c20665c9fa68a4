"""What the choosing of sheets is given and gives back: offers, choices, limits, as plain frozen data."""

from __future__ import annotations

from dataclasses import dataclass

Counts = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class LinearCut:
    """Σ weights·counts ≤ limit holds for the placements on a sheet."""

    weights: tuple[float, ...]
    limit: float


@dataclass(frozen=True, slots=True)
class Offer:
    """A sheet as the chooser sees it.

    `most`: for each panel, the most placements of it alone (0: the sheet will not do for it). `area`: the room that all
    placements share, mm². `cuts`: further limits on the counts. Each must be proved if what is concluded is to be a proof.
    """

    id: str
    plies: int
    cost: float
    most: Counts
    area: float
    cuts: tuple[LinearCut, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """Placements of each panel on each sheet touched, as (index of the sheet, counts), in order of the sheets.

    `copies` of each panel that it makes, `cost` of the sheets touched. `settled`: the model as it stands has no better.
    """

    picks: tuple[tuple[int, Counts], ...]
    copies: Counts
    cost: float
    settled: bool

    @property
    def placed(self) -> int:
        return sum(self.copies)


@dataclass(frozen=True, slots=True)
class Limits:
    """No lay makes more than `most_copies` of what is wanted, nor makes `copies` of them for less than `least_cost`."""

    most_copies: int
    copies: int
    least_cost: float
