"""Many remnants and envelopes at once, from a table as a spreadsheet saves it (CSV): all of them or none.

The first line names the columns (`COLUMNS`; in any order, capitals do not matter). Commas, semicolons or tabs may part them.
Every fault is found and told by row and column before anything is given up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from .workroom import Workroom

COLUMNS = (
    *("tag", "cloth", "kind", "length", "width", "edges", "nap", "place", "washed", "mass"),
    *("lot", "source", "came on", "price", "note"),
)
"""tag and cloth must be there. kind: rough (unless said), rectangle or envelope. length along the grain, width across it.
edges: one kind for all, or four with spaces between (near, right, far, left). mass: needed for an envelope. lot: of an envelope,
if it is not the cloth's. came on: 2026-03-02."""
MOST_ROWS = 5000


@dataclass(frozen=True, slots=True)
class Reading:
    """How a cell's words become a figure: mm, g and whole cents. They raise ValueError (Refused is one) for what is none."""

    length: Callable[[str], float] = float
    mass: Callable[[str], float] = float
    price: Callable[[str], int] = int


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong with a table. `row`: as the spreadsheet counts, the line of names being 1. `column`: "" for a whole row."""

    row: int
    column: str
    what: str
    expected: str = ""

    def __str__(self) -> str:
        where = f"row {self.row}, {self.column}" if self.column else f"row {self.row}"
        return f"{where}: {self.what}" + (f"; expected {self.expected}" if self.expected else "")


@dataclass(frozen=True, slots=True)
class Brought:
    """What came of it: tags of remnants and envelopes that were logged; or, if there are any, all the faults, and nothing was."""

    remnants: tuple[str, ...]
    envelopes: tuple[str, ...]
    faults: tuple[RowFault, ...]


def log(workroom: Workroom, text: str, *, reading: Reading | None = None, by: str = "") -> Brought:
    """Log all that a table says, in one transaction. Faults come back as values; then nothing was kept."""
    raise NotImplementedError
